// Package reckoner is the calculators: each takes one JSON object with units
// in its keys and returns result, cautions and working. They need no records.
package reckoner

import (
	"fmt"
	"reflect"
	"slices"
	"strings"

	"github.com/google/jsonschema-go/jsonschema"

	"pinset/internal/calc/forecast"
	"pinset/internal/calc/growth"
	"pinset/internal/calc/planning"
	"pinset/internal/calc/pool"
	"pinset/internal/calc/steam"
	"pinset/internal/calc/substrate"
	"pinset/internal/calc/survive"
	"pinset/internal/calc/thermal"
	"pinset/internal/calc/trialstat"
	"pinset/internal/figure"
	"pinset/internal/lab"
	"pinset/internal/nearest"
)

// Calculator is one calculator of the Reckoner. It needs no records.
type Calculator struct {
	Name  string // as in "pinset calc NAME" and /reckoner/NAME
	Title string
	Does  string // one sentence

	in  reflect.Type
	run func([]byte) (any, error)
}

// calculators lists what can be computed, in the order of a season.
var calculators = []Calculator{
	calculator("substrate", "What a jar holds", "Weighs a recipe out: masses, moisture, C:N and broth of each jar and of the batch.", substrate.Substrate),
	calculator("solve", "Meet a target", "Finds the water or the supplement that meets a moisture, C:N or nitrogen target.", substrate.Solve),
	calculator("scale", "How far it goes", "Finds how many jars the last sack, a mass of substrate or a volume of broth fills.", substrate.Scale),
	calculator("soak", "Soaked grain", "Gives the moisture of grain that is soaked or simmered and drained, by mass.", substrate.Soak),
	calculator("audit", "A recipe found elsewhere", "Adds a recipe up and says whether it is what it claims to be.", substrate.Audit),
	calculator("cheapest", "Cheapest mix", "Finds the cheapest mix within bounds and names the bound that costs most.", substrate.Cheapest),
	calculator("steam", "Pressure and temperature", "Turns a gauge reading at an altitude into the temperature of steam, and back.", steam.Steam),
	calculator("lethality", "Lethality of a record", "Integrates a temperature record to minutes at a reference temperature.", thermal.Lethality),
	calculator("hold", "How long to hold", "Turns a hold rule for one pot and altitude into the hold for another.", thermal.Hold),
	calculator("cook", "What the core gets", "Models the heat in a jar or block through a cook and gives its core, low, best and high.", thermal.Cook),
	calculator("calibrate", "Fit a logger's record", "Fits the cook model to what a probe in a jar recorded, for that jar and pot from then on.", thermal.Calibrate),
	calculator("held", "Did the hold hold?", "Finds the longest unbroken stretch of a hold in the marks of a cook.", thermal.Held),
	calculator("water", "Water for the cook", "Says how much water to pour so that the pot does not run dry.", thermal.Water),
	calculator("load", "Loads of the cooker", "Parts jars into cooks, layers and rounds over a day.", thermal.Load),
	calculator("cool", "When it is cool", "Says from two readings when a jar is cool enough to inoculate.", thermal.Cool),
	calculator("dose", "How far the LC goes", "Counts the jars that a liquid culture serves, and when the next must be begun.", planning.Dose),
	calculator("power", "Jars for a comparison", "Says what a comparison of so many jars can show, and how many it takes.", trialstat.Power),
	calculator("compare", "Compare arms", "Judges a comparison jar by jar, with its interval and what would settle it.", trialstat.Compare),
	calculator("yields", "Yields from totals", "Gives grams per jar, shares and biological efficiency from totals, and says what totals can not show.", trialstat.Yields),
	calculator("fouled", "Who fouled it?", "Finds what fouled jars have in common: cook, culture, layer, making, person, lot, shelf or day.", trialstat.Fouled),
	calculator("stages", "When a stage comes", "Says from visits when jars came to a stage, and how many times as long one arm takes as another.", survive.Stages),
	calculator("forecast", "When the next stage is due", "Says from published days and own batches when a stage will come.", forecast.Days),
	calculator("grow", "How a jar covers", "Fits a curve to the cover of each jar and says how much sooner one arm is half covered.", growth.Grow),
	calculator("pool", "What trials add up to", "Adds the same comparison up over cooks, trials and seasons, and says what the next grow may show.", pool.Pool),
}

// calculator makes a calculator of compute, which must be pure.
func calculator[In, Out any](name, title, does string, compute func(In) (figure.Answer[Out], error)) Calculator {
	return Calculator{
		Name: name, Title: title, Does: does, in: reflect.TypeFor[In](),
		run: func(raw []byte) (any, error) {
			var in In
			if err := Decode(raw, &in); err != nil {
				return nil, err
			}
			answer, err := compute(in)
			if err != nil {
				return nil, err
			}
			if answer.Cautions == nil {
				answer.Cautions = []figure.Caution{}
			}
			if answer.Working == nil {
				answer.Working = []figure.Step{}
			}
			return answer, nil
		},
	}
}

// All lists the calculators in the order of a season.
func All() []Calculator { return slices.Clone(calculators) }

// Named returns the calculator called name, or a NotFound Problem
// that names the nearest one.
func Named(name string) (Calculator, error) {
	var names []string
	for _, c := range calculators {
		if c.Name == name {
			return c, nil
		}
		names = append(names, c.Name)
	}
	mend := "choose one of " + strings.Join(names, ", ")
	if near, ok := nearest.Word(name, names); ok {
		mend = "did you mean " + near + "?"
	}
	return Calculator{}, lab.NotFoundf(mend, "there is no calculator called %q", name)
}

// Calculate computes from in, one JSON object with the calculator's keys.
// What it returns marshals to {"result", "cautions", "working"}. Bad input
// is an Invalid Problem or a figure.Fault.
func (c Calculator) Calculate(in []byte) (any, error) { return c.run(in) }

// ownSchemas describes the types that read themselves from JSON.
var ownSchemas = map[reflect.Type]*jsonschema.Schema{
	reflect.TypeFor[substrate.Reserve](): {
		AnyOf: []*jsonschema.Schema{{Type: "number"}, {Type: "object", AdditionalProperties: &jsonschema.Schema{Type: "number"}}},
	},
	reflect.TypeFor[trialstat.Label](): {Types: []string{"string", "number", "null"}},
	reflect.TypeFor[trialstat.Flag]():  {Types: []string{"boolean", "integer", "null"}},
}

// Schema returns the JSON Schema of what the calculator takes.
func (c Calculator) Schema() (*jsonschema.Schema, error) {
	s, err := jsonschema.ForType(c.in, &jsonschema.ForOptions{IgnoreInvalidTypes: true, TypeSchemas: ownSchemas})
	if err != nil {
		return nil, fmt.Errorf("schema of %s: %w", c.Name, err)
	}
	offer(s, c.in)
	s.Title, s.Description = c.Title, c.Does
	return s, nil
}
