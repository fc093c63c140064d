package trialstat

import (
	"math"

	"pinset/internal/figure"
)

// The primaries: what of a jar decides.
const (
	PerInoculated = "inoculated" // grams; lost and barren jars count 0 g
	PerPicked     = "picked"     // grams of picked jars only
	ByFruited     = "fruited"    // whether the jar fruited
	ByClean       = "clean"      // whether the jar was kept, not lost
	ByCount       = "count"      // pins or fruit bodies; lost and barren jars count 0
	ByScore       = "score"      // an ordered score, such as colour from 0 to 4
)

// Primaries lists them in the order in which they are offered.
var Primaries = []string{PerInoculated, PerPicked, ByFruited, ByClean, ByCount, ByScore}

// outcome is a primary.
type outcome string

// means reports whether arms are compared by means within places.
func (o outcome) means() bool { return !o.share() && o != ByScore }

// share reports whether a jar did or did not.
func (o outcome) share() bool { return o == ByFruited || o == ByClean }

// unit is what a figure of the outcome is of.
func (o outcome) unit() string {
	switch o {
	case ByFruited:
		return "% of jars that fruited"
	case ByClean:
		return "% of jars kept clean"
	case ByCount:
		return "counted per jar inoculated"
	case ByScore:
		return "score"
	}
	return "g per jar " + string(o)
}

// gram is the unit behind a difference of means.
func (o outcome) gram() string {
	if o == ByCount {
		return ""
	}
	return " g"
}

// figure is what is read off a jar.
func (o outcome) figure() string {
	switch o {
	case PerInoculated, PerPicked:
		return "weight"
	case ByCount:
		return "count"
	}
	return "figure"
}

// matter is the unit of the difference that matters.
func (o outcome) matter() string {
	switch {
	case o.share():
		return "points"
	case o == ByScore:
		return "points of a hundred pairs"
	}
	return "%"
}

// did says what a share is of: "fruited", "stayed clean".
func (o outcome) did() string {
	if o == ByClean {
		return "stayed clean"
	}
	return "fruited"
}

// lacks says what a picked jar without a figure is without.
func (o outcome) lacks() (without, mend string) {
	switch o {
	case ByCount:
		return "a count", "count it"
	case ByScore:
		return "a score", "score it"
	}
	return "a weight", "weigh what was picked"
}

// scale is one way to count jars: which rows take part, and their figures.
type scale struct {
	per   string
	rows  []int
	grams []float64
}

// scale collects the rows that have a figure of an outcome.
func (s *sheet) scale(per string) scale {
	out := scale{per: per}
	for i := range s.rows {
		if v := s.figure(i, per); !math.IsNaN(v) {
			out.rows, out.grams = append(out.rows, i), append(out.grams, v)
		}
	}
	return out
}

// figure is what a row gives of an outcome, NaN where it has none. A growing jar has
// none, nor has a picked one that was not weighed.
func (s *sheet) figure(i int, per string) float64 {
	if s.made != nil {
		return s.made[per][i]
	}
	r, f := s.rows[i], s.fates[i]
	if f == growing {
		return math.NaN()
	}
	gave := f == picked
	switch per {
	case ByFruited:
		return hundredIf(gave)
	case ByClean:
		return hundredIf(f != lost)
	case ByScore:
		return orNaN(r.Score)
	case ByCount:
		return zeroUnless(gave, r.Count)
	case PerPicked:
		if !gave {
			return math.NaN()
		}
	}
	return zeroUnless(gave, r.Value)
}

func hundredIf(yes bool) float64 {
	if yes {
		return 100
	}
	return 0
}

func orNaN(x *float64) float64 {
	if x == nil {
		return math.NaN()
	}
	return *x
}

// zeroUnless is the figure of a jar that was picked, and 0 of one that gave nothing.
func zeroUnless(gave bool, x *float64) float64 {
	if !gave {
		return 0
	}
	return orNaN(x)
}

// primaryOf reads a primary.
func primaryOf(word string) (outcome, error) {
	if word == "" {
		return PerInoculated, nil
	}
	for _, p := range Primaries {
		if word == p {
			return outcome(p), nil
		}
	}
	return "", figure.Faultf("primary", "write inoculated, picked, fruited, clean, count or score", "jars can not be judged by %q", brief(word))
}
