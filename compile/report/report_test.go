package report

import (
	"bytes"
	"encoding/json"
	"image"
	"io"
	"reflect"
	"regexp"
	"strings"
	"testing"
)

// hostile text closes whatever it stands in, if it is let.
const hostile = `</pre></script><script>alert("1")</script><img src=x onerror='2'>&amp; ` + "\u2028"

func sample(t *testing.T) Page {
	t.Helper()
	pic, err := NewPicture("from all sides", image.NewNRGBA(image.Rect(0, 0, 4, 4)))
	if err != nil {
		t.Fatal(err)
	}
	d, err := NewDrawing("sketch tooth", func(w io.Writer) error { _, err := io.WriteString(w, "<svg></svg>"); return err })
	if err != nil {
		t.Fatal(err)
	}
	return Page{
		Program: "Perch 0.1.0", Part: "comb", Size: "thin", File: "comb.perch", Command: "perch build comb.perch --size thin", State: "5a942fae",
		Figures:    []Figure{{"volume", "3.6 cm3"}},
		Quantities: []Quantity{{"measure", "lead", "4.20", "mm", "0.10", "lead 100 %"}},
		Checks: []Check{
			{"mass <= 20g", "pass", "17 g", "20 g", ""}, {"wall >= 2mm", "fail", "1.2 mm", "2 mm", hostile}, {"gap to pipe <= 1mm", "open", "", "", "why"}, {"overhang >= 45deg", "look", "30°", "45°", ""},
		},
		Assumptions: []string{"printed solid"}, Cautions: []string{"Keep caps on by day."},
		Sources:  []Source{{"comb.perch", "part comb {}\n# " + hostile, "00ff", false}},
		Pictures: []Picture{pic}, Drawings: []Drawing{d},
	}
}

func TestPage(t *testing.T) {
	p := sample(t)
	var b, again bytes.Buffer
	for _, w := range []io.Writer{&b, &again} {
		if err := p.WriteHTML(w); err != nil {
			t.Fatal(err)
		}
	}
	text := b.String()
	if text != again.String() {
		t.Error("not the same bytes the second time")
	}
	for _, want := range []string{"<h1>comb <small>size thin</small></h1>", `src="data:image/png;base64,`, "<svg></svg>", "Keep caps on by day.", "perch build comb.perch --size thin", "0.10"} {
		if !strings.Contains(text, want) {
			t.Errorf("%q is missing", want)
		}
	}
	// Nothing of the hostile text is markup, and nothing is fetched.
	for _, bad := range []string{"<script>alert", "onerror='2'>", "http:", "https:", "ZgotmplZ"} {
		if strings.Contains(text, bad) {
			t.Errorf("%q stands in the page", bad)
		}
	}
	// The data in the page read back as they were.
	m := regexp.MustCompile(`(?s)<script type="application/json" id="report">(.*?)</script>`).FindStringSubmatch(text)
	if m == nil {
		t.Fatal("no data")
	}
	var back, straight Page
	if err := json.Unmarshal([]byte(m[1]), &back); err != nil {
		t.Fatal(err)
	}
	var j bytes.Buffer
	if err := p.WriteJSON(&j); err != nil {
		t.Fatal(err)
	}
	if err := json.Unmarshal(j.Bytes(), &straight); err != nil {
		t.Fatal(err)
	}
	if !reflect.DeepEqual(back, straight) || back.Sources[0].Text != p.Sources[0].Text {
		t.Errorf("%+v", back)
	}
}

func TestBarePage(t *testing.T) {
	var b bytes.Buffer
	if err := (Page{Part: "a"}).WriteHTML(&b); err != nil {
		t.Fatal(err)
	}
	for _, want := range []string{"states no checks", "no measures and no values"} {
		if !strings.Contains(b.String(), want) {
			t.Errorf("%q is missing", want)
		}
	}
}
