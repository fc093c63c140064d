package lab

import (
	"slices"

	"pinset/internal/figure"
	"pinset/internal/units"
)

// ContainerKind is the sort of vessel.
type ContainerKind string

// ContainerKinds lists the sorts of vessel in the order that pages offer them.
var ContainerKinds = []ContainerKind{"jar", "bottle", "bag", "tub", "plate"}

// Container is a kind of vessel. Measures of 0 are not known.
type Container struct {
	ID     ContainerID
	Name   string // such as "half-litre jar", unique
	Kind   ContainerKind
	Volume units.Millilitre // brim-full
	Bore   units.Millimetre // inner diameter
	Height units.Millimetre // inner height
	Note   string
}

// Check returns c with its texts tidied, or an Invalid Problem.
func (c Container) Check() (Container, error) {
	var err error
	if c.Name, err = Name("container", c.Name); err != nil {
		return Container{}, err
	}
	if !slices.Contains(ContainerKinds, c.Kind) {
		return Container{}, Invalidf("kind", "choose jar, bottle, bag, tub or plate", "%q is not a kind of container", figure.Clip(string(c.Kind), 40))
	}
	for _, m := range []struct {
		field string
		v, hi float64
		unit  string
	}{
		{"volume", float64(c.Volume), 100000, "mL"},
		{"bore", float64(c.Bore), 1000, "mm"},
		{"height", float64(c.Height), 1000, "mm"},
	} {
		if !(m.v >= 0 && m.v <= m.hi) {
			return Container{}, Invalidf(m.field, "measure it again", "a %s of %g %s is out of the range 0 to %g %s", m.field, m.v, m.unit, m.hi, m.unit)
		}
	}
	c.Note, err = Text("note", c.Note)
	return c, err
}
