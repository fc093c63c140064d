package lab

import (
	"slices"
	"strings"
	"time"
)

// Guest is a trial that was not run at this farm: a friend's package that was
// judged again, or figures that were printed somewhere. It makes no batch, jar,
// culture or lot: all that it may do is stand beside the farm's own trials when
// they are added up, told apart from them.
type Guest struct {
	Entry
	Name      string // what the trial is called
	From      string // the farm that wrote it, or where it was printed
	Kind      GuestKind
	Question  string
	Sentence  string    // of its verdict, as computed here
	Made      time.Time // when the package was written; zero for figures in print
	Version   string    // of the computation that judged it there
	Hash      string    // SHA-256 of the package, or of the figures as typed
	DataHash  string    // SHA-256 of the jars that were judged, "" for figures in print
	Jars      int       // that were judged; 0 for figures in print
	Arms      []GuestArm
	Contrasts []Contrast
}

// GuestKind says how a guest came in.
type GuestKind string

// The kinds of guests.
const (
	FromPackage GuestKind = "package" // a package, verified here
	FromPrint   GuestKind = "print"   // typed in from print; nothing can be computed again
)

// Words says how it came in.
func (k GuestKind) Words() string {
	if k == FromPrint {
		return "typed in from print"
	}
	return "a package, judged again here"
}

// GuestArm is what one arm of a guest came to.
type GuestArm struct {
	Name      string   `json:"name"`
	Recipe    string   `json:"recipe,omitempty"`
	Culture   string   `json:"culture,omitempty"`
	Container string   `json:"container,omitempty"`
	Treatment string   `json:"treatment,omitempty"`
	Jars      int      `json:"jars"`           // inoculated
	Mean      *float64 `json:"mean,omitempty"` // of what decided; nil if not known
	SD        *float64 `json:"sd,omitempty"`
}

// Contrast is what one arm gave against another, as it can be put beside the
// same contrast of other trials.
type Contrast struct {
	Sides   []Side     `json:"sides"`   // what the two differ in; none if it can not be said
	Outcome string     `json:"outcome"` // one of Outcomes
	Ratio   bool       `json:"ratio"`   // the figures are a ratio; else points of a hundred jars
	Value   float64    `json:"value"`
	Low     float64    `json:"low"` // 95 % interval
	High    float64    `json:"high"`
	Means   [2]float64 `json:"means"` // of the two, 0 if not known
	Jars    [2]int     `json:"jars"`  // that the figures rest on
	// Not says why it can not be added up, "" if it can. There are no figures then.
	Not string `json:"not,omitempty"`
}

// Side is one thing that two arms differ in.
type Side struct {
	Is     Factor `json:"is"`
	Factor string `json:"factor,omitempty"` // its own name in a crossing, such as "broth"
	This   string `json:"this"`             // what the first arm has
	Than   string `json:"than"`             // what the second has
}

// Turned is c seen from the other arm.
func (c Contrast) Turned() Contrast {
	c.Sides = slices.Clone(c.Sides)
	for i, s := range c.Sides {
		c.Sides[i].This, c.Sides[i].Than = s.Than, s.This
	}
	c.Means[0], c.Means[1] = c.Means[1], c.Means[0]
	c.Jars[0], c.Jars[1] = c.Jars[1], c.Jars[0]
	switch {
	case c.Not != "":
	case c.Ratio:
		c.Value, c.Low, c.High = 1/c.Value, 1/c.High, 1/c.Low
	default:
		c.Value, c.Low, c.High = -c.Value, -c.High, -c.Low
	}
	return c
}

// This and Than name what is compared: "millet", "oats and LC-2".
func (c Contrast) This() string { return c.named(func(s Side) string { return s.This }) }

// Than names what This is set against.
func (c Contrast) Than() string { return c.named(func(s Side) string { return s.Than }) }

func (c Contrast) named(of func(Side) string) string {
	var parts []string
	for _, s := range c.Sides {
		parts = append(parts, of(s))
	}
	return strings.Join(parts, " and ")
}

// Check returns g tidied, or an Invalid Problem.
func (g Guest) Check() (Guest, error) {
	var err error
	if g.Name, err = Name("name", g.Name); err != nil {
		return g, err
	}
	if g.From, err = Text("source", g.From); err != nil {
		return g, err
	}
	if g.From == "" {
		return g, Invalidf("source", "write the farm, or author, year and where it was printed", "nothing says where %s is from", g.Name)
	}
	if g.Question, err = Text("question", g.Question); err != nil {
		return g, err
	}
	for i := range g.Contrasts {
		for _, s := range g.Contrasts[i].Sides {
			if NameKey(s.This) == NameKey(s.Than) {
				return g, Invalidf("than", "name the other", "%s can not be set against itself", s.This)
			}
		}
	}
	return g, nil
}
