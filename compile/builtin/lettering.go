package builtin

import (
	"errors"
	"fmt"
	"strings"

	"perch/compile/geom"
	"perch/compile/lettering"
	"perch/compile/sketch"
	"perch/compile/value"
	"perch/lang/diag"
)

// Codes of faults in lettering.
const (
	SignMissing diag.Code = "sign-missing"
	AlignBad    diag.Code = "align-bad"
	TextLong    diag.Code = "text-long"
)

var letteringFunc = Function{
	Name: "lettering", Params: []Param{{"text", "text"}, {"size", "length"}, {"align", "text"}}, Optional: 1,
	Doc: "a line of text as an area; `size` is the height of its capitals. The middle of these lies on y = 0; x = 0 is the middle of the line, " +
		"its beginning (align \"left\") or its end (\"right\"). The `width` of an area tells how far it reaches",
	// Surfaces go with the square of the size.
	Example: `abs(lettering("|", 8mm).surface - 4 * lettering("|", 4mm).surface) < 0.001mm^2`,
	Call: func(args []value.Value) (value.Value, *value.Fault) {
		align := "middle"
		if len(args) > 2 {
			align = string(args[2].(value.Text))
		}
		return Lettering(string(args[0].(value.Text)), args[1].(value.Number).X, align)
	},
	Capitals: func(args []value.Value) float64 { return args[1].(value.Number).X },
}

// Lettering returns a line of text as an area, its capitals size mm high;
// align is left, middle or right.
func Lettering(text string, size float64, align string) (*value.Area, *value.Fault) {
	if f := SizeFault("the height of capitals", size); f != nil {
		return nil, f
	}
	if n := len([]rune(text)); n > lettering.MaxSigns {
		return nil, value.Faultf(TextLong, "this text has %d signs", n).Why("a line of lettering has at most %d", lettering.MaxSigns).
			Do("shorten it, or put it on several lines")
	}
	line, err := lettering.Set(text, size)
	var none *lettering.NoSignError
	switch {
	case errors.As(err, &none):
		return nil, value.Faultf(SignMissing, "there is no sign %q to letter with", string(none.Sign)).
			Why("the font has Latin, Greek and Cyrillic letters, digits and the common signs").Do("leave it out of %q, or write it in other signs", text)
	case err != nil:
		return nil, value.Faultf(SignMissing, "%q cannot be lettered: %v", text, err).Do("write it in other signs")
	}
	by := geom.Vec2{Y: -size / 2}
	switch align {
	case "left":
	case "middle":
		by.X = -line.Width() / 2
	case "right":
		by.X = -line.Width()
	default:
		return nil, value.Faultf(AlignBad, "lettering is aligned left, middle or right, not %q", align).Do(`write "left", "middle" or "right"`)
	}
	return &value.Area{Name: fmt.Sprintf("%q", text), Area: sketch.Drawn(func(tolerance float64) [][]geom.Vec2 {
		return line.Rings(tolerance, by)
	})}, nil
}

var textFunc = Function{
	Name: "text", Params: []Param{{"part", ""}}, Variadic: true, Texts: true,
	Doc:     "a text made of texts and numbers, one after the other; a number shows its unit, and is best divided by it and rounded first",
	Example: `text("r", round(91.46mm / 1mm), " ", 4mm) = "r91 4 mm"`,
	Call: func(args []value.Value) (value.Value, *value.Fault) {
		var b strings.Builder
		for _, a := range args {
			if t, ok := a.(value.Text); ok {
				b.WriteString(string(t))
				continue
			}
			n := a.(value.Number)
			b.WriteString(value.Of(n.X, n.Dim).String())
		}
		return value.Text(b.String()), nil
	},
}
