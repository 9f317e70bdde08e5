// Package token cuts the text of a part file into tokens: it holds the kinds
// of tokens, the lexer that participle is given, the reserved words, and the
// words that begin the clauses of a body.
package token

import (
	"io"
	"strings"

	"github.com/alecthomas/participle/v2/lexer"
)

// Token is one token. Its Pos.Offset is a byte offset into the text, and its
// Value the bytes that stand there.
type Token = lexer.Token

// Kind is the kind of a token.
type Kind = lexer.TokenType

// Kinds of tokens. Head, Sweep, Carry and Name are not made by the lexer:
// package parse gives them to tokens whose meaning depends on what stands
// around them.
const (
	EOF             = lexer.EOF // after the last token
	Newline    Kind = -iota - 1
	Comment         // # to the end of the line
	Ident           // a word that may be a name
	Keyword         // a reserved word
	Number          // a number with its unit
	String          // a quoted text
	OpenString      // a text whose closing quote is missing
	Op              // an operator or a bracket
	Stray           // anything else
	Head            // a word that begins a body: box
	Sweep           // a word that begins a body made from an area: extrude
	Carry           // a comma that goes on with the clauses of a body
	Name            // a word that names a segment of an outline
)

// Definition is the lexer definition that participle is given.
var Definition lexer.Definition = definition{}

type definition struct{}

// Symbols names the kinds for grammar tags.
func (definition) Symbols() map[string]Kind {
	return map[string]Kind{
		"EOF": EOF, "Newline": Newline, "Comment": Comment, "Ident": Ident, "Keyword": Keyword,
		"Number": Number, "String": String, "OpenString": OpenString, "Op": Op, "Stray": Stray,
		"Head": Head, "Sweep": Sweep, "Carry": Carry, "Name": Name,
	}
}

// Lex reads all of r.
func (d definition) Lex(name string, r io.Reader) (lexer.Lexer, error) {
	var b strings.Builder
	if _, err := io.Copy(&b, r); err != nil {
		return nil, err
	}
	return d.LexString(name, b.String())
}

// LexString cuts text. The lexer never fails: the last rule takes any
// character, so that a stray one is a fault of its line and not the end of the
// file.
func (definition) LexString(_ string, text string) (lexer.Lexer, error) {
	return &scanner{text: text}, nil
}

// scanner tries the rules in order at each place. The rules are functions and
// not patterns because patterns took half the time of a whole parse.
type scanner struct {
	text string
	at   int
}

// Next returns the next token; white space yields none.
func (s *scanner) Next() (Token, error) {
	for s.at < len(s.text) && isSpace(s.text[s.at]) {
		s.at++
	}
	t := Token{Type: EOF, Pos: lexer.Position{Offset: s.at}}
	if s.at == len(s.text) {
		return t, nil
	}
	for _, r := range rules {
		if n := r.match(s.text[s.at:]); n > 0 {
			t.Type, t.Value = r.kind, s.text[s.at:s.at+n]
			break
		}
	}
	if t.Type == Ident && Reserved(t.Value) {
		t.Type = Keyword
	}
	s.at += len(t.Value)
	return t, nil
}

// Scan cuts text into tokens up to and including one of kind EOF. It returns
// false if there are more than limit; the tokens then stop short.
func Scan(text string, limit int) ([]Token, bool) {
	s := scanner{text: text}
	tokens := make([]Token, 0, min(len(text)/5, limit)+1)
	for {
		t, _ := s.Next()
		tokens = append(tokens, t)
		if t.Type == EOF {
			return tokens, true
		}
		if len(tokens) > limit {
			return tokens, false
		}
	}
}
