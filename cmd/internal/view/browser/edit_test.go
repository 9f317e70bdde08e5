//go:build browser

package browser

import (
	"encoding/binary"
	"encoding/json"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"
)

const block = `sketch plate {
    outline rim {
        from (-20mm, -10mm)
        line right 40mm
        line up 20mm
        line left 40mm
        close
    }
    circle hole centre (8mm, 0mm), radius 3mm
    area rim less hole
}
part block(tall: length = 10mm) {
    mating peg = cylinder radius 2.8mm, height 30mm, at (8mm, 0, 0)
    join extrude plate by tall
    check wall >= 1.2mm
    check volume <= 9cm^3
}
sizes block {
    high: tall = 25mm
}
`

func (b *bench) save(name, text string) {
	b.t.Helper()
	b.must(os.WriteFile(filepath.Join(b.dir, name), []byte(text), 0o666))
}

// camera is what the page says of its view: turn, tilt, zoom, target.
func (b *bench) camera() (c [6]float64) {
	b.t.Helper()
	b.must(json.Unmarshal([]byte(ask[string](b, `document.getElementById("sheet").dataset.camera`)), &c))
	return c
}

// on returns where a point of the part is on the screen, in CSS pixels: a
// drawing without perspective.
func (b *bench) on(p [3]float64) (x, y float64) {
	b.t.Helper()
	c := b.camera()
	box := ask[[]float64](b, `(() => { const r = document.getElementById("sheet").getBoundingClientRect(); return [r.left, r.top, r.width, r.height]; })()`)
	d := [3]float64{p[0] - c[3], p[1] - c[4], p[2] - c[5]}
	right := d[0]*math.Cos(c[0]) + d[1]*math.Sin(c[0])
	level := -d[0]*math.Sin(c[0]) + d[1]*math.Cos(c[0])
	up := level*math.Sin(c[1]) + d[2]*math.Cos(c[1])
	return box[0] + box[2]/2 + right*c[2], box[1] + box[3]/2 - up*c[2]
}

func (b *bench) click(p [3]float64) {
	b.t.Helper()
	x, y := b.on(p)
	b.do(chromedp.MouseClickXY(x, y))
}

// still waits until the view has stopped moving.
func (b *bench) still() {
	b.t.Helper()
	for was := b.camera(); ; {
		ask[int](b, `new Promise((done) => setTimeout(() => done(1), 250))`, chromedp.EvalAwaitPromise)
		now := b.camera()
		if now == was {
			return
		}
		was = now
	}
}

func (b *bench) text(id string) string {
	b.t.Helper()
	return ask[string](b, fmt.Sprintf(`document.getElementById(%q).innerText`, id))
}

// quiet fails when the browser complained of anything but its own drawing.
func (b *bench) quiet() {
	b.t.Helper()
	for _, l := range strings.Split(b.complaints(), "\n") {
		if l != "" && !strings.Contains(l, "GL Driver Message") {
			b.t.Errorf("the browser says %s", l)
		}
	}
}

// corners are the vertices of a binary STL file.
func (b *bench) corners(name string) [][3]float64 {
	b.t.Helper()
	data, err := os.ReadFile(filepath.Join(b.out, name))
	b.must(err)
	var out [][3]float64
	for at := 84; at+50 <= len(data); at += 50 {
		for k := range 3 {
			var p [3]float64
			for i := range p {
				p[i] = float64(math.Float32frombits(binary.LittleEndian.Uint32(data[at+12+12*k+4*i:])))
			}
			out = append(out, p)
		}
	}
	return out
}

// Load, edit, break, mend: the page follows, keeps the last good part and the
// view, and says what is wrong.
func TestEdit(t *testing.T) {
	dir := t.TempDir()
	if err := os.WriteFile(filepath.Join(dir, "block.perch"), []byte(block), 0o666); err != nil {
		t.Fatal(err)
	}
	b := open(t, false, dir, "block.perch")
	b.until("the figures are there", `document.getElementById("figures").innerText.includes("40 × 20 × 10 mm")`)
	b.until("both sizes can be chosen", `document.querySelectorAll("#slips .pending").length === 0 && document.querySelectorAll("#slips button").length >= 2`)
	b.picture("edit-1-loaded")

	b.do(chromedp.KeyEvent("2"))
	b.still()
	view := b.camera()
	b.save("block.perch", strings.Replace(block, "= 10mm", "= 15mm", 1))
	b.until("the edit is seen", `document.getElementById("figures").innerText.includes("40 × 20 × 15 mm")`)
	b.until("it says what changed", `document.getElementById("changes").innerText.includes("z 10 -> 15 mm")`)
	b.until("a check turned", `document.getElementById("changes").innerText.includes("now fails: volume <= 9cm^3")`)
	if now := b.camera(); now != view {
		t.Errorf("the view moved from %v to %v", view, now)
	}
	if !strings.Contains(b.text("checks"), "fail") {
		t.Errorf("checks: %s", b.text("checks"))
	}
	b.picture("edit-2-changed")

	b.save("block.perch", strings.Replace(block, "radius 3mm", "radius 3mmm", 1))
	b.until("the fault is told", `!document.getElementById("faults").hidden`)
	if s := b.text("faults"); !strings.Contains(s, "mmm") || !strings.Contains(s, "line 9") {
		t.Errorf("the message is %q", s)
	}
	if s := b.text("age"); !strings.Contains(s, "has faults") {
		t.Errorf("the age is told as %q", s)
	}
	if s := b.text("figures"); !strings.Contains(s, "40 × 20 × 15 mm") {
		t.Errorf("the last good part is gone: %q", s)
	}
	b.picture("edit-3-broken")

	b.save("block.perch", strings.Replace(block, "= 10mm", "= 12mm", 1))
	b.until("it is mended", `document.getElementById("faults").hidden && document.getElementById("figures").innerText.includes("40 × 20 × 12 mm")`)
	b.do(chromedp.KeyEvent("."))
	b.until("the size is shown", `document.getElementById("figures").innerText.includes("40 × 20 × 25 mm")`)
	b.picture("edit-4-size")
	b.do(chromedp.KeyEvent("."))
	b.until("the sketch is shown", `document.querySelectorAll("#drawing svg .part").length === 5`)
	if s := b.text("drawing"); !strings.Contains(s, "R3") && !strings.Contains(s, "ø6") && !strings.Contains(s, "⌀6") {
		t.Errorf("the sketch shows no size of the hole: %q", s)
	}
	b.picture("edit-5-sketch")
	b.quiet()
}

// Picks measure what the mesh holds.
func TestMeasure(t *testing.T) {
	dir := t.TempDir()
	if err := os.WriteFile(filepath.Join(dir, "block.perch"), []byte(block), 0o666); err != nil {
		t.Fatal(err)
	}
	b := open(t, false, dir, "block.perch")
	b.do(chromedp.KeyEvent("g")) // mating bodies off
	b.still()
	// The two corners of the mesh that are farthest apart on the top front
	// edge.
	var p, q [3]float64
	for _, c := range b.corners("block.stl") {
		if c[2] < 9.99 || c[1] > -9.99 {
			continue
		}
		if c[0] < p[0] {
			p = c
		}
		if c[0] > q[0] {
			q = c
		}
	}
	b.click(p)
	b.click(q)
	want := fmt.Sprintf("%.2f mm", math.Hypot(math.Hypot(p[0]-q[0], p[1]-q[1]), p[2]-q[2]))
	b.until("the distance is told", fmt.Sprintf(`document.getElementById("measured").innerText.replace(/\s+/g, " ").includes("distance %s")`, want))
	b.picture("measure-1-corners")

	// The far wall of the bore, seen over its near rim, and the face beside it.
	b.click([3]float64{8 - 3*math.Sin(36*math.Pi/180), 3 * math.Cos(36*math.Pi/180), 8.8})
	b.until("the bore is told", `document.getElementById("measured").innerText.replace(/\s+/g, " ").includes("bore radius 3.00 mm, diameter 6.00 mm")`)
	b.click([3]float64{0, -10, 5})
	b.until("the way from the face to the axis is told", `document.getElementById("measured").innerText.replace(/\s+/g, " ").includes("plane to axis 10.00 mm")`)
	b.picture("measure-3-bore")

	b.do(chromedp.KeyEvent("6")) // from the top
	b.still()
	b.click([3]float64{8, -3, 10})
	b.until("the rim is told", `document.getElementById("measured").innerText.includes("radius 3.00 mm, diameter 6.00 mm")`)
	b.click([3]float64{-20, 0, 10})
	b.until("the edge is told", `document.getElementById("measured").innerText.replace(/\s+/g, " ").includes("straight edge 20.00 mm")`)
	b.do(chromedp.KeyEvent("1"), chromedp.KeyEvent("x"))
	b.still()
	b.do(chromedp.KeyEvent("]"))
	b.picture("measure-2-open")
	b.quiet()
}

// A check takes the view to its place.
func TestPlace(t *testing.T) {
	dir := t.TempDir()
	thin := strings.Replace(block, "wall >= 1.2mm", "wall >= 20mm", 1)
	if err := os.WriteFile(filepath.Join(dir, "block.perch"), []byte(thin), 0o666); err != nil {
		t.Fatal(err)
	}
	b := open(t, true, dir, "block.perch")
	before := b.camera()
	b.do(chromedp.KeyEvent("c"))
	b.still()
	if b.camera() == before {
		t.Error("the view stayed where it was")
	}
	if n := ask[int](b, `document.querySelectorAll("#over .place").length`); n == 0 {
		t.Error("the place is not marked")
	}
	b.picture("place-dark")
	b.quiet()
}

// A page whose watch has ended says so and keeps what it shows.
func TestEnded(t *testing.T) {
	dir := t.TempDir()
	if err := os.WriteFile(filepath.Join(dir, "block.perch"), []byte(block), 0o666); err != nil {
		t.Fatal(err)
	}
	b := open(t, false, dir, "block.perch")
	b.end()
	b.until("the end is told", `document.getElementById("age").innerText.includes("has ended")`)
	if s := b.text("figures"); !strings.Contains(s, "40 × 20 × 10 mm") {
		t.Errorf("the part is gone: %q", s)
	}
}

// What of a sketch can still move is told and marked.
func TestLoose(t *testing.T) {
	dir := t.TempDir()
	loose := strings.Replace(block, "circle hole centre (8mm, 0mm), radius 3mm", "circle hole centre o, radius 3mm\n    point o near (8mm, 1mm)\n    o.x = 8mm", 1)
	if err := os.WriteFile(filepath.Join(dir, "block.perch"), []byte(loose), 0o666); err != nil {
		t.Fatal(err)
	}
	b := open(t, false, dir, "block.perch")
	b.do(chromedp.KeyEvent(","))
	b.until("the sketch is shown", `document.querySelectorAll("#drawing svg .loose").length > 0`)
	if s := b.text("free"); !strings.Contains(s, "up and down") {
		t.Errorf("what is free: %q", s)
	}
	b.picture("sketch-loose")
	b.quiet()
}

// What is judged of one text never stands beside the shape of another: with
// each picture the checks are those of its own height, or are being judged.
func TestVerdictsFollow(t *testing.T) {
	dir := t.TempDir()
	part := func(tall int) string {
		return fmt.Sprintf("part block {\n    join box width 40mm, depth 40mm, height %dmm\n    cut ball radius 9mm, centre (0, 0, 0)\n    mating hand = ball radius 8.9mm, centre (0, 0, 0)\n    material petg\n    check wall >= 0.5mm\n    check interference to hand <= 1mm\n    check gap to hand <= 1mm\n    check height <= %dmm\n}\n", tall, 100+tall)
	}
	if err := os.WriteFile(filepath.Join(dir, "block.perch"), []byte(part(20)), 0o666); err != nil {
		t.Fatal(err)
	}
	b := open(t, false, dir, "block.perch")
	b.until("the verdicts are there", `document.getElementById("checks").innerText.includes("120")`)
	ask[int](b, `(() => {
		window.seen = [];
		document.addEventListener("drawn", () => window.seen.push([document.getElementById("figures").innerText, document.getElementById("checks").innerText]));
		return 1;
	})()`)
	for tall := 21; tall < 29; tall++ {
		b.save("block.perch", part(tall))
		b.until("the edit is judged", fmt.Sprintf(`document.getElementById("checks").innerText.includes("height <= %dmm")`, 100+tall))
	}
	shapes := 0
	for _, s := range ask[[][2]string](b, `window.seen`) {
		_, rest, _ := strings.Cut(s[0], "40 × 40 × ")
		tall, _, _ := strings.Cut(rest, " ")
		n, err := strconv.Atoi(tall)
		if err != nil {
			t.Fatalf("figures %q", s[0])
		}
		switch {
		case strings.Contains(s[1], "are being judged"):
			shapes++
		case !strings.Contains(s[1], fmt.Sprintf("height <= %dmm", 100+n)):
			t.Errorf("beside a part %d mm high: %q", n, s[1])
		}
	}
	if shapes == 0 { // the checks take some tenths of a second
		t.Error("no shape came before its verdicts")
	}
	b.quiet()
}
