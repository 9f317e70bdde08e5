// Package parse reads the text of a part file into a tree. It splits the text
// into declarations, and the bodies of sketches, parts and sizes into
// statements, and gives each statement alone to the grammar: so every faulty
// statement is reported, and every good one survives.
package parse

import (
	"fmt"
	"strings"
	"unicode/utf8"

	"github.com/alecthomas/participle/v2/lexer"

	"perch/lang/ast"
	"perch/lang/diag"
	"perch/lang/source"
	"perch/lang/token"
)

// Limits keep time and memory bounded whatever the text is. Recursion over a
// tree goes no deeper than maxStatement.
const (
	maxText      = 16 << 20 // bytes of a file
	maxTokens    = 1000000  // words and signs of a file
	maxDepth     = 200      // parentheses within parentheses
	maxStatement = 20000    // tokens of one statement
	maxFaults    = 100      // reported for one file
)

// File parses the text of src. The tree holds every statement that could be
// read; where one is missing, its surroundings say so (see ast.Gaps). File
// never panics on any text.
func File(src *source.File) (*ast.File, diag.List) {
	p := &parser{src: src, file: &ast.File{Source: src}}
	if p.readable() && p.scan() {
		p.decls()
	}
	return p.file, p.diags
}

// parser is the state of one parse.
type parser struct {
	src      *source.File
	file     *ast.File
	lex      *lexer.PeekingLexer // over all tokens but comments
	toks     []token.Token       // the tokens of lex; the last is EOF
	at       int
	first    int // where the latest statement begins in toks
	cur      stream
	diags    diag.List
	full     bool // maxFaults reached: the rest is not read
	unclosed int  // blocks whose end was missing
	ended    ending
	// reserved holds words of the language that were declared as names: told
	// of there, and not again where the name is used.
	reserved map[string]bool
	hyphen   map[string]bool // names with hyphens that were declared
	quiet    int             // faults that came of those and were not told
}

// ending is how the latest block ended.
type ending struct {
	brace token.Token
	sound bool // nothing was told of its lines
}

// told counts the faults so far: a piece of text in which it grows has gaps.
func (p *parser) told() int { return len(p.diags) + p.quiet }

// fault records d unless there are too many already.
func (p *parser) fault(d diag.Diagnostic) {
	if p.full {
		return
	}
	if len(p.diags) == maxFaults {
		p.full = true
		d = diag.Diagnostic{
			Code: "too-many-faults", At: d.At,
			Message: fmt.Sprintf("more than %d faults: the rest of this file was not read", maxFaults),
			Notes:   []string{diag.Do("set right the faults above first, beginning with the topmost")},
		}
	}
	p.diags.Add(d)
}

// readable checks the text as a whole.
func (p *parser) readable() bool {
	text := p.src.Text
	if len(text) > maxText {
		p.fault(diag.Diagnostic{
			Code: "file-too-large", At: source.Span{File: p.src},
			Message: fmt.Sprintf("this file has %d MB; a part file may have %d MB", len(text)>>20, maxText>>20),
			Notes:   []string{diag.Do("check that it is a part file, or split it and bring the pieces in with `use`")},
		})
		return false
	}
	if i := strings.IndexByte(text, 0); i >= 0 {
		p.fault(diag.Diagnostic{
			Code: "not-text", At: source.Span{File: p.src, Start: i, End: i + 1},
			Message: "this file holds a zero byte, so it is not plain text",
			Notes:   []string{diag.Do("save the file as plain text in UTF-8")},
		})
		return false
	}
	if !utf8.ValidString(text) {
		i := firstInvalid(text)
		p.fault(diag.Diagnostic{
			Code: "not-utf8", At: source.Span{File: p.src, Start: i, End: i + 1},
			Message: "this byte is not UTF-8 text",
			Notes: []string{
				diag.Why("the file was saved in another character encoding"),
				diag.Do("save it again as UTF-8"),
			},
		})
		return false
	}
	return true
}

func firstInvalid(text string) int {
	for i, r := range text {
		if r == utf8.RuneError {
			if _, size := utf8.DecodeRuneInString(text[i:]); size == 1 {
				return i
			}
		}
	}
	return len(text)
}

// scan cuts the text and puts the comments aside. A byte order mark at the
// start of the text is passed over. It returns false if the text is too long.
func (p *parser) scan() bool {
	all, ok := token.Scan(p.src.Text, maxTokens)
	if !ok {
		p.fault(diag.Diagnostic{
			Code: "file-too-large", At: p.spanOf(all[maxTokens]),
			Message: fmt.Sprintf("this file has more than %d words and signs", maxTokens),
			Notes:   []string{diag.Do("check that it is a part file, or split it and bring the pieces in with `use`")},
		})
		return false
	}
	if all[0].Value == "\ufeff" {
		all = all[1:]
	}
	kept := all[:0]
	for _, t := range all {
		if t.Type == token.Comment {
			p.file.Comments = append(p.file.Comments, ast.Comment{At: p.spanOf(t), Text: t.Value[1:]})
			continue
		}
		kept = append(kept, t)
	}
	p.lex = peeking(kept)
	p.toks = p.lex.Range(0, lexer.RawCursor(len(kept)))
	return true
}

func end(t token.Token) int { return t.Pos.Offset + len(t.Value) }

func (p *parser) spanOf(t token.Token) source.Span {
	return source.Span{File: p.src, Start: t.Pos.Offset, End: end(t)}
}

// spanAll returns the span from the first to the last of toks.
func (p *parser) spanAll(toks []token.Token) source.Span {
	if len(toks) == 0 {
		return source.Span{File: p.src}
	}
	return p.spanOf(toks[0]).To(p.spanOf(toks[len(toks)-1]))
}

func (p *parser) ident(t token.Token) ast.Ident {
	if t.Value == "" {
		return ast.Ident{}
	}
	return ast.Ident{At: ast.At{Place: p.spanOf(t)}, Name: t.Value}
}
