package lab

import (
	"fmt"
	"slices"

	"pinset/internal/figure"
	"pinset/internal/units"
)

// Form is the shape a culture is kept in.
type Form string

// The forms of cultures.
const (
	Plate   Form = "plate"
	Slant   Form = "slant"
	LC      Form = "LC" // liquid culture
	Syringe Form = "syringe"
	Grain   Form = "grain" // grain spawn
	Print   Form = "print" // spore print
	Unsaid  Form = "not said"
)

// Forms lists the forms of cultures in the order that pages offer them.
var Forms = []Form{LC, Plate, Slant, Syringe, Grain, Print, Unsaid}

// Culture is one living item that jars are inoculated from.
type Culture struct {
	ID      CultureID
	Name    string // such as "LC-3", unique
	Form    Form
	Strain  string
	Species string
	Parent  CultureID // "" if it came from outside
	Made    When
	Medium  RecipeVersionID // what it grows on, "" if not said
	Jar     JarID           // the jar that it also is, "" if none
	Details CultureDetails
	Note    string
}

// CultureDetails is what else is known of a culture.
type CultureDetails struct {
	Source     string           `json:"source,omitempty"`     // who gave or sold it
	Generation *int             `json:"generation,omitempty"` // transfers since the master, as told; else it follows from the parent
	Volume     units.Millilitre `json:"volume_ml,omitempty"`  // when it was made, 0 not known
	Typed      string           `json:"volume_typed,omitempty"`
}

// maxTransfers bounds what can be told of a line: nobody counts on.
const maxTransfers = 1000

// check returns an Invalid Problem for what can not be.
func (d CultureDetails) check() error {
	if g := d.Generation; g != nil && (*g < 0 || *g > maxTransfers) {
		return Invalidf("generation", "count the transfers since the master, which is 0", "%d transfers can not be", *g)
	}
	if !(d.Volume >= 0 && d.Volume <= maxLC) {
		return Invalidf("volume", "write what the vessel holds, such as 600 mL", "a culture can not hold %g mL", float64(d.Volume))
	}
	return nil
}

// Check returns c with its texts tidied, or an Invalid Problem.
func (c Culture) Check() (Culture, error) {
	var err error
	if c.Name, err = Name("culture", c.Name); err != nil {
		return Culture{}, err
	}
	if !slices.Contains(Forms, c.Form) {
		return Culture{}, Invalidf("form", "choose LC, plate, slant, syringe, grain or print", "%q is not a form of culture", figure.Clip(string(c.Form), 40))
	}
	if c.Parent != "" && c.Parent == c.ID {
		return Culture{}, Invalidf("parent", "name the culture that it was taken from", "%s can not be its own parent", c.Name)
	}
	if c.Details.Source, err = Text("source", c.Details.Source); err != nil {
		return Culture{}, err
	}
	if err := c.Details.check(); err != nil {
		return Culture{}, err
	}
	c.Note, err = Text("note", c.Note)
	return c, err
}

// From returns an Invalid Problem if c can not have been taken from parent.
func (c Culture) From(parent Culture) error {
	if c.Made.Exactness != Unknown && parent.Made.Exactness != Unknown && !c.Made.IsZero() && c.Made.Time.Before(parent.Made.Time.AddDate(0, 0, -1)) {
		return Invalidf("made", "check both days, or name another parent", "%s would be older than %s that it was taken from, made on %s",
			c.Name, parent.Name, parent.Made.Time.Format("2 January 2006"))
	}
	if g, p := c.Details.Generation, parent.Details.Generation; g != nil && p != nil && *g != *p+1 {
		return Invalidf("generation", fmt.Sprintf("leave it blank, and it is %d", *p+1), "%s is transfer %d, what is taken from it can not be %d", parent.Name, *p, *g)
	}
	return nil
}

// Generations returns how many transfers lie between each culture and its
// master, where that is known: as told, else one more than its parent's. A
// line that loops, which only a damaged file can hold, is left unknown.
func Generations(all []Culture) map[CultureID]int {
	byID := make(map[CultureID]Culture, len(all))
	for _, c := range all {
		byID[c.ID] = c
	}
	out := make(map[CultureID]int, len(all))
	for _, c := range all {
		steps := 0
		for x := c; steps <= len(all); steps++ {
			if g := x.Details.Generation; g != nil {
				out[c.ID] = *g + steps
				break
			}
			parent, ok := byID[x.Parent]
			if !ok {
				break
			}
			x = parent
		}
	}
	return out
}

// Means is what a jar was inoculated with.
type Means string

// The means of inoculation.
const (
	ByLC     Means = "LC"
	ByAgar   Means = "agar"
	ByGrain  Means = "grain"
	BySpores Means = "spores"
)

// AllMeans lists the means in the order that pages offer them.
var AllMeans = []Means{ByLC, ByAgar, ByGrain, BySpores}

// MeansOf returns the means that a culture of form f gives.
func MeansOf(f Form) Means {
	switch f {
	case Plate, Slant:
		return ByAgar
	case Grain:
		return ByGrain
	case Print:
		return BySpores
	}
	return ByLC
}
