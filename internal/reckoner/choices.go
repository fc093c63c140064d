package reckoner

import (
	"reflect"
	"slices"

	"github.com/google/jsonschema-go/jsonschema"

	"pinset/internal/calc/pool"
	"pinset/internal/calc/substrate"
	"pinset/internal/calc/thermal"
	"pinset/internal/calc/trialstat"
)

// choice is a key whose values are fixed words.
type choice struct {
	in    reflect.Type // the object that holds the key
	key   string
	words []string
}

// choices lists the keys that take fixed words. Of a list they are the words
// that each item may be.
var choices = []choice{
	{reflect.TypeFor[thermal.CookInput](), "cool", []string{"natural", "fast"}},
	{reflect.TypeFor[thermal.CookInput](), "lid", lids},
	{reflect.TypeFor[thermal.CookInput](), "mode", modes},
	{reflect.TypeFor[thermal.HoldInput](), "lid", lids},
	{reflect.TypeFor[thermal.HoldInput](), "mode", modes},
	{reflect.TypeFor[thermal.CalibrateInput](), "lid", lids},
	{reflect.TypeFor[thermal.CalibrateInput](), "mode", modes},
	{reflect.TypeFor[thermal.CalibrateInput](), "fit", []string{"multiplier", "surface"}},
	{reflect.TypeFor[thermal.Container](), "shape", shapes},
	{reflect.TypeFor[thermal.Container](), "material", []string{"glass", "borosilicate", "polypropylene", "steel"}},
	{reflect.TypeFor[thermal.HeldMark](), "event", []string{"reached", "lost", "back", "heat_off"}},
	{reflect.TypeFor[substrate.Container](), "shape", shapes},
	{reflect.TypeFor[substrate.Mix](), "percent_of", []string{"weight", "dry"}},
	{reflect.TypeFor[substrate.SolveInput](), "for", []string{"moisture_pct", "cn", "n_pct_of_dry"}},
	{reflect.TypeFor[trialstat.PowerInput](), "scale", []string{"grams", "log"}},
	{reflect.TypeFor[trialstat.CompareInput](), "arms_differ_in", []string{"recipe", "culture", "container", "treatment"}},
	{reflect.TypeFor[trialstat.CompareInput](), "primary", trialstat.Primaries},
	{reflect.TypeFor[trialstat.CompareInput](), "unit", trialstat.Units},
	{reflect.TypeFor[trialstat.CompareFactor](), "on", trialstat.Units},
	{reflect.TypeFor[trialstat.CompareRow](), "fate", []string{"picked", "barren", "lost", "growing", "spent"}},
	{reflect.TypeFor[pool.PoolInput](), "scale", []string{"ratio", "percent", "difference"}},
}

var (
	lids   = []string{"wet", "vented", "tight"}
	modes  = []string{"cake", "loose", "liquid"}
	shapes = []string{"cylinder", "block"}
)

// offer writes the choices into s, the schema of t, and into all below it.
func offer(s *jsonschema.Schema, t reflect.Type) {
	t = bare(t)
	switch {
	case s == nil:
	case t.Kind() == reflect.Slice:
		offer(s.Items, t.Elem())
	case t.Kind() == reflect.Map:
		offer(s.AdditionalProperties, t.Elem())
	case t.Kind() == reflect.Struct:
		for key, ft := range jsonFields(t) {
			if p := s.Properties[key]; p != nil {
				one(p).Enum = wordsOf(t, key)
				offer(p, ft)
			}
		}
	}
}

// one returns what a single value of p is: of a list, an item.
func one(p *jsonschema.Schema) *jsonschema.Schema {
	if p.Items != nil {
		return p.Items
	}
	return p
}

// wordsOf returns the fixed words of a key in an object of type t, nil if it
// takes others too.
func wordsOf(t reflect.Type, key string) []any {
	i := slices.IndexFunc(choices, func(c choice) bool { return c.in == t && c.key == key })
	if i < 0 {
		return nil
	}
	var words []any
	for _, w := range choices[i].words {
		words = append(words, w)
	}
	return words
}
