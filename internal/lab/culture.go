package lab

import "slices"

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
	Note    string
}

// Check returns c with its texts tidied, or an Invalid Problem.
func (c Culture) Check() (Culture, error) {
	var err error
	if c.Name, err = Name("culture", c.Name); err != nil {
		return Culture{}, err
	}
	if !slices.Contains(Forms, c.Form) {
		return Culture{}, Invalidf("form", "choose LC, plate, slant, syringe, grain or print", "%q is not a form of culture", clip(string(c.Form), 40))
	}
	if c.Parent != "" && c.Parent == c.ID {
		return Culture{}, Invalidf("parent", "name the culture that it was taken from", "%s can not be its own parent", c.Name)
	}
	c.Note, err = Text("note", c.Note)
	return c, err
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
