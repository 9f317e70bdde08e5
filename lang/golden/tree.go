package golden

import (
	"fmt"
	"reflect"
	"strings"

	"perch/lang/ast"
	"perch/lang/source"
)

// Tree prints a tree for golden cases: one line a node, its kind, its plain
// fields, and the text its span covers (the first line of it).
func Tree(f *ast.File) string {
	var b strings.Builder
	for _, d := range f.Decls {
		writeNode(&b, 0, "", reflect.ValueOf(d))
	}
	writeGaps(&b, 0, f.Gaps)
	return b.String()
}

var (
	atType    = reflect.TypeFor[ast.At]()
	gapsType  = reflect.TypeFor[ast.Gaps]()
	identType = reflect.TypeFor[ast.Ident]()
	spanType  = reflect.TypeFor[source.Span]()
)

func writeNode(b *strings.Builder, depth int, label string, v reflect.Value) {
	for v.Kind() == reflect.Pointer || v.Kind() == reflect.Interface {
		if v.IsNil() {
			return
		}
		v = v.Elem()
	}
	t := v.Type()
	fmt.Fprintf(b, "%s%s%s", strings.Repeat("  ", depth), label, t.Name())
	for i := range t.NumField() {
		writePlain(b, t.Field(i), v.Field(i))
	}
	if n, ok := v.Interface().(ast.Node); ok {
		fmt.Fprintf(b, "  «%s»", firstLine(n.Span().Text()))
	}
	b.WriteByte('\n')
	for i := range t.NumField() {
		writeInner(b, depth+1, t.Field(i), v.Field(i))
	}
}

// writePlain prints a field that fits on the line of its node.
func writePlain(b *strings.Builder, f reflect.StructField, v reflect.Value) {
	switch {
	case f.Type == identType:
		if name := v.FieldByName("Name").String(); name != "" {
			fmt.Fprintf(b, " %s=%s", f.Name, name)
		}
	case f.Type.Kind() == reflect.Bool && v.Bool():
		fmt.Fprintf(b, " %s", f.Name)
	case f.Type.Kind() == reflect.String && v.String() != "":
		fmt.Fprintf(b, " %s=%q", f.Name, v.String())
	case f.Type.Kind() == reflect.Float64:
		fmt.Fprintf(b, " %s=%g", f.Name, v.Float())
	}
}

// writeInner prints the nodes below a field.
func writeInner(b *strings.Builder, depth int, f reflect.StructField, v reflect.Value) {
	switch {
	case f.Type == atType, f.Type == identType, f.Type == spanType:
	case f.Type == gapsType:
		writeGaps(b, depth, v.Interface().(ast.Gaps))
	case f.Type.Kind() == reflect.Slice:
		for i := range v.Len() {
			writeNode(b, depth, f.Name+": ", v.Index(i))
		}
	case f.Type.Kind() == reflect.Struct, f.Type.Kind() == reflect.Pointer, f.Type.Kind() == reflect.Interface:
		writeNode(b, depth, f.Name+": ", v)
	}
}

func writeGaps(b *strings.Builder, depth int, g ast.Gaps) {
	if !g.Partial {
		return
	}
	b.WriteString(strings.Repeat("  ", depth) + "partial")
	for _, n := range g.Lost {
		b.WriteString(" " + n.Name)
	}
	b.WriteByte('\n')
}

func firstLine(s string) string {
	if i := strings.IndexByte(s, '\n'); i >= 0 {
		return s[:i] + "…"
	}
	return s
}
