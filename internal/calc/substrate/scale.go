package substrate

import (
	"cmp"
	"maps"
	"math"
	"slices"

	"pinset/internal/figure"
)

// ScaleInput asks how many jars a recipe fills, by one of three bounds.
type ScaleInput struct {
	Recipe     Recipe             `json:"recipe" jsonschema:"the mixes, and what of each goes into a jar"`
	ReservePct *Reserve           `json:"reserve_pct,omitempty" jsonschema:"more to make than the jars take, in % of every made-up mix or of each; none if left out"`
	Have       map[string]float64 `json:"have_g,omitempty" jsonschema:"grams at hand of ingredients, spelt as in the recipe, such as the last sack"`
	TotalG     *float64           `json:"total_g,omitempty" jsonschema:"grams of all substrate to be filled, such as bags together"`
	VolumeML   map[string]float64 `json:"volume_ml,omitempty" jsonschema:"millilitres at hand of mixes, by name, such as broth"`
}

// ScaleResult is how far it goes.
type ScaleResult struct {
	Jars    int      `json:"jars"`    // that can be filled whole
	Exact   float64  `json:"exact"`   // jars with the last one in part
	Limits  string   `json:"limits"`  // what runs out first
	LeftG   *float64 `json:"left_g"`  // of it, after Jars are filled; nil if it is a volume
	LeftML  *float64 `json:"left_ml"` // of it, where it is a volume
	PerJarG float64  `json:"per_jar_g"`
}

// limit is one bound on the number of jars.
type limit struct {
	name       string
	have, each float64
	volume     bool
}

// Scale finds how many jars the last sack, a mass of substrate or a volume of
// broth fills, with the reserve, and what runs out first. All bounds that are
// given hold.
//
// Source: mass balance; everything is proportional to the jars.
func Scale(in ScaleInput) (figure.Answer[ScaleResult], error) {
	var none figure.Answer[ScaleResult]
	b, err := plan(SubstrateInput{Recipe: in.Recipe, Jars: 1, ReservePct: in.ReservePct})
	if err != nil {
		return none, err
	}
	one := b.answer()
	limits, err := in.limits(one.Result)
	if err != nil {
		return none, err
	}
	if len(limits) == 0 {
		return none, figure.Faultf("have_g", "write what is at hand of an ingredient, a total mass or a volume of a mix", "nothing bounds the number of jars")
	}
	slices.SortStableFunc(limits, func(a, b limit) int { return cmp.Compare(a.have/a.each, b.have/b.each) })
	l := limits[0]
	exact := l.have / l.each
	if !(exact <= maxJars) {
		return none, figure.Faultf("have_g", "check the numbers and their units", "%s is enough for %.4g jars, up to %d are planned", l.name, exact, maxJars)
	}
	jars := math.Floor(exact * (1 + 1e-12)) // 12 jars of 50 g from 600 g, whatever 50/1000 rounds to
	r := ScaleResult{Jars: int(jars), Exact: exact, Limits: l.name, PerJarG: one.Result.PerJar.WetG}
	left := math.Max(0, l.have-jars*l.each)
	if l.volume {
		r.LeftML = &left
	} else {
		r.LeftG = &left
	}
	return figure.Answer[ScaleResult]{Result: r, Cautions: one.Cautions, Working: []figure.Step{
		{Step: "jars from " + l.name, Formula: "at hand / needed for one jar with the reserve", Value: exact, Unit: "jars", Source: massBalance},
	}}, nil
}

func (in ScaleInput) limits(one SubstrateResult) ([]limit, error) {
	var out []limit
	add := func(field, name string, have, each float64, volume bool) error {
		if !(have > 0 && have <= maxBatchG) {
			return figure.Faultf(field, "write what is at hand, above 0", "%g of %s can not be shared out", have, name)
		}
		out = append(out, limit{name, have, each, volume})
		return nil
	}
	if in.TotalG != nil {
		if err := add("total_g", "all substrate", *in.TotalG, one.TotalG, false); err != nil {
			return nil, err
		}
	}
	for _, name := range sortedKeys(in.Have) {
		each := 0.0
		for _, mix := range sortedKeys(one.Batch) {
			for _, label := range sortedKeys(one.Batch[mix]) {
				if normal(label) == normal(name) {
					each += one.Batch[mix][label]
				}
			}
		}
		if !(each > 0) {
			return nil, figure.Faultf("have_g."+name, "write it as it stands in the recipe", "%s is not in the recipe", quoted(name))
		}
		if err := add("have_g."+name, name, in.Have[name], each, false); err != nil {
			return nil, err
		}
	}
	for _, name := range sortedKeys(in.VolumeML) {
		var each *float64
		for _, mix := range sortedKeys(one.VolumeML) {
			if mixKey(mix) == mixKey(name) {
				each = one.VolumeML[mix]
			}
		}
		if each == nil || !(*each > 0) {
			return nil, figure.Faultf("volume_ml."+name, "write the name of a mix that pours", "the recipe makes no volume of %s", quoted(name))
		}
		if err := add("volume_ml."+name, name, in.VolumeML[name], *each, true); err != nil {
			return nil, err
		}
	}
	return out, nil
}

func sortedKeys[V any](m map[string]V) []string {
	return slices.Sorted(maps.Keys(m))
}
