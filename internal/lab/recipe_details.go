package lab

import (
	"slices"
	"strings"

	"pinset/internal/figure"
)

// Route is how a recipe comes into the vessel.
type Route string

// The routes.
const (
	DryAndBroth Route = "dry grain and broth" // both go into the jar, and all of both stays
	Soaked      Route = "soaked or simmered"  // grain takes up water, the rest is drained off
	Block       Route = "block"               // wood or straw, wetted, in a bag
	AgarPlates  Route = "agar"
	LCRoute     Route = "LC"
)

// Routes lists the routes in the order that pages offer them.
var Routes = []Route{DryAndBroth, Soaked, Block, AgarPlates, LCRoute}

// Details are what else is known of a recipe.
type Details struct {
	Route    Route    `json:"route,omitempty"`
	Species  string   `json:"species,omitempty"`   // that it is meant for
	PHBefore *float64 `json:"ph_before,omitempty"` // of the mix, before the cook
	PHAfter  *float64 `json:"ph_after,omitempty"`  // after it
	LC       string   `json:"lc,omitempty"`        // liquid culture into one vessel, as typed

	// Of soaked grain, as typed: dry grain in, drained grain out. Moisture
	// follows from the masses.
	SoakDry     string  `json:"soak_dry,omitempty"`
	SoakDrained string  `json:"soak_drained,omitempty"`
	Lots        []LotOf `json:"lots,omitempty"`
}

// LotOf ties an ingredient of a recipe to one delivery of it.
type LotOf struct {
	Ingredient string          `json:"ingredient"`
	Lot        IngredientLotID `json:"lot"`
}

func (d Details) check() (Details, error) {
	if d.Route != "" && !slices.Contains(Routes, d.Route) {
		return d, Invalidf("route", "choose one of the list, or leave it open", "%q is not a route", figure.Clip(string(d.Route), 40))
	}
	if d.Species = strings.TrimSpace(d.Species); d.Species != "" {
		var err error
		if d.Species, err = Name("species", d.Species); err != nil {
			return d, err
		}
	}
	for _, x := range []struct {
		field string
		ph    *float64
	}{{"ph_before", d.PHBefore}, {"ph_after", d.PHAfter}} {
		if x.ph != nil && !(*x.ph >= 0 && *x.ph <= 14) {
			return d, Invalidf(x.field, "write a pH from 0 to 14, such as 6.5", "pH %g can not be", *x.ph)
		}
	}
	for _, t := range []*string{&d.LC, &d.SoakDry, &d.SoakDrained} {
		var err error
		if *t, err = Text("recipe", *t); err != nil {
			return d, err
		}
	}
	if (d.SoakDry == "") != (d.SoakDrained == "") {
		return d, Invalidf("soak_drained", "weigh the grain dry and again when it is drained", "the moisture of soaked grain follows from two weighings, one is given")
	}
	return d, nil
}
