// Package metal gives the properties of the metals a jeweller casts, as
// functions of composition and temperature: density, heat, freezing, flow.
// Silver, gold and copper freeze as their assessed Gibbs energies say; other
// alloys by handbook ranges, by interpolation that says so, or by the
// caller's own figures.
package metal

import (
	"fmt"
	"slices"
	"strings"
	"sync"

	"pourwright/internal/calc"
	"pourwright/internal/safety"
)

// Metal is an alloy of known composition. Get one from [Named] or [Of]; the
// zero value is not usable. It is not changed by any method and may be copied
// and shared between goroutines; do not change its Composition.
type Metal struct {
	ID, Name    string
	Composition Composition

	parts             []part
	scatter           float64
	solidus, liquidus float64 // °C
	end               float64 // °C
	eutectic          float64 // mass fraction that freezes as a eutectic
	band              float64 // K
	basis             Basis
	like              string // the assessed alloy whose path this one follows, if any
	curve             *curve
	latent            float64 // kJ/kg
	system            *system // nil unless assessed
	moles             vec
	sources           []calc.Source
	cautions          []calc.Caution
	near              string // catalogue alloy whose tabulated range it has, where its composition is another
	own               *MeltingRange
	pour              float64 // °C, where not 100 K over the liquidus
}

// part is an element with its share of an alloy.
type part struct {
	*element
	mass, mole float64
}

// MeltingRange is the user's own solidus and liquidus, °C.
type MeltingRange struct{ SolidusC, LiquidusC float64 }

// Of returns the metal of composition c. r is the user's own melting range, or
// nil: then Ag-Au-Cu alloys are computed, others estimated, with a caution.
// Errors are refusals of "composition", "solidus_c" or "liquidus_c".
func Of(c Composition, r *MeltingRange) (Metal, error) {
	c, err := c.normal()
	if err != nil {
		return Metal{}, err
	}
	key := c.key(r)
	if m, ok := recent.get(key); ok {
		return m, nil
	}
	span, err := rangeOf(c, nil, r)
	if err != nil {
		return Metal{}, err
	}
	m, err := build(c, span)
	m.own = r
	if err == nil {
		recent.put(key, m)
	}
	return m, err
}

// memory keeps metals that were made lately: one order asks for the same
// melt many times, and a freezing path takes a millisecond or more.
type memory struct {
	sync.Mutex
	metals map[string]Metal
}

const mostRemembered = 256

var recent = memory{metals: map[string]Metal{}}

func (k *memory) get(key string) (Metal, bool) {
	k.Lock()
	defer k.Unlock()
	m, ok := k.metals[key]
	return m, ok
}

func (k *memory) put(key string, m Metal) {
	k.Lock()
	defer k.Unlock()
	if len(k.metals) >= mostRemembered {
		clear(k.metals)
	}
	k.metals[key] = m
}

// rangeOf finds the melting range of c: the user's own, a model's, that of
// the catalogue alloy a, or an estimate.
func rangeOf(c Composition, a *alloy, own *MeltingRange) (meltingRange, error) {
	symbols := c.Symbols()
	switch {
	case own != nil:
		if err := own.check(); err != nil {
			return meltingRange{}, err
		}
		return meltingRange{solidus: own.SolidusC, liquidus: own.LiquidusC, basis: Given,
			source: calc.Source{For: "melting range", Text: "your own solidus and liquidus", Status: calc.YourInput}}, nil
	case len(symbols) == 1:
		e := elements[symbols[0]]
		source := *e.melting.source
		source.For = "melting point of " + e.name
		return meltingRange{solidus: e.melting.value, liquidus: e.melting.value, band: e.melting.band, basis: Element, source: source}, nil
	}
	if s, x := systemOf(c); s != nil {
		T, _, err := s.liquidus(x)
		if err != nil {
			return meltingRange{}, fmt.Errorf("liquidus of %s: %w", c, err)
		}
		S, _, err := s.solidus(x)
		if err != nil {
			return meltingRange{}, fmt.Errorf("solidus of %s: %w", c, err)
		}
		r := meltingRange{solidus: min(S, T) - zeroC, liquidus: T - zeroC, band: bandTernary, basis: Assessed, source: bySymbols[strings.Join(s.symbols, "-")]}
		if c["Au"] == 0 {
			r.band = bandSilverCopper
		}
		// Near a pure metal the melting point holds the liquidus: 1 K a per cent.
		r.band = min(r.band, 1+100*(1-c[symbols[0]]))
		return r, nil
	}
	if a == nil {
		a = sameAs(c)
	}
	if a != nil && a.liquidus.value != 0 {
		source := *a.liquidus.source
		source.For = "melting range of " + a.name
		return meltingRange{solidus: a.solidus.value, liquidus: a.liquidus.value, band: a.liquidus.band, basis: Tabulated, source: source}, nil
	}
	if r, ok := pairOf(c); ok {
		return r, nil
	}
	r := estimate(c)
	if why := unknown(c, r); why != "" {
		return meltingRange{}, calc.Refuse("composition", c.String(), "the melting range of this metal is not known: %s; give solidus_c and liquidus_c from a data sheet", why)
	}
	r.basis = Estimated
	r.source = calc.Source{For: "melting range", Text: fmt.Sprintf("Ag-Au-Cu part computed, further elements interpolated between %d tabulated alloys; ± %.0f K is twice the error with which the kindred ones are met when left out in turn", len(samples()), r.band), Status: calc.Computed}
	return r, nil
}

// same is how far a composition may be from a catalogue alloy, as the mass
// fraction that differs, for the tabulated range of that alloy to be its own.
const same = 0.003

// sameAs returns the catalogue alloy whose tabulated range holds for c, or nil.
func sameAs(c Composition) *alloy {
	best, distance := -1, same
	for i := range catalogue {
		if s, _ := systemOf(nominal()[i]); s != nil || catalogue[i].liquidus.value == 0 {
			continue
		}
		if d := c.apart(nominal()[i]); d <= distance {
			best, distance = i, d
		}
	}
	if best < 0 {
		return nil
	}
	return &catalogue[best]
}

// nominal is the compositions of the catalogue, in its order.
var nominal = sync.OnceValue(func() []Composition {
	list := make([]Composition, len(catalogue))
	for i, a := range catalogue {
		list[i] = mustParse(a.composition)
	}
	return list
})

// check refuses a range that no metal here can have.
func (r *MeltingRange) check() error {
	var c calc.Checks
	c.Within("solidus_c", r.SolidusC, 100, 2100, "°C")
	c.Within("liquidus_c", r.LiquidusC, 100, 2100, "°C")
	if r.SolidusC > r.LiquidusC {
		c.Refuse("liquidus_c", r.LiquidusC, "give a liquidus not below the solidus of %g °C", r.SolidusC)
	}
	return c.Err()
}

// systemOf returns the assessed system of c and its mole fractions in the
// order of the system, or nil.
func systemOf(c Composition) (*system, vec) {
	symbols := make([]string, 0, len(c))
	for s := range c {
		symbols = append(symbols, s)
	}
	slices.Sort(symbols)
	if len(symbols) < 2 || len(symbols) > maxParts {
		return nil, vec{}
	}
	s := systems[strings.Join(symbols, "-")]
	if s == nil {
		return nil, vec{}
	}
	var x vec
	moles := c.moles()
	for i, name := range symbols {
		x[i] = moles[name]
	}
	return s, x
}

// build makes the metal of a normal composition and a melting range.
func build(c Composition, r meltingRange) (Metal, error) {
	m := Metal{Name: c.String(), Composition: c, solidus: r.solidus, liquidus: r.liquidus, band: r.band, basis: r.basis}
	moles := c.moles()
	for _, s := range c.Symbols() {
		m.parts = append(m.parts, part{elements[s], c[s], moles[s]})
	}
	m.scatter = scatter(m.parts)
	core, alike := likeness(c, r)
	switch {
	case r.basis == Assessed && m.freeze():
	case alike:
		m.end = min(m.solidus, core.end+m.solidus-core.solidus, m.liquidus-invariantSpan)
		m.like = core.Composition.String()
		m.curve = core.follow(m.parts, m.end, m.liquidus)
	default:
		m.end = min(m.solidus, m.liquidus-invariantSpan)
		m.curve = lever(m.parts, m.end, m.liquidus)
	}
	m.latent = m.curve.latent(m.end, m.liquidus)
	m.account(r)
	return m, nil
}

// freeze gives m the path of an assessed alloy. Where the path cannot be found,
// which no test has met, it reports false, and m freezes by the lever rule.
func (m *Metal) freeze() bool {
	s, x := systemOf(m.Composition)
	path, err := s.scheil(x)
	if err != nil {
		return false
	}
	m.system, m.moles = s, x
	m.curve = s.frozen(path, x)
	m.end = m.curve.t[solidKnots]
	if i := path.eutecticAt; i >= 0 {
		m.eutectic = path.points[i].liquid * s.mass(path.points[i].x) / s.mass(x)
	}
	return true
}

// mostFurther is the mass fraction of further elements up to which an alloy is
// taken to freeze as its silver, gold and copper do.
const mostFurther = 0.05

// likeness returns the assessed alloy of silver, gold and copper that c is but
// for a few per cent, as solder seams leave them in scrap; not for the
// caller's own range, whose solidus is taken as the end of freezing.
func likeness(c Composition, r meltingRange) (Metal, bool) {
	core, further := c.core()
	if r.basis != Estimated && r.basis != Tabulated || further > mostFurther || len(core) < 2 {
		return Metal{}, false
	}
	m, err := Of(core, nil)
	return m, err == nil
}

// account gathers sources and cautions.
func (m *Metal) account(r meltingRange) {
	m.sources = append(m.sources, r.source)
	if m.system != nil {
		for _, pair := range m.system.pairs[liquid] {
			source := bySymbols[m.system.symbols[pair.i]+"-"+m.system.symbols[pair.j]]
			if source != r.source {
				m.sources = append(m.sources, source)
			}
		}
		m.sources = append(m.sources, srcScheil)
	}
	m.sources = append(m.sources, srcUnary)
	if len(m.parts) > 1 {
		m.sources = append(m.sources, srcIdeal, srcKopp)
	}
	m.sources = append(m.sources, m.behind("density", func(e *element) figure { return e.density })...)
	m.caution(r)
}

// behind returns the sources of a figure of the elements of m, each source
// once, for all elements it serves.
func (m *Metal) behind(what string, f func(*element) figure) []calc.Source {
	var list []calc.Source
	var seen []*calc.Source
	for i := range m.parts {
		source := f(m.parts[i].element).source
		if j := slices.Index(seen, source); j >= 0 {
			list[j].For += ", " + m.parts[i].name
			continue
		}
		seen = append(seen, source)
		list = append(list, calc.Source{For: what + " of " + m.parts[i].name, Text: source.Text, Status: source.Status})
	}
	return list
}

const (
	fumes   = 0.002 // mass fraction of zinc below which its fume is not to be seen; ours
	closely = 30.0  // K: an interpolated range that is known as well as a carat gold's
)

// cautionCodes are the codes of the cautions that metals give.
var cautionCodes = []string{safety.ZincFume.Code, safety.Cadmium.Code, safety.Lead.Code, "nickel", "density_ideal_mixing", "outside_validity",
	"antimony", "tin_apart", "melting_range_estimated", "melting_range_tabulated", "solidus_in_doubt", "freezing_path_simple", "zinc_boils"}

// CautionCode reports whether a caution of that code is a metal's own, given by
// whatever is computed of the metal.
func CautionCode(code string) bool { return slices.Contains(cautionCodes, code) }

func (m *Metal) caution(r meltingRange) {
	warn := func(code string, severity calc.Severity, format string, args ...any) {
		m.cautions = append(m.cautions, calc.Caution{Code: code, Severity: severity, Text: fmt.Sprintf(format, args...)})
	}
	for _, h := range [...]struct {
		symbol  string
		caution calc.Caution
	}{{"Zn", safety.ZincFume}, {"Cd", safety.Cadmium}, {"Pb", safety.Lead}} {
		if v := m.Composition[h.symbol]; v > 0 && (h.symbol != "Zn" || v > fumes) {
			m.cautions = append(m.cautions, h.caution)
		}
	}
	if m.Composition["Ni"] > 0 {
		m.cautions = append(m.cautions, safety.Nickel)
	}
	if m.Composition["Sn"] > 0.5 {
		warn("tin_apart", calc.Care, "Tin spoils silver and gold in traces: keep a dish, ladle, files and bench of its own for it, and its drops out of every other melt. Melt it gently, a little over its liquidus, and ventilate. Old pewter may hold lead: use bought metal without it.")
	}
	if m.Composition["Sb"] > 0.01 {
		warn("antimony", calc.Care, "Antimony and its fume are toxic: melt it no hotter than it needs, with extraction, wash hands, and make nothing of it for food or for the mouths of small children.")
	}
	if e := m.mixingError(); e > 0.015 {
		warn("density_ideal_mixing", calc.Note, "Ideal mixing of volumes gives the density of this alloy only within %.0f %%, usually on the low side.", 100*e)
	}
	switch {
	case r.far:
		warn("outside_validity", calc.Care, "No tabulated alloy is close to %s: its melting range of %.0f to %.0f °C is a guess within %.0f K. Give your supplier's solidus and liquidus.", m.Composition, m.solidus, m.liquidus, m.band)
	case m.basis == Estimated && m.band < closely:
		warn("melting_range_estimated", calc.Note, "The melting range of %.0f to %.0f °C is interpolated between other alloys, within %.0f K.", m.solidus, m.liquidus, m.band)
	case m.basis == Estimated:
		warn("melting_range_estimated", calc.Care, "The melting range of %.0f to %.0f °C is interpolated between other alloys, within %.0f K. Give your supplier's solidus and liquidus if you have them.", m.solidus, m.liquidus, m.band)
	case m.basis == Tabulated:
		warn("melting_range_tabulated", calc.Note, "The melting range is a handbook figure for this alloy, within %.0f K; a casting may finish freezing somewhat lower.", m.band)
	}
	const splits = 0.05 // of a casting, where it tells
	if m.basis == Assessed && m.Composition["Au"] > 0.1 && m.eutectic > splits {
		warn("solidus_in_doubt", calc.Care, "This gold splits into two solids as it freezes. Its solidus is computed as %.0f °C; a table has that of two such golds, 375 with 100 and 160 of silver, 100 K above ours. Give your supplier's solidus and liquidus.", m.solidus)
	}
	if m.like != "" {
		warn("freezing_path_simple", calc.Note, "Without a model of this alloy it is taken to freeze as %s does, moved to its own range.", m.like)
	} else if m.system == nil && m.basis != Element {
		warn("freezing_path_simple", calc.Note, "Without a model of this alloy the metal is taken to freeze by the lever rule between liquidus and solidus.")
	}
}

// Sources returns what the figures rest on.
func (m Metal) Sources() []calc.Source { return slices.Clone(m.sources) }

// CautionsAt returns what to beware of at tC, beyond [Metal.Cautions].
func (m Metal) CautionsAt(tC float64) []calc.Caution {
	var list []calc.Caution
	if tC > m.liquidus+liquidReach {
		list = append(list, calc.Caution{Code: "outside_validity", Severity: calc.Care, Text: fmt.Sprintf("%.0f °C is more than %.0f K above the liquidus: density, surface tension and viscosity are carried on in straight lines beyond what was measured.", tC, liquidReach)})
	}
	boiling := elements["Zn"].boiling.value
	if m.Composition["Zn"] > 0.02 && tC > boiling {
		list = append(list, calc.Caution{Code: "zinc_boils", Severity: calc.Danger, Text: fmt.Sprintf("At %.0f °C, above the boiling point of zinc (%.0f °C), zinc leaves this melt fast: fume, loss and a composition that drifts.", tC, boiling)})
	}
	return list
}

// Cautions returns what to beware of in this metal.
func (m Metal) Cautions() []calc.Caution { return slices.Clone(m.cautions) }
