package lab

import (
	"slices"

	"pinset/internal/figure"
)

// Lid is how the top of a vessel lets steam in and air out.
type Lid string

// Lids lists the ways of a lid in the order that pages offer them.
var Lids = []Lid{"vented", "filter", "foil", "tight", "open"}

// ParseLid reads a lid as typed.
func ParseLid(typed string) (Lid, error) {
	l := Lid(NameKey(typed))
	if !slices.Contains(Lids, l) {
		return "", Invalidf("lid", "write vented (a hole, or screwed loose), filter, foil, tight or open", "%q is not a way for a lid to vent", figure.Clip(typed, 40))
	}
	return l, nil
}

// Label says a lid in words that follow a comma.
func (l Lid) Label() string {
	switch l {
	case "vented":
		return "vented lid"
	case "filter":
		return "lid with a filter"
	case "foil":
		return "under foil"
	case "tight":
		return "tight lid"
	case "open":
		return "open"
	}
	return ""
}

// ContainerLid is what somebody said of the lid of a container.
type ContainerLid struct {
	Entry
	Container ContainerID
	Lid       Lid
}

// LidsNow returns what is said now of the lids of containers.
func LidsNow(all []ContainerLid) map[ContainerID]Lid {
	out := make(map[ContainerID]Lid)
	for _, l := range Current(all) {
		out[l.Container] = l.Lid
	}
	return out
}
