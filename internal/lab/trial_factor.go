package lab

import (
	"math"
	"slices"
	"strconv"
	"strings"

	"pinset/internal/figure"
)

// TrialFactor is one thing that the arms of a trial differ in, with the levels
// that it is set to. The arms of a trial with factors are their crossing.
type TrialFactor struct {
	Name   string    `json:"name"`           // such as "broth"
	Is     Factor    `json:"is"`             // which record tells its levels apart
	On     Unit      `json:"on,omitempty"`   // what is set to a level as a whole; "" is the jar
	Unit   string    `json:"unit,omitempty"` // of the doses, such as "mm"
	Levels []string  `json:"levels"`         // in the order of the doses where there are any
	Doses  []float64 `json:"doses,omitempty"`
}

// Unit is what a factor is set on as a whole, and so what is counted when two
// of its levels are compared.
type Unit string

// The units. A factor that sits on none of the others sits on the jar.
const (
	OnJar    Unit = "jar"
	OnCook   Unit = "cook"   // such as the hold: all jars of a cook have it
	OnShelf  Unit = "shelf"  // such as the light
	OnMaking Unit = "making" // such as the soak: all jars of one making of the mix have it
)

// Units lists the units in the order that pages offer them.
var Units = []Unit{OnJar, OnCook, OnShelf, OnMaking}

// Many is the plural of u.
func (u Unit) Many() string {
	if u == OnShelf {
		return "shelves"
	}
	return string(u) + "s"
}

// Bounds of a crossing.
const (
	MaxFactors = 3
	MaxArms    = 12
)

// NewTrialFactor returns a factor from what was typed. Levels that are all
// numbers, each with the same unit or none, make a ladder: they are put in the
// order of their doses. The error is an Invalid Problem at field.
func NewTrialFactor(field, name, is, on, unit string, levels []string) (TrialFactor, error) {
	f := TrialFactor{Name: name, Unit: strings.TrimSpace(unit), Levels: slices.Clone(levels)}
	kinds, err := ParseFactors([]string{is})
	if err != nil {
		return f, moved(field, err)
	}
	f.Is, f.On = kinds[0], Unit(strings.ToLower(strings.TrimSpace(on)))
	if f.On == "" {
		f.On = OnJar
	}
	f.readDoses()
	return f.check(field)
}

// check returns f tidied, or an Invalid Problem at field.
func (f TrialFactor) check(field string) (TrialFactor, error) {
	var err error
	if f.Name, err = Name("factor", f.Name); err != nil {
		return f, moved(field, err)
	}
	if !slices.Contains(Units, f.On) {
		return f, Invalidf(field, "choose jar, cook, shelf or making", "%s can not be set on a %q", f.Name, figure.Clip(string(f.On), 40))
	}
	if len(f.Levels) < 2 {
		return f, Invalidf(field, "write two levels or more, such as 16, 25", "%s has %d level, so nothing would differ", f.Name, len(f.Levels))
	}
	if len(f.Levels) > MaxArms {
		return f, Invalidf(field, "take levels off; 12 arms are the most", "%s has %d levels", f.Name, len(f.Levels))
	}
	seen := make(map[string]bool)
	for i := range f.Levels {
		if f.Levels[i], err = Name("level", f.Levels[i]); err != nil {
			return f, moved(field, err)
		}
		key := NameKey(f.Levels[i])
		if seen[key] {
			return f, Invalidf(field, "make each level another", "%s has the level %s twice", f.Name, f.Levels[i])
		}
		seen[key] = true
	}
	if len(f.Doses) > 0 && len(f.Doses) != len(f.Levels) {
		return f, Invalidf(field, "give every level a dose, or none", "%s has %d doses for %d levels", f.Name, len(f.Doses), len(f.Levels))
	}
	for i, d := range f.Doses {
		if !(d >= 0 && d <= 1e9) || slices.Contains(f.Doses[:i], d) {
			return f, Invalidf(field, "write each dose once, 0 or more", "%s has a dose of %g that can not be read, or twice", f.Name, d)
		}
	}
	return f, nil
}

// readDoses takes the levels as doses if all of them are numbers.
func (f *TrialFactor) readDoses() {
	type rung struct {
		dose  float64
		level string
	}
	var rungs []rung
	unit := f.Unit
	for _, l := range f.Levels {
		if _, rest := cutNumber(l); unit == "" {
			unit = rest
		}
	}
	for _, l := range f.Levels {
		number, rest := cutNumber(l)
		x, err := strconv.ParseFloat(strings.Replace(number, ",", ".", 1), 64)
		if err != nil || math.IsInf(x, 0) {
			return
		}
		if rest != "" && rest != unit {
			return
		}
		rungs = append(rungs, rung{x, number})
	}
	slices.SortStableFunc(rungs, func(a, b rung) int {
		switch {
		case a.dose < b.dose:
			return -1
		case a.dose > b.dose:
			return 1
		}
		return 0
	})
	f.Unit, f.Doses = unit, nil
	for i, r := range rungs {
		f.Levels[i], f.Doses = strings.TrimSpace(r.level+" "+unit), append(f.Doses, r.dose)
	}
}

// cutNumber parts "16 mm" into "16" and "mm".
func cutNumber(s string) (number, rest string) {
	s = strings.TrimSpace(s)
	at := strings.IndexFunc(s, func(r rune) bool { return !(r >= '0' && r <= '9' || r == '.' || r == ',') })
	if at < 0 {
		return s, ""
	}
	return s[:at], strings.TrimSpace(s[at:])
}

// Ladder returns the factor of a ladder: the only one, with three doses or
// more.
func (t Trial) Ladder() (TrialFactor, bool) {
	if f := t.Details.Factors; len(f) == 1 && len(f[0].Doses) >= 3 {
		return f[0], true
	}
	return TrialFactor{}, false
}

// Split returns the factors that are set on cooks, shelves or makings, not on
// single jars.
func (t Trial) Split() []TrialFactor {
	var out []TrialFactor
	for _, f := range t.Details.Factors {
		if f.On != OnJar && f.On != "" {
			out = append(out, f)
		}
	}
	return out
}

// Find returns which level was typed, by its name or its dose; -1 if none.
func (f TrialFactor) Find(typed string) int {
	if i := slices.IndexFunc(f.Levels, func(l string) bool { return NameKey(l) == NameKey(typed) }); i >= 0 || len(f.Doses) == 0 {
		return i
	}
	number, rest := cutNumber(typed)
	x, err := strconv.ParseFloat(strings.Replace(number, ",", ".", 1), 64)
	if err != nil || rest != "" && rest != f.Unit {
		return -1
	}
	return slices.Index(f.Doses, x)
}

// LevelOf returns which level of factor k arm a has, -1 if it has none.
func (t Trial) LevelOf(a Arm, k int) int {
	if k >= len(a.Levels) || k >= len(t.Details.Factors) {
		return -1
	}
	return t.Details.Factors[k].Find(a.Levels[k])
}

// checkFactors checks the factors of a trial, and that its arms are their
// crossing, each combination once.
func (t Trial) checkFactors() error {
	factors := t.Details.Factors
	if len(factors) == 0 {
		return nil
	}
	if len(factors) > MaxFactors {
		return Invalidf("factors", "cross at most 3 things in one trial", "the trial has %d factors", len(factors))
	}
	arms := 1
	names := make(map[string]bool)
	for i := range factors {
		f, err := factors[i].check("factors")
		if err != nil {
			return err
		}
		if names[NameKey(f.Name)] {
			return Invalidf("factors", "give each factor a name of its own", "two factors are called %s", f.Name)
		}
		names[NameKey(f.Name)] = true
		factors[i] = f
		arms *= len(f.Levels)
	}
	if arms != len(t.Arms) {
		return Invalidf("factors", "plan one arm for each combination of levels", "the levels make %d arms and the trial has %d", arms, len(t.Arms))
	}
	seen := make(map[string]bool)
	for _, a := range t.Arms {
		if len(a.Levels) != len(factors) {
			return Invalidf("arms", "give each arm one level of each factor", "arm %s states %d levels of %d factors", a.Name, len(a.Levels), len(factors))
		}
		for k := range factors {
			if t.LevelOf(a, k) < 0 {
				return Invalidf("arms", "choose one of "+strings.Join(factors[k].Levels, ", "), "arm %s has %s at %q", a.Name, factors[k].Name, figure.Clip(a.Levels[k], 40))
			}
		}
		key := NameKey(strings.Join(a.Levels, "\x00"))
		if seen[key] {
			return Invalidf("arms", "give each arm its own combination of levels", "two arms are %s", strings.Join(a.Levels, ", "))
		}
		seen[key] = true
	}
	return nil
}

// moved puts a Problem at another field.
func moved(field string, err error) error {
	p, ok := AsProblem(err)
	if !ok {
		return err
	}
	q := *p
	q.Field = field
	return &q
}
