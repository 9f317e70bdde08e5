package golden

import (
	"testing"

	"github.com/rogpeppe/go-internal/txtar"
)

const archive = `a comment
-- in --
text
-- out --
old
-- stale --
left over
`

func open(t *testing.T, update bool) *Case {
	return newCase(t, "case.txtar", txtar.Parse([]byte(archive)), update)
}

func TestCompare(t *testing.T) {
	c := open(t, false)
	if got := c.Input("in"); got != "text\n" {
		t.Errorf("input is %q", got)
	}
	c.Output("out", "old")
	if len(c.wrong) != 0 {
		t.Errorf("an equal section is wrong: %q", c.wrong)
	}
	c.Output("none", "")
	if len(c.wrong) != 0 {
		t.Errorf("no output and no section is wrong: %q", c.wrong)
	}
	c.Output("out", "new")
	c.Output("more", "text")
	c.Output("out", "")
	if len(c.wrong) != 3 {
		t.Errorf("a changed, a new and a vanished output give %d faults", len(c.wrong))
	}
	c.finish()
	if len(c.wrong) != 4 {
		t.Errorf("a stale section gives no fault: %q", c.wrong)
	}
}

func TestUpdate(t *testing.T) {
	c := open(t, true)
	c.Input("in")
	c.Output("out", "new")
	c.Output("more", "text")
	c.finish()
	want := "a comment\n-- in --\ntext\n-- out --\nnew\n-- more --\ntext\n"
	if got := string(txtar.Format(c.archive)); got != want || !c.changed || len(c.wrong) > 0 {
		t.Errorf("got %q, changed %v, wrong %q", got, c.changed, c.wrong)
	}
	c = open(t, true)
	c.Input("in")
	c.Input("stale")
	c.Output("out", "")
	c.finish()
	if got := string(txtar.Format(c.archive)); got != "a comment\n-- in --\ntext\n-- stale --\nleft over\n" || !c.changed {
		t.Errorf("a section without output stays: %q", got)
	}
}
