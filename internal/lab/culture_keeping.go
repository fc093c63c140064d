package lab

import (
	"slices"

	"pinset/internal/figure"
	"pinset/internal/units"
)

// Kept is what was done to keep a culture, or was found out about it.
type Kept string

// The ways of keeping a culture.
const (
	Tested  Kept = "tested"  // streaked on agar or held in broth: clean or not
	Stored  Kept = "stored"  // put away
	Drawn   Kept = "drawn"   // taken out for other than jars
	Fruited Kept = "fruited" // proof from before these records, or from elsewhere
	Ended   Kept = "ended"   // used up or thrown away
)

// AllKept lists them in the order that pages offer them.
var AllKept = []Kept{Tested, Stored, Drawn, Fruited, Ended}

// Finding is what a test of a culture showed.
type Finding string

// The findings of a test.
const (
	Clean Finding = "clean"
	Dirty Finding = "dirty"
)

// Storage is how a culture is put away.
type Storage string

// The ways of storage.
const (
	AtRoom      Storage = "room"         // at the temperature of the room
	InFridge    Storage = "fridge"       // about 4 °C
	InWater     Storage = "water"        // in sterile water
	InFreezer   Storage = "freezer"      // about -80 °C, with glycerol
	InNitrogen  Storage = "nitrogen"     // in liquid nitrogen
	FreezeDried Storage = "freeze-dried" // sealed under vacuum
	DriedGrain  Storage = "dried grain"  // grown through and dried
)

// Storages lists the ways of storage in the order that pages offer them.
var Storages = []Storage{InFridge, AtRoom, InWater, DriedGrain, InFreezer, FreezeDried, InNitrogen}

// Label says the way of storage as pages do.
func (s Storage) Label() string {
	switch s {
	case AtRoom:
		return "at room temperature"
	case InFridge:
		return "in the fridge, about 4 °C"
	case InWater:
		return "in sterile water"
	case InFreezer:
		return "in the freezer, about -80 °C"
	case InNitrogen:
		return "in liquid nitrogen"
	case DriedGrain:
		return "on dried grain"
	}
	return string(s)
}

// Keeping is one entry on a culture.
type Keeping struct {
	Entry
	Culture CultureID
	Kept    Kept
	Finding Finding          // of Tested
	Storage Storage          // of Stored
	Amount  units.Millilitre // of Drawn
	Note    string           // where it is stored, what it was drawn for, what it fruited, why it ended
}

// Check returns k with its note tidied and what does not belong to it left
// out, or an Invalid Problem.
func (k Keeping) Check() (Keeping, error) {
	if !slices.Contains(AllKept, k.Kept) {
		return Keeping{}, Invalidf("kept", "choose tested, stored, drawn, fruited or ended", "%q is nothing that is done to a culture", figure.Clip(string(k.Kept), 40))
	}
	if k.Kept == Tested && k.Finding != Clean && k.Finding != Dirty {
		return Keeping{}, Invalidf("finding", "say clean or dirty", "the test says nothing")
	}
	if k.Kept == Stored && !slices.Contains(Storages, k.Storage) {
		return Keeping{}, Invalidf("storage", "choose how it is put away", "%q is no way of storage", figure.Clip(string(k.Storage), 40))
	}
	if k.Kept == Drawn && !(k.Amount > 0 && k.Amount <= maxLC) {
		return Keeping{}, Invalidf("amount", "write what was taken out, such as 5 mL", "%g mL can not be drawn", float64(k.Amount))
	}
	if k.Kept != Tested {
		k.Finding = ""
	}
	if k.Kept != Stored {
		k.Storage = ""
	}
	if k.Kept != Drawn {
		k.Amount = 0
	}
	var err error
	k.Note, err = Text("note", k.Note)
	return k, err
}

// maxLC bounds a volume of liquid culture: 1 m³.
const maxLC units.Millilitre = 1e6

// CultureStanding is what the entries on a culture come to. A Keeping with an
// empty ID stands for nothing of the kind.
type CultureStanding struct {
	Test    Keeping // the latest
	Store   Keeping // the latest
	Fruit   Keeping // the latest proof that is entered here
	End     Keeping
	DrawnML units.Millilitre // in all, without what went into jars
}

// Stand derives the standing of a culture from its entries, corrected ones
// included, in any order.
func (c Culture) Stand(entries []Keeping) CultureStanding {
	var s CultureStanding
	for _, k := range Current(entries) {
		if k.Culture != c.ID {
			continue
		}
		switch k.Kept {
		case Tested:
			s.Test = latest(s.Test, k)
		case Stored:
			s.Store = latest(s.Store, k)
		case Fruited:
			s.Fruit = latest(s.Fruit, k)
		case Ended:
			s.End = latest(s.End, k)
		case Drawn:
			s.DrawnML += k.Amount
		}
	}
	return s
}

func latest(a, b Keeping) Keeping {
	if a.ID == "" || a.before(b.Entry) {
		return b
	}
	return a
}
