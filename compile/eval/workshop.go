package eval

import (
	"cmp"
	"fmt"
	"strings"

	"perch/compile/builtin"
	"perch/compile/value"
	"perch/compile/workshop"
	"perch/lang/ast"
	"perch/lang/diag"
	"perch/lang/source"
	"perch/lang/unit"
)

// Codes of faults in a workshop file.
const (
	ShopEntry     diag.Code = "workshop-entry"     // an entry that no workshop has
	ShopValue     diag.Code = "workshop-value"     // a value that an entry cannot take
	ShopOnly      diag.Code = "workshop-only"      // something else than values in the file
	ShopMisplaced diag.Code = "workshop-misplaced" // a workshop in a file that is no workshop file
	ShopEmpty     diag.Code = "workshop-missing"   // a workshop file without a workshop
	FitUnclear    diag.Code = "fit-unclear"        // a fit as a length, on diameter or per side
)

// shopDecl returns the workshop of a file, or nil.
func shopDecl(f *ast.File) *ast.Workshop {
	for _, d := range f.Decls {
		if w, ok := d.(*ast.Workshop); ok {
			return w
		}
	}
	return nil
}

// openShop works out the workshop in force: that of the file, then what the
// settings put in its place.
func (e *evaluator) openShop() {
	defer func() { e.shopOpen = true }()
	e.shop = workshop.New("")
	names := &scope{names: map[string]binding{}}
	if m := e.opts.Workshop; m != nil {
		if w := shopDecl(m.File); w != nil {
			names = e.statedBy(m, w)
		} else if !m.File.Partial {
			e.report(diag.Diagnostic{
				Code: ShopEmpty, Severity: diag.Warning, At: fileStart(m.File),
				Message: "this file states no workshop, so common practice holds",
				Notes:   []string{diag.Do("write `workshop { nozzle = 0.4mm }` in it, or give the file another name")},
			})
		}
	}
	e.state(e.opts.Entries, names, "--set")
}

// statedBy works out the workshop of a file and returns the names of the file.
func (e *evaluator) statedBy(m *Module, w *ast.Workshop) *scope {
	e.shop.File = m.File.Source.Path
	done := &module{Module: m}
	e.file(done, nil, false)
	e.valuesOnly(m.File, w)
	e.state(w.Entries, done.scope, "")
	return done.scope
}

// valuesOnly reports what has no place beside a workshop.
func (e *evaluator) valuesOnly(f *ast.File, w *ast.Workshop) {
	for _, d := range f.Decls {
		at, what := d.Span(), ""
		switch d := d.(type) {
		case *ast.Part:
			at, what = d.Name.Span(), "a part"
		case *ast.Sketch:
			at, what = d.Name.Span(), "a sketch"
		case *ast.Sizes:
			at, what = d.Part.Span(), "a table of sizes"
		case *ast.Workshop:
			if d == w {
				continue
			}
			at, what = source.Span{File: at.File, Start: at.Start, End: at.Start + len(workshop.Word)}, "a second workshop"
		default:
			continue
		}
		e.report(diag.Diagnostic{
			Code: ShopOnly, At: at, Message: what + " stands in a file that states a workshop",
			Notes: []string{
				diag.Why("all designs of a folder share its workshop, so it holds values only"),
				diag.Do("keep `workshop { … }` in a file of its own called " + workshop.FileName),
			},
		})
	}
}

// misplaced reports a workshop in a file that is used.
func (e *evaluator) misplaced(m *module, w *ast.Workshop) {
	if m.Module == e.opts.Workshop {
		return
	}
	e.report(diag.Diagnostic{
		Code: ShopMisplaced, At: source.Span{File: w.Place.File, Start: w.Place.Start, End: w.Place.Start + len(workshop.Word)},
		Message: "this workshop is not the one in force",
		Notes: []string{
			diag.Why("the workshop is read from " + workshop.FileName + " beside the design or in a folder above, never through `use`"),
			diag.Do("move it there, or name the file with --workshop"),
		},
	})
}

// shopFile gathers what entries state before it is complete.
type shopFile struct {
	e          *evaluator
	scope      *scope
	from       string // "" for the place in the file
	seen       map[string]source.Span
	holes      []workshop.Came
	pegs       []workshop.Came
	holesFrom  string
	pegsFrom   string
	ownNames   []string
	unfinished map[string]ast.Entry // materials that nothing is known of yet
	byDefault  workshop.Stated      // the default material
	defaultAt  source.Span
}

// state puts entries into the workshop.
func (e *evaluator) state(entries []ast.Entry, s *scope, from string) {
	f := &shopFile{e: e, scope: s, from: from, seen: map[string]source.Span{}, unfinished: map[string]ast.Entry{}}
	for _, x := range entries {
		f.entry(x)
	}
	for _, name := range f.ownNames {
		if x, bad := f.unfinished[name]; bad {
			e.fault(x.Path[0].Span(), noMaterial(name, e.shop.MaterialNames()).
				Do("for a material of your own write `%s.like = \"petg\"`, or give it a `density`", name))
		}
	}
	if t, ok := f.byDefault.Value.(value.Text); ok {
		d, _ := workshop.LookupEntry("material")
		if _, known := e.shop.Material(string(t)); known {
			e.shop.State(d, f.byDefault)
		} else {
			e.fault(f.defaultAt, noMaterial(string(t), e.shop.MaterialNames()))
		}
	}
	if len(f.holes) > 0 {
		e.shop.Holes = f.fit(f.holes, f.holesFrom, "holes")
	}
	if len(f.pegs) > 0 {
		e.shop.Pegs = f.fit(f.pegs, f.pegsFrom, "pegs")
	}
}

func (f *shopFile) fit(came []workshop.Came, from, what string) *workshop.Correction {
	c, fault := workshop.NewCorrection(came, from, func() int {
		f.e.sources = append(f.e.sources, Source{Name: "scatter of the " + what})
		return len(f.e.sources) - 1
	})
	if fault != nil {
		f.e.fault(came[0].At, fault)
		return nil
	}
	return c
}

// entry reads one line.
func (f *shopFile) entry(x ast.Entry) {
	path := make([]string, len(x.Path))
	for i, w := range x.Path {
		path[i] = w.Name
	}
	key := strings.Join(path, ".")
	at := x.Path[0].Span().To(x.Path[len(x.Path)-1].Span())
	if x.Size == nil {
		if first, ok := f.seen[key]; ok {
			f.e.fault(at, value.Faultf(ArgTwice, "`%s` is told twice", key).Do("keep one of the two"), diag.Label{At: first, Text: "first told here"})
			return
		}
		f.seen[key] = at
	}
	switch {
	case path[0] == "hole" && len(path) == 1, path[0] == "peg" && len(path) == 1:
		f.came(x, path[0])
	case x.Size != nil:
		f.e.fault(x.Size.Span(), value.Faultf(ShopValue, "`%s` takes no size", key).
			Do("sizes stand behind `hole` and `peg`, such as `hole 4mm = 3.86mm`"))
	case path[0] == workshop.FitWord:
		f.fits(x, path)
	case len(path) == 2:
		f.material(x, path[0], path[1])
	case len(path) > 2:
		f.e.fault(at, f.noEntry(key))
	default:
		f.plain(x, path[0])
	}
}

// noEntry is the fault of a name that no workshop has.
func (f *shopFile) noEntry(name string) *value.Fault {
	names := append(workshop.EntryNames(), "hole", "peg")
	fault := value.Faultf(ShopEntry, "a workshop has no `%s`", name)
	if fault.Notes = nearest(name, names); len(fault.Notes) == 0 {
		fault.Do("its entries are: %s, fit.NAME.on_diameter, and MATERIAL.PROPERTY", strings.Join(names, ", "))
	}
	return fault
}

// place is where an entry is written.
func (f *shopFile) place(x ast.Entry) string {
	if f.from != "" || !x.Place.Valid() {
		return f.from
	}
	return fmt.Sprintf("%s:%d", x.Place.File.Path, x.Place.File.Position(x.Place.Start).Line)
}

// worth evaluates what stands behind the `=`: readings as a measure does, else
// one value of any kind.
func (f *shopFile) worth(x ast.Entry, name string) value.Value {
	if len(x.Readings) == 1 && x.Error == nil && x.Limit == nil {
		return f.e.expr(x.Readings[0], f.scope)
	}
	n, _, ok := f.e.reckon(name, x.Span(), x.Readings, x.Error, x.Limit, f.scope)
	if !ok {
		return value.Bad{}
	}
	return n
}

// of evaluates an entry that must be a number of some dimension.
func (f *shopFile) of(x ast.Entry, name string, dim unit.Dim, sample string) (value.Number, bool) {
	v := f.worth(x, name)
	n, ok := v.(value.Number)
	if ok {
		n = n.As(dim)
	}
	switch {
	case value.IsBad(v):
		return n, false
	case !ok || n.Dim != dim:
		f.e.fault(x.Readings[0].Span(), value.Faultf(ShopValue, "`%s` is %s, this is %s", name, value.A(dim), describeWith(v)).
			Do("write it as `%s`", sample))
		return n, false
	}
	return n, true
}

// plain reads an entry of the table.
func (f *shopFile) plain(x ast.Entry, name string) {
	d, ok := workshop.LookupEntry(name)
	if !ok {
		f.e.fault(x.Path[0].Span(), f.noEntry(name))
		return
	}
	sample := d.Name + " = " + d.Sample
	s := workshop.Stated{From: f.place(x), At: x.Span()}
	switch d.Kind {
	case value.NumberKind:
		n, ok := f.of(x, name, d.Dim, sample)
		if !ok || !f.within(x, d, n) {
			return
		}
		s.Value = n
	default:
		v := f.worth(x, name)
		if value.IsBad(v) {
			return
		}
		p, isPoint := v.(value.Point)
		if v.Kind() != d.Kind || isPoint && !f.box(p) {
			f.e.fault(x.Readings[0].Span(), value.Faultf(ShopValue, "`%s` cannot be %s", name, value.Print(v)).Do("write it as `%s`", sample))
			return
		}
		if s.Value = v; name == "material" {
			f.byDefault, f.defaultAt = s, x.Readings[0].Span()
			return // until all materials are known
		}
	}
	f.e.shop.State(d, s)
}

// within reports a number that no printer has.
func (f *shopFile) within(x ast.Entry, d *workshop.Entry, n value.Number) bool {
	switch {
	case n.X <= 0:
		f.e.fault(x.Readings[0].Span(), value.Faultf(ShopValue, "`%s` must be larger than 0, this is %s", d.Name, n).Do("write it as `%s = %s`", d.Name, d.Sample))
	case d.Below > 0 && n.X > d.Below:
		f.e.fault(x.Readings[0].Span(), value.Faultf(ShopValue, "`%s` of %s is more than any printer has", d.Name, n).
			Why("%s", d.Doc).Do("check the unit: `%s = %s`", d.Name, d.Sample))
	default:
		return true
	}
	return false
}

// box reports whether a point can be the size of a bed.
func (f *shopFile) box(p value.Point) bool {
	for i, n := range p {
		n = n.As(unit.Length)
		if n.Dim != unit.Length || n.X <= 0 {
			return false
		}
		p[i] = n
	}
	return len(p) == 3
}

// came reads what a hole or a peg came out at.
func (f *shopFile) came(x ast.Entry, word string) {
	sample := fmt.Sprintf("%s 4mm = 3.84mm, 3.87mm, 3.86mm", word)
	if x.Size == nil {
		f.e.fault(x.Path[0].Span(), value.Faultf(ShopValue, "`%s` does not say how large it was drawn", word).Do("write it as `%s`", sample))
		return
	}
	size, ok := f.e.expr(x.Size, f.scope).(value.Number)
	if !ok {
		return
	}
	if size.Dim != unit.Length || size.X <= 0 {
		f.e.fault(x.Size.Span(), value.Faultf(ShopValue, "a %s is drawn with a diameter, this is %s", word, describeWith(size)).Do("write it as `%s`", sample))
		return
	}
	read, _, ok := f.e.reckon(word+" "+unit.Format(size.X, size.Dim), x.Span(), x.Readings, x.Error, x.Limit, f.scope)
	if !ok {
		return
	}
	off := size.X - read.X
	switch {
	case read.Dim != unit.Length:
		f.e.fault(x.Readings[0].Span(), value.Faultf(ShopValue, "a %s is read as a diameter, this is %s", word, describeWith(read)).Do("write it as `%s`", sample))
		return
	case off > float64(0.5*size.X) || -off > float64(0.5*size.X):
		f.e.fault(x.Readings[0].Span(), value.Faultf(ShopValue, "a %s drawn %s cannot have come out at %s", word, size, read).
			Do("check the unit and the size: the drawn diameter stands before the `=`, the readings behind it"))
		return
	}
	c := workshop.Came{Drawn: size, Read: read, At: x.Span()}
	if word == "hole" {
		f.holes, f.holesFrom = append(f.holes, c), cmp.Or(f.holesFrom, f.place(x))
	} else {
		f.pegs, f.pegsFrom = append(f.pegs, c), cmp.Or(f.pegsFrom, f.place(x))
	}
}

// Sides of a fit.
const (
	onDiameter = "on_diameter"
	perSide    = "per_side"
)

// fits reads a clearance.
func (f *shopFile) fits(x ast.Entry, path []string) {
	at := x.Path[0].Span().To(x.Path[len(x.Path)-1].Span())
	if len(path) < 2 {
		f.e.fault(at, value.Faultf(ShopEntry, "`fit` does not say which fit").Do("write one of: press, snug, sliding, free, such as `fit.snug.on_diameter = 0.1mm`"))
		return
	}
	d, ok := workshop.LookupFit(path[1])
	if !ok {
		fault := value.Faultf(ShopEntry, "there is no fit called `%s`", path[1])
		fault.Notes = nearest(path[1], workshop.FitNames())
		f.e.fault(x.Path[1].Span(), fault)
		return
	}
	if d.Fixed {
		f.e.fault(at, value.Faultf(ShopEntry, "`fit.%s` has no clearance to state", d.Name).Do("state one of: press, snug, sliding, free"))
		return
	}
	if len(path) != 3 || path[2] != onDiameter && path[2] != perSide {
		f.e.fault(at, value.Faultf(FitUnclear, "`%s` does not say whether it counts on diameter or per side", strings.Join(path, ".")).
			Why("the one is twice the other, and tables print both").
			Do("write `fit.%s.on_diameter = …` or `fit.%s.per_side = …`", d.Name, d.Name))
		return
	}
	other := map[string]string{onDiameter: perSide, perSide: onDiameter}[path[2]]
	if first, ok := f.seen["fit."+d.Name+"."+other]; ok {
		f.e.fault(at, value.Faultf(ArgTwice, "`fit.%s` is told twice", d.Name).Do("keep one of the two"), diag.Label{At: first, Text: "first told here"})
		return
	}
	n, ok := f.of(x, strings.Join(path, "."), unit.Length, "fit."+d.Name+"."+path[2]+" = 0.1mm")
	if !ok {
		return
	}
	if path[2] == perSide {
		n = n.Apply(2*n.X, 2, n.Dim)
	}
	if n.X > 5 || n.X < -2 {
		f.e.fault(x.Readings[0].Span(), value.Faultf(ShopValue, "a clearance of %s on diameter is no fit", n).Do("check the unit: fits are tenths of a millimetre"))
		return
	}
	f.e.shop.StateFit(d, workshop.Stated{Value: n, From: f.place(x), At: x.Span()})
}

func noMaterial(name string, names []string) *value.Fault {
	f := value.Faultf(NoMaterial, "there is no material called `%s`", name)
	f.Notes = nearest(name, names)
	return f
}

// material reads a value of a known material or of one of the maker's own.
func (f *shopFile) material(x ast.Entry, name, property string) {
	m := f.own(name, x)
	if property == "like" {
		f.like(x, m)
		return
	}
	p, ok := builtin.LookupProperty(property)
	if !ok {
		fault := value.Faultf(ShopEntry, "a material has no `%s`", property)
		if fault.Notes = nearest(property, append(builtin.PropertyNames(), "like")); len(fault.Notes) == 0 {
			fault.Do("it has: like, %s", strings.Join(builtin.PropertyNames(), ", "))
		}
		f.e.fault(x.Path[1].Span(), fault)
		delete(f.unfinished, name)
		return
	}
	sample := fmt.Sprintf("%s.%s = %s", name, property, sampleOf(p.Dim))
	n, ok := f.of(x, name+"."+property, p.Dim, sample)
	if !ok {
		delete(f.unfinished, name)
		return
	}
	if n.X <= 0 && p.Dim != unit.Temperature {
		f.e.fault(x.Readings[0].Span(), value.Faultf(ShopValue, "`%s.%s` must be larger than 0, this is %s", name, property, n).Do("write it as `%s`", sample))
		return
	}
	u := n.Uncertainty()
	*p.Of(m) = builtin.Fact{X: n.X, U: u, Low: n.X - u, High: n.X + u, Source: f.place(x), Stated: true}
	if property == "density" {
		delete(f.unfinished, name)
	}
}

func sampleOf(d unit.Dim) string {
	for _, k := range builtin.All.Kinds {
		if k.Value == value.NumberKind && k.Dim == d && !k.Whole {
			return k.Sample
		}
	}
	switch d {
	case builtin.PerKelvin:
		return "68e-6 / 1K"
	case builtin.PerMass:
		return "24 / 1kg"
	}
	return "0.5"
}

// own returns the maker's own copy of a material, made when first named.
func (f *shopFile) own(name string, x ast.Entry) *builtin.Material {
	shop := f.e.shop
	for i := range shop.Materials {
		if shop.Materials[i].Name == name {
			return &shop.Materials[i]
		}
	}
	m, known := builtin.LookupMaterial(name)
	if !known {
		m = &builtin.Material{Name: name, Doc: "a material of this workshop", Moisture: "not known", Sun: "not known"}
		f.ownNames = append(f.ownNames, name)
		f.unfinished[name] = x
	}
	shop.Materials = append(shop.Materials, *m)
	return &shop.Materials[len(shop.Materials)-1]
}

// like takes what is not yet known of m from another material.
func (f *shopFile) like(x ast.Entry, m *builtin.Material) {
	delete(f.unfinished, m.Name)
	v := f.worth(x, m.Name+".like")
	t, ok := v.(value.Text)
	if !ok {
		if !value.IsBad(v) {
			f.e.fault(x.Readings[0].Span(), value.Faultf(ShopValue, "`like` names a material, this is %s", value.Describe(v)).Do("write it as `%s.like = \"petg\"`", m.Name))
		}
		return
	}
	base, ok := f.e.shop.Material(string(t))
	if !ok || base.Name == m.Name {
		f.e.fault(x.Readings[0].Span(), noMaterial(string(t), builtin.MaterialNames()))
		return
	}
	from := *base
	m.Fumes, m.Moisture, m.Sun, m.Doc = from.Fumes, from.Moisture, from.Sun, "of this workshop, like "+from.Name
	for _, p := range builtin.Properties {
		if own := p.Of(m); !own.Known() {
			*own = *p.Of(&from)
			own.Stated = false
		}
	}
}

// shopObject is the workshop as a value.
type shopObject struct{ of *workshop.Profile }

// Kind implements value.Value.
func (shopObject) Kind() value.Kind { return value.ObjectKind }

// What implements value.Object.
func (shopObject) What() string { return "workshop" }

// Members implements value.Object.
func (shopObject) Members() []string { return workshop.EntryNames() }

// Member implements value.Object.
func (s shopObject) Member(name string) (value.Value, bool) {
	v := s.of.Ask(name).Value
	return v, v != nil
}

// fitsObject is `fit`: all fits of the workshop.
type fitsObject struct{ e *evaluator }

// Kind implements value.Value.
func (fitsObject) Kind() value.Kind { return value.ObjectKind }

// What implements value.Object.
func (fitsObject) What() string { return "table of fits" }

// Members implements value.Object.
func (fitsObject) Members() []string { return workshop.FitNames() }

// Member implements value.Object.
func (o fitsObject) Member(name string) (value.Value, bool) {
	f, ok := workshop.LookupFit(name)
	return fitObject{o.e, f}, ok
}

// fitObject is one fit. It is no length by itself: whoever uses it says
// whether on diameter, per side, or for a hole or a peg.
type fitObject struct {
	e  *evaluator
	of *workshop.Fit
}

// Kind implements value.Value.
func (fitObject) Kind() value.Kind { return value.ObjectKind }

// What implements value.Object.
func (o fitObject) What() string { return "fit " + o.of.Name }

// Instead tells what to write where a length is wanted.
func (o fitObject) Instead() string {
	return fmt.Sprintf("say how it counts: fit.%s.hole(shaft) and fit.%s.peg(hole) are diameters to draw, fit.%s.on_diameter and fit.%s.per_side clearances", o.of.Name, o.of.Name, o.of.Name, o.of.Name)
}

// Members implements value.Object.
func (fitObject) Members() []string { return []string{onDiameter, perSide, "hole", "peg"} }

// Member implements value.Object.
func (o fitObject) Member(name string) (value.Value, bool) {
	switch name {
	case onDiameter:
		return o.clearance(), true
	case perSide:
		n := o.clearance()
		return n.Apply(n.X/2, 0.5, n.Dim), true
	case "hole":
		return o.drawn("hole", "shaft", func(d value.Number) value.Number { return sum(d, o.clearance(), 1) },
			func(x float64) value.Number { return o.e.shop.HoleCorrection(x, o.e.practice) }), true
	case "peg":
		return o.drawn("peg", "hole", func(d value.Number) value.Number { return sum(d, o.clearance(), -1) },
			func(x float64) value.Number { return o.e.shop.PegCorrection(x, o.e.practice) }), true
	}
	return nil, false
}

// clearance is the fit on diameter; what common practice says is good to a
// tenth or less, and that has a source of its own.
func (o fitObject) clearance() value.Number {
	s := o.e.shop.Clearance(o.of)
	n := s.Value.(value.Number)
	if s.Assumed() {
		n = n.From(o.e.practice("fit."+o.of.Name+" (common practice)"), value.Rectangular(o.of.Give))
	}
	return n
}

func (e *evaluator) practice(name string) int { return e.tableSource(name, source.Span{}) }

// drawn is a function from what the mate measures to what must be drawn.
func (o fitObject) drawn(word, param string, wanted func(value.Number) value.Number, correction func(float64) value.Number) *builtinFunc {
	return &builtinFunc{&builtin.Function{
		Name: "fit." + o.of.Name + "." + word, Params: []builtin.Param{{Name: param, Kind: "length"}},
		Call: func(a []value.Value) (value.Value, *value.Fault) {
			w := wanted(a[0].(value.Number))
			n := sum(w, correction(w.X), 1)
			if n.X <= 0 {
				return nil, value.Faultf(builtin.Domain, "nothing is left of a %s of %s with this fit", word, w).Do("check the diameter")
			}
			return n, nil
		},
	}}
}

func sum(a, b value.Number, sign float64) value.Number {
	return value.Apply2(a, b, a.X+float64(sign*b.X), 1, sign, a.Dim)
}

// ofShop is what `workshop` and `fit` stand for.
func (e *evaluator) ofShop(x *ast.Ref) value.Value {
	switch {
	case e.shop == nil || !e.shopOpen:
		return e.fault(x.Span(), value.Faultf(ShopValue, "`%s` is not known while the workshop is being stated", x.Name).
			Do("write the value, or give it a name above with `let`"))
	case x.Name == workshop.FitWord:
		return fitsObject{e}
	}
	return shopObject{e.shop}
}

// fitted is a body with the allowance of a fit all round: `pin with fit.snug` to
// cut the hole for it, `pin less fit.snug` to print it for its hole.
func (e *evaluator) fitted(x *ast.Combine, b *value.Body, f fitObject) value.Value {
	if len(x.Right) > 1 || x.Op == "within" {
		return e.fault(x.Span(), value.Faultf(WrongOperand, "a body takes one fit, by `with` or `less`").
			Do("write `cut pin with fit.%s` for the hole, `join pin less fit.%s` for the pin", f.of.Name, f.of.Name))
	}
	clear := f.clearance().X
	by := func(across float64) float64 {
		if x.Op == "less" {
			return float64(e.shop.PegCorrection(across-clear, e.practice).X-clear) / 2
		}
		return float64(clear+e.shop.HoleCorrection(across+clear, e.practice).X) / 2
	}
	out, fault := builtin.Fitted(b, by)
	if fault != nil {
		return e.fault(x.Left.Span(), fault)
	}
	if fault := builtin.Limits(out); fault != nil {
		return e.fault(x.Span(), fault)
	}
	return out
}
