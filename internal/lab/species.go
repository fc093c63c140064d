package lab

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"pinset/internal/figure"
)

// Phase is a part of a grow with a climate of its own, or the crop.
type Phase string

// The phases.
const (
	Run      Phase = "run"   // from inoculation to full cover
	Pinning  Phase = "pins"  // from cover, or the light, to pins
	Fruiting Phase = "fruit" // from pins to a pick
	Crop     Phase = "crop"  // what comes of it
)

// Phases are in the order of a grow.
var Phases = []Phase{Run, Pinning, Fruiting, Crop}

// Label is what pages call the phase.
func (p Phase) Label() string {
	switch p {
	case Run:
		return "run to full cover"
	case Pinning:
		return "pins"
	case Fruiting:
		return "fruiting"
	}
	return "substrate and crop"
}

// Quantity is what a target is of.
type Quantity string

// The quantities that have targets.
const (
	Temperature    Quantity = "temperature"
	Humidity       Quantity = "humidity"
	CO2            Quantity = "co2"
	FreshAir       Quantity = "fresh-air"
	Lux            Quantity = "light"
	LightHours     Quantity = "light-hours"
	Days           Quantity = "days"
	ColourDays     Quantity = "colour-days"
	Flushes        Quantity = "flushes"
	Efficiency     Quantity = "efficiency"
	Moisture       Quantity = "moisture"
	CarbonNitrogen Quantity = "c-n"
	DryMatter      Quantity = "dry-matter"
)

// quantity is how a Quantity is shown and bounded.
type quantity struct {
	of          Quantity
	label, unit string
	phases      []Phase
	least, most float64
}

var quantities = []quantity{
	{Temperature, "temperature", "°C", Phases[:3], -5, 60},
	{Humidity, "humidity", "%", Phases[:3], 0, 100},
	{CO2, "CO2", "ppm", Phases[:3], 0, 200000},
	{FreshAir, "air changes", "per hour", Phases[:3], 0, 100},
	{Lux, "light", "lux", Phases[:3], 0, 100000},
	{LightHours, "hours of light", "h a day", Phases[:3], 0, 24},
	{Days, "days", "d", Phases[:3], 1, 400},
	{ColourDays, "colour after the light", "d", []Phase{Pinning}, 1, 400},
	{Flushes, "flushes", "", []Phase{Crop}, 1, 20},
	{Efficiency, "fresh weight of dry substrate", "%", []Phase{Crop}, 0, 400},
	{Moisture, "moisture of the substrate", "%", []Phase{Crop}, 0, 100},
	{CarbonNitrogen, "C:N", "", []Phase{Crop}, 1, 1000},
	{DryMatter, "dry matter of what is picked", "%", []Phase{Crop}, 0, 100},
}

func (q Quantity) facts() quantity {
	if i := slices.IndexFunc(quantities, func(x quantity) bool { return x.of == q }); i >= 0 {
		return quantities[i]
	}
	return quantity{of: q, label: string(q)}
}

// Label is what pages call the quantity.
func (q Quantity) Label() string { return q.facts().label }

// Target is a span of a quantity that is aimed at, or expected, in a phase.
type Target struct {
	Phase    Phase
	What     Quantity
	From, To float64 // in the unit of the quantity; a 0 is an open end, both are none
	Source   string
	Doubt    string // what speaks against it, "" if nothing was read
	Own      bool   // the grower's own
}

// Key names what the target is of: "run.temperature".
func (t Target) Key() string { return string(t.Phase) + "." + string(t.What) }

// Span is the span without its unit, as it is typed: "20–23", "up to 2000".
func (t Target) Span() string {
	number := func(x float64) string { return strconv.FormatFloat(x, 'f', -1, 64) }
	switch {
	case t.From == 0 && t.To == 0:
		return "none"
	case t.From == 0:
		return "up to " + number(t.To)
	case t.To == 0:
		return "from " + number(t.From)
	case t.From == t.To:
		return number(t.From)
	}
	return number(t.From) + "–" + number(t.To)
}

// Ends returns both ends of the span; nil is an open one. Of none both are 0.
func (t Target) Ends() (from, to *float64) {
	none := t.From == 0 && t.To == 0
	if t.From != 0 || none {
		from = &t.From
	}
	if t.To != 0 || none {
		to = &t.To
	}
	return from, to
}

func (t Target) String() string {
	if t.From == 0 && t.To == 0 {
		return t.Span()
	}
	return strings.TrimSpace(t.Span() + " " + t.What.facts().unit)
}

// TargetOf returns the empty target that key names, such as "run.temperature".
func TargetOf(key string) (Target, error) {
	phase, what, _ := strings.Cut(strings.ToLower(strings.TrimSpace(key)), ".")
	q := Quantity(what).facts()
	if !slices.Contains(q.phases, Phase(phase)) {
		return Target{}, Invalidf("target", "write a phase and a quantity, such as run.temperature or pins.days", "%q has no target", figure.Clip(key, 40))
	}
	return Target{Phase: Phase(phase), What: q.of, Source: "your own", Own: true}, nil
}

// ParseTarget reads what the grower aims at: key as of TargetOf, typed such as
// "20-23", "22", "up to 2000", "from 5000" or "none".
func ParseTarget(key, typed string) (Target, error) {
	t, err := TargetOf(key)
	if err != nil {
		return t, err
	}
	if t.From, t.To, err = parseSpan(typed); err != nil {
		return Target{}, err
	}
	q := t.What.facts()
	for _, x := range []float64{t.From, t.To} {
		if x != 0 && !(x >= q.least && x <= q.most) {
			return Target{}, Invalidf("span", fmt.Sprintf("write %g to %g %s", q.least, q.most, q.unit), "%s of %g can not be", q.label, x)
		}
	}
	if t.isDays() && (t.From != math.Trunc(t.From) || t.To != math.Trunc(t.To) || t.From == 0 || t.To == 0) {
		return Target{}, Invalidf("span", "write whole days, such as 12-21", "%q is no span of days", figure.Clip(typed, 40))
	}
	return t, nil
}

func (t Target) isDays() bool { return t.What == Days || t.What == ColourDays }

// parseSpan reads a span; an open end is 0.
func parseSpan(typed string) (from, to float64, err error) {
	text := strings.ToLower(strings.Join(strings.Fields(typed), " "))
	text = strings.NewReplacer("up to ", "up to ", "–", "-", "—", "-", " to ", "-", "<", "up to ", "≤", "up to ", ">", "from ", "≥", "from ").Replace(text)
	number := func(s string) float64 {
		x, e := strconv.ParseFloat(strings.ReplaceAll(strings.TrimSpace(s), ",", "."), 64)
		if e != nil || !(x >= 0) || math.IsInf(x, 0) {
			err = Invalidf("span", "write a span such as 20-23, one figure, up to 2000, from 5000, or none", "%q is no span", figure.Clip(typed, 40))
		}
		return x
	}
	if text == "none" || text == "dark" {
		return 0, 0, nil
	}
	if rest, ok := strings.CutPrefix(text, "up to "); ok {
		to = number(rest)
		return 0, to, err
	}
	if rest, ok := strings.CutPrefix(text, "from "); ok {
		from = number(rest)
		return from, 0, err
	}
	low, high, isSpan := strings.Cut(text, "-")
	from = number(low)
	if to = from; isSpan {
		to = number(high)
	}
	if err == nil && to < from {
		err = Invalidf("span", "write the lower figure first", "%q runs backwards", figure.Clip(typed, 40))
	}
	return from, to, err
}

// Profile is what a species wants, and when its stages come: where a grower
// starts from who has no figures of their own.
type Profile struct {
	Key     string // in addresses: "pleurotus-ostreatus"
	Species string
	Light   bool // jars are moved to light when covered, and pins count from it
	Targets []Target

	names             []string // any of them in what the grower calls the species
	lateRun, latePins int      // the day from which it is late; 0 is the day after the span
	growth            [2]int   // days to first growth; common practice, no source; 0 if not told
}

// Profiles returns the species that something was read about.
func Profiles() []Profile { return slices.Clone(speciesBook) }

// ProfileOf returns the profile of a species as the grower calls it, and
// whether there is one.
func ProfileOf(name string) (Profile, bool) {
	name = strings.ToLower(name)
	best, length := Profile{}, 0
	for _, p := range speciesBook {
		for _, n := range append([]string{p.Key}, p.names...) {
			if len(n) > length && strings.Contains(name, n) { // "king oyster" before "oyster"
				best, length = p, len(n)
			}
		}
	}
	return best, length > 0
}

// With returns the profile with the grower's own targets before all others.
func (p Profile) With(own []Target) Profile {
	p.Targets = append(slices.Clone(own), p.Targets...)
	for _, t := range own {
		switch {
		case t.What != Days:
		case t.Phase == Run:
			p.lateRun = 0
		case t.Phase == Pinning:
			p.latePins = 0
		}
	}
	return p
}

// Target returns the target that goes first for a quantity in a phase, and
// whether there is one.
func (p Profile) Target(phase Phase, what Quantity) (Target, bool) {
	for _, t := range p.Targets {
		if t.Phase == phase && t.What == what {
			return t, true
		}
	}
	return Target{}, false
}

// Others returns what else was read about a target that goes first.
func (p Profile) Others(first Target) []Target {
	var out []Target
	for _, t := range p.Targets {
		if t.Key() == first.Key() && t != first {
			out = append(out, t)
		}
	}
	return out
}

// Quantities returns what can be aimed at in a phase, in the order of pages.
func (p Phase) Quantities() []Quantity {
	var out []Quantity
	for _, q := range quantities {
		if slices.Contains(q.phases, p) {
			out = append(out, q.of)
		}
	}
	return out
}
