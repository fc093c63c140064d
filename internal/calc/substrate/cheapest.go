package substrate

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/optimize/convex/lp"

	"pinset/internal/figure"
)

// CheapestInput asks for the mix of least cost within bounds. Shares are of
// the dry matter of the mix.
type CheapestInput struct {
	Ingredients []Offer  `json:"ingredients" jsonschema:"what can be bought, 1 to 40"`
	CNLow       *float64 `json:"cn_low,omitempty" jsonschema:"lowest C:N by mass; no bound if left out"`
	CNHigh      *float64 `json:"cn_high,omitempty" jsonschema:"highest C:N by mass; no bound if left out"`
	NLowPct     *float64 `json:"n_low_pct_of_dry,omitempty" jsonschema:"least nitrogen of the dry mix; no bound if left out"`
	NHighPct    *float64 `json:"n_high_pct_of_dry,omitempty" jsonschema:"most nitrogen of the dry mix; no bound if left out"`
	DryG        *float64 `json:"dry_g,omitempty" jsonschema:"dry matter of the mix to make; 1000 g if left out"`
}

// Offer is an ingredient that may be used.
type Offer struct {
	Ingredient  string   `json:"ingredient" jsonschema:"name of the ingredient; the figures of an unknown one must be given"`
	PricePerKg  float64  `json:"price_per_kg" jsonschema:"price as weighed, 0 or more, in any one currency"`
	MinPct      float64  `json:"min_pct,omitempty" jsonschema:"least share of the dry mix; 0 % if left out"`
	MaxPct      *float64 `json:"max_pct,omitempty" jsonschema:"largest share of the dry mix; 100 % if left out"`
	MoisturePct *float64 `json:"moisture_pct,omitempty" jsonschema:"water as measured, % of the mass as weighed; the table's figure if left out"`
	NPctDry     *float64 `json:"n_pct_of_dry,omitempty" jsonschema:"nitrogen as analysed; the table's figure if left out"`
	CPctDry     *float64 `json:"c_pct_of_dry,omitempty" jsonschema:"carbon as analysed, without carbonates; the table's figure if left out"`
}

// CheapestResult is the mix.
type CheapestResult struct {
	Lines    []Cheap  `json:"lines"` // in the order of the offers, unused ones too
	CN       *float64 `json:"cn"`
	NPctDry  float64  `json:"n_pct_of_dry"`
	Cost     float64  `json:"cost"`    // of dry_g, in the currency of the prices
	TotalG   float64  `json:"total_g"` // as weighed
	Binding  []string `json:"binding"` // the bounds that leave no room, in words: widen one of them to look for less cost
	Costs    *Costs   `json:"costs"`   // the bound that costs most; nil if none costs anything
	DryGrams float64  `json:"dry_g"`
}

// Costs is what a bound costs.
type Costs struct {
	Bound string  `json:"bound"` // in words
	Saves float64 `json:"saves"` // less cost of dry_g if the bound is left out
}

// Cheap is one ingredient of the cheapest mix.
type Cheap struct {
	Ingredient string  `json:"ingredient"`
	DryPct     float64 `json:"dry_pct"` // share of the dry matter of the mix
	Grams      float64 `json:"grams"`   // as weighed
}

// bound is one row of the programme: sum of a_i x_i <= limit.
type bound struct {
	name  string
	a     []float64
	limit float64
}

// Cheapest finds the mix of least cost that keeps C:N, nitrogen and the
// shares of its ingredients within bounds, and names the bounds that bind.
// Bounds that no mix meets are a Fault. Ingredients need known water,
// nitrogen and carbon.
//
// Source: linear programme in the dry shares (C - k N >= 0 is linear),
// solved by the simplex method of gonum.
func Cheapest(in CheapestInput) (figure.Answer[CheapestResult], error) {
	var none figure.Answer[CheapestResult]
	if d := in.DryG; d != nil && !(*d > 0 && *d <= maxLineG) {
		return none, figure.Faultf("dry_g", "write the dry matter of the mix in grams", "the dry matter is %g g, it must lie above 0 and up to 100 t", *d)
	}
	each, cautions, err := in.offers()
	if err != nil {
		return none, err
	}
	bounds, err := in.bounds(each)
	if err != nil {
		return none, err
	}
	x, err := in.minimise(each, bounds)
	if errors.Is(err, lp.ErrInfeasible) {
		return none, in.fighting(each, bounds)
	}
	if err != nil {
		return none, err
	}
	r := in.result(x, each)
	if r.Costs, err = in.dearest(each, bounds, r.Cost); err != nil {
		return none, err
	}
	for _, b := range bounds {
		if sum := dot(b.a, x); b.limit-sum <= 1e-7*math.Max(1, scaleOf(b.a)) {
			r.Binding = append(r.Binding, b.name)
		}
	}
	return figure.Answer[CheapestResult]{Result: r, Cautions: cautions, Working: []figure.Step{
		{Step: "cost per kg of dry matter", Formula: "sum of dry share × price / (1 - moisture)", Value: r.Cost / r.DryGrams * 1000, Unit: "per kg", Source: "linear programme, simplex method"},
	}}, nil
}

// offers is a gram of each ingredient, seen dry.
func (in CheapestInput) offers() ([]blend, []figure.Caution, error) {
	const most = 40
	if n := len(in.Ingredients); n < 1 || n > most {
		return nil, nil, figure.Faultf("ingredients", "offer from 1 to 40 ingredients", "%d ingredients are offered", n)
	}
	cautions := []figure.Caution{}
	each := make([]blend, len(in.Ingredients))
	for i := range in.Ingredients {
		o := &in.Ingredients[i]
		field := fmt.Sprintf("ingredients[%d]", i)
		price := o.PricePerKg
		line := Line{Ingredient: o.Ingredient, MoisturePct: o.MoisturePct, NPctDry: o.NPctDry, CPctDry: o.CPctDry, PricePerKg: &price}
		if err := checkLine(&line, field); err != nil {
			return nil, nil, err
		}
		p := part{label: o.Ingredient, line: &line}
		p.take(theBook().find(o.Ingredient))
		each[i] = p.each
		dry := p.each.dry()
		if dry == nil || !(*dry > 0) || p.each.noN > 0 || p.each.noC > 0 {
			return nil, nil, figure.Faultf(field, "give moisture_pct, n_pct_of_dry and c_pct_of_dry as measured", "the water, nitrogen or carbon of %s is not known, or it is all water", quoted(o.Ingredient))
		}
		p.doubt(func(w figure.Weight, code, _, title, text string) {
			cautions = append(cautions, figure.Caution{Code: code, Title: title, Text: text, Weight: w})
		})
	}
	return each, cautions, nil
}

// bounds lists what the dry shares x must keep.
func (in CheapestInput) bounds(each []blend) ([]bound, error) {
	var all []bound
	n := len(each)
	for i, o := range in.Ingredients {
		high := 100.0
		if o.MaxPct != nil {
			high = *o.MaxPct
		}
		if !(o.MinPct >= 0 && o.MinPct <= high && high <= 100) {
			return nil, figure.Faultf(fmt.Sprintf("ingredients[%d].min_pct", i), "write shares from 0 to 100 %, the least first", "%s is asked from %g to %g %% of the dry matter", quoted(o.Ingredient), o.MinPct, high)
		}
		if o.MinPct > 0 {
			all = append(all, bound{fmt.Sprintf("%s at least %g %%", o.Ingredient, o.MinPct), unit(n, i, -1), -o.MinPct / 100})
		}
		if high < 100 {
			all = append(all, bound{fmt.Sprintf("%s at most %g %%", o.Ingredient, high), unit(n, i, 1), high / 100})
		}
	}
	for _, g := range []struct {
		key, name string
		limit     *float64
		sign      float64
		ratio     bool
	}{
		{"cn_low", "C:N at least", in.CNLow, 1, true},
		{"cn_high", "C:N at most", in.CNHigh, -1, true},
		{"n_low_pct_of_dry", "nitrogen at least", in.NLowPct, -1, false},
		{"n_high_pct_of_dry", "nitrogen at most", in.NHighPct, 1, false},
	} {
		if g.limit == nil {
			continue
		}
		if !(*g.limit > 0 && *g.limit <= 1e4) {
			return nil, figure.Faultf(g.key, "write a figure above 0, or leave it out", "the bound is %g", *g.limit)
		}
		b := bound{name: fmt.Sprintf("%s %g", g.name, *g.limit), a: make([]float64, n)}
		for i := range each {
			dry := each[i].mass - each[i].water
			if g.ratio { // C/N >= k is k N - C <= 0
				b.a[i] = g.sign * (*g.limit*each[i].n - each[i].c) / dry
			} else {
				b.a[i] = g.sign * each[i].n / dry
			}
		}
		if !g.ratio {
			b.name += " %"
			b.limit = g.sign * *g.limit / 100
		}
		all = append(all, b)
	}
	return all, nil
}

// minimise returns the dry shares of the cheapest mix.
func (in CheapestInput) minimise(each []blend, bounds []bound) ([]float64, error) {
	n := len(each)
	cost := make([]float64, n+len(bounds))
	a := mat.NewDense(1+len(bounds), n+len(bounds), nil)
	rhs := make([]float64, 1+len(bounds))
	rhs[0] = 1
	for i := range each {
		cost[i] = each[i].cost * 1000 / (each[i].mass - each[i].water)
		a.Set(0, i, 1)
	}
	for k, b := range bounds {
		scale := 1 / math.Max(scaleOf(b.a), 1e-12)
		for i, x := range b.a {
			a.Set(k+1, i, x*scale)
		}
		a.Set(k+1, n+k, 1)
		rhs[k+1] = b.limit * scale
	}
	_, x, err := lp.Simplex(cost, a, rhs, 1e-10, nil)
	if err != nil {
		return nil, fmt.Errorf("substrate: cheapest mix of %d ingredients, %d bounds: %w", n, len(bounds), err)
	}
	return x[:n], nil
}

// dearest finds the bound whose leaving out saves most.
func (in CheapestInput) dearest(each []blend, bounds []bound, cost float64) (*Costs, error) {
	var dearest *Costs
	for i := range bounds {
		x, err := in.minimise(each, without(bounds, i))
		if err != nil {
			return nil, err
		}
		saves := cost - in.result(x, each).Cost
		if saves > 1e-9*math.Max(1, cost) && (dearest == nil || saves > dearest.Saves) {
			dearest = &Costs{Bound: bounds[i].name, Saves: saves}
		}
	}
	return dearest, nil
}

// fighting is the Fault for bounds that no mix meets: it names one bound
// that none meets, else two that contradict each other. Only where every two
// can be kept does it name a larger set, no one of which can be left out.
//
// Source: every one and every two is tried; then a deletion filter, whose
// rest is an irreducible infeasible set.
func (in CheapestInput) fighting(each []blend, bounds []bound) error {
	n := len(each)
	for i := range bounds {
		if ok, err := in.feasible(each, bounds[i:i+1]); err != nil {
			return err
		} else if !ok {
			return figure.Faultf("", "widen it, or offer another ingredient", "no mix of the %d ingredients keeps this bound: %s", n, bounds[i].name)
		}
	}
	for i := range bounds {
		for j := range i {
			pair := []bound{bounds[j], bounds[i]}
			if ok, err := in.feasible(each, pair); err != nil {
				return err
			} else if !ok {
				return figure.Faultf("", "widen one of them, or offer another ingredient", "these two bounds fight, the %d ingredients can not keep both: %s", n, names(pair))
			}
		}
	}
	left, err := in.irreducible(each, bounds)
	if err != nil {
		return err
	}
	return figure.Faultf("", "widen one of them, or offer another ingredient", "any two of the bounds can be kept with the %d ingredients, but not these %d at once: %s", n, len(left), names(left))
}

// irreducible leaves out bounds for as long as no mix meets the rest.
func (in CheapestInput) irreducible(each []blend, bounds []bound) ([]bound, error) {
	left := bounds
	for i := 0; i < len(left); {
		ok, err := in.feasible(each, without(left, i))
		switch {
		case err != nil:
			return nil, err
		case ok:
			i++
		default:
			left = without(left, i)
		}
	}
	return left, nil
}

// feasible reports whether some mix meets bounds.
func (in CheapestInput) feasible(each []blend, bounds []bound) (bool, error) {
	_, err := in.minimise(each, bounds)
	if errors.Is(err, lp.ErrInfeasible) {
		return false, nil
	}
	return err == nil, err
}

func without(bounds []bound, i int) []bound {
	return slices.Concat(bounds[:i], bounds[i+1:])
}

func (in CheapestInput) result(x []float64, each []blend) CheapestResult {
	r := CheapestResult{Lines: []Cheap{}, Binding: []string{}, DryGrams: 1000}
	if in.DryG != nil {
		r.DryGrams = *in.DryG
	}
	var sum blend
	for i := range each {
		grams := math.Max(0, x[i]) * r.DryGrams / (each[i].mass - each[i].water)
		sum.add(&each[i], grams)
		r.Lines = append(r.Lines, Cheap{Ingredient: in.Ingredients[i].Ingredient, DryPct: 100 * math.Max(0, x[i]), Grams: grams})
	}
	r.CN, r.Cost, r.TotalG = sum.cn(), sum.cost, sum.mass
	r.NPctDry = 100 * sum.n / (sum.mass - sum.water)
	return r
}

func names(bounds []bound) string {
	var all []string
	for _, b := range bounds {
		all = append(all, b.name)
	}
	if len(all) > 8 {
		all = append(all[:8], "…")
	}
	return strings.Join(all, "; ")
}

func unit(n, i int, x float64) []float64 {
	a := make([]float64, n)
	a[i] = x
	return a
}

func dot(a, x []float64) float64 {
	sum := 0.0
	for i := range a {
		sum += a[i] * x[i]
	}
	return sum
}

func scaleOf(a []float64) float64 {
	most := 0.0
	for _, x := range a {
		most = math.Max(most, math.Abs(x))
	}
	return most
}
