// Package substrate works out what goes into a vessel: masses, water, dry
// matter, nitrogen and carbon of a recipe, per jar and per batch, and what
// follows from them.
//
// Shares are as weighed ("wet basis") unless a name says dry. Nitrogen and
// carbon are of organic matter: the carbon of carbonates is left out.
package substrate

import (
	"encoding/json"
	"fmt"

	"pinset/internal/figure"
)

// Recipe is what is made up, and how much of each goes into one jar.
type Recipe struct {
	Mixes []Mix             `json:"mixes" jsonschema:"what is mixed, such as grain and broth; a mix may be a line of another"`
	Fill  map[string]string `json:"fill,omitempty" jsonschema:"amount of each mix that one jar gets, such as 40 g; left out, each mix is what one jar gets"`
}

// Mix is made up together: a dry mix, or a broth made up to a volume.
type Mix struct {
	Name       string   `json:"name" jsonschema:"what you call the mix"`
	Lines      []Line   `json:"lines" jsonschema:"ingredients with their amounts"`
	MakeUpTo   string   `json:"make_up_to,omitempty" jsonschema:"volume or mass that the mix is filled up to, such as 1 L; with water unless a line is rest"`
	PercentOf  string   `json:"percent_of,omitempty" jsonschema:"what a line in % is a share of: the weight (if left out) or the dry matter"`
	DensityGML *float64 `json:"density_g_ml,omitempty" jsonschema:"mass over volume as filled; needed where a jar is filled by volume"`
}

// Line is one ingredient of a mix, or another mix of the same recipe.
type Line struct {
	Ingredient   string   `json:"ingredient" jsonschema:"name of the ingredient or of another mix; an unknown one is taken, its unknown figures stay open"`
	Amount       string   `json:"amount" jsonschema:"number and unit, such as 250 g, 1 1/2 cups, 2 large (eggs), 20 %, 3 parts by weight, or rest"`
	MoisturePct  *float64 `json:"moisture_pct,omitempty" jsonschema:"water as measured, 0 to 100 % of the mass as weighed; the table's figure if left out"`
	DensityGML   *float64 `json:"density_g_ml,omitempty" jsonschema:"mass over volume as scooped; the table's figure if left out"`
	PricePerKg   *float64 `json:"price_per_kg,omitempty" jsonschema:"price as weighed, in any one currency; left out, no cost is told"`
	NPctDry      *float64 `json:"n_pct_of_dry,omitempty" jsonschema:"nitrogen as analysed; the table's figure if left out"`
	CPctDry      *float64 `json:"c_pct_of_dry,omitempty" jsonschema:"carbon as analysed, without carbonates; the table's figure if left out"`
	FatPctDry    *float64 `json:"fat_pct_of_dry,omitempty" jsonschema:"fat as analysed; the table's figure if left out"`
	AshPctDry    *float64 `json:"ash_pct_of_dry,omitempty" jsonschema:"ash as analysed; the table's figure if left out"`
	SugarsPctDry *float64 `json:"sugars_pct_of_dry,omitempty" jsonschema:"sugars as analysed; the table's figure if left out"`
	StandsFor    string   `json:"stands_for,omitempty" jsonschema:"ingredient of the table that is meant, where the name does not say"`
}

// Container is the inside of the jar that the depth is for.
type Container struct {
	BoreMM   float64 `json:"bore_mm" jsonschema:"inner diameter, or inner side of a square block, above 0"`
	HeightMM float64 `json:"height_mm,omitempty" jsonschema:"inner height; left out, no headspace is told"`
	Shape    string  `json:"shape,omitempty" jsonschema:"round or square; cylinder if left out"`
}

// Reserve is what is made beyond the jars, in percent: one figure for all
// mixes with a make_up_to, or a figure by mix.
type Reserve struct {
	All *float64
	By  map[string]float64
}

// UnmarshalJSON reads a number or an object of numbers by mix.
func (r *Reserve) UnmarshalJSON(b []byte) error {
	var all *float64
	if err := json.Unmarshal(b, &all); err == nil {
		*r = Reserve{All: all}
		return nil
	}
	var by map[string]float64
	if err := json.Unmarshal(b, &by); err != nil {
		return figure.Faultf("reserve_pct", `write a percentage such as 10, or one by mix such as {"broth": 10}`, "the reserve is neither a number nor numbers by mix")
	}
	*r = Reserve{By: by}
	return nil
}

// MarshalJSON writes what UnmarshalJSON reads.
func (r Reserve) MarshalJSON() ([]byte, error) {
	if r.By != nil {
		return json.Marshal(r.By)
	}
	return json.Marshal(r.All)
}

// SubstrateInput asks for the masses and the make-up of a batch.
type SubstrateInput struct {
	Recipe            Recipe     `json:"recipe" jsonschema:"the mixes, and what of each goes into a jar"`
	Jars              int        `json:"jars" jsonschema:"jars to fill, 1 to 1000000"`
	ReservePct        *Reserve   `json:"reserve_pct,omitempty" jsonschema:"more to make than the jars take, in % of every made-up mix or of each; none if left out"`
	Container         *Container `json:"container,omitempty" jsonschema:"the jar or block, for the depth of the fill; left out, no depth is told"`
	TargetMoisturePct *float64   `json:"target_moisture_pct,omitempty" jsonschema:"moisture to reach with added water, above 0 to below 100 %; left out, the recipe stands as it is"`
	CookDropC         *float64   `json:"cook_drop_c,omitempty" jsonschema:"degrees from the cook down to the boiling point of the place, above 0 to 60; 21 if left out (15 psi at the sea)"`
	LCMLPerJar        *float64   `json:"lc_ml_per_jar,omitempty" jsonschema:"liquid culture that each jar gets, not counted in its mass"`
}

// SubstrateResult is the batch in grams. What can not be said is nil.
type SubstrateResult struct {
	PerJar       PerJar                        `json:"per_jar"`
	Batch        map[string]map[string]float64 `json:"batch"`          // grams by mix and ingredient as typed, with the reserve
	VolumeML     map[string]*float64           `json:"volume_ml"`      // of each mix, with the reserve
	WaterTotalG  *float64                      `json:"water_total_g"`  // all water in the batch, that of the ingredients too
	WaterToAddG  *float64                      `json:"water_to_add_g"` // plain water to pour, so that the target is met where one is given
	WaterBeyondG *float64                      `json:"water_beyond_g"` // of it, what the target asks beyond the recipe; below 0 is left out
	TotalG       float64                       `json:"total_g"`        // the batch with reserve and water
	AsWritten    *AsWritten                    `json:"as_written"`     // one jar before the target was met
	Broth        map[string]Solution           `json:"broth"`          // what is dissolved in each mix that pours
	CostPerJar   *float64                      `json:"cost_per_jar"`   // reserve included, in the currency of the prices
	CostTotal    *float64                      `json:"cost_total"`     // of the batch
	SurfaceCM2   *float64                      `json:"surface_cm2"`    // of the cake, seen from above
	HeadspaceMM  *float64                      `json:"headspace_mm"`   // from the cake to the height of the container
	CostPerKg    *float64                      `json:"cost_per_kg"`    // of the substrate as filled
	Mixes        map[string]Balance            `json:"mixes"`          // each mix as made, with the reserve; a mix within another counts in both
	Total        Balance                       `json:"total"`          // the batch, with the reserve
	SteamOff     *SteamOff                     `json:"steam_off"`      // what the cook may take from a jar, at most
}

// Balance is the mass balance of a mix or a batch.
type Balance struct {
	WetG           float64  `json:"wet_g"`
	DryG           *float64 `json:"dry_g"`
	MoisturePct    *float64 `json:"moisture_pct"`
	MoisturePctDry *float64 `json:"moisture_pct_of_dry"`
	NG             *float64 `json:"n_g"`
	CG             *float64 `json:"c_g"`
	CN             *float64 `json:"cn"`
	AshG           *float64 `json:"ash_g"`
	FatG           *float64 `json:"fat_g"`
	Cost           *float64 `json:"cost"` // in the currency of the prices
}

// PerJar is what one jar holds.
type PerJar struct {
	WetG        float64  `json:"wet_g"`
	DryG        *float64 `json:"dry_g"`
	MoisturePct *float64 `json:"moisture_pct"` // of wet_g
	NG          *float64 `json:"n_g"`
	CG          *float64 `json:"c_g"` // without carbonates
	CN          *float64 `json:"cn"`  // mass ratio
	NPctDry     *float64 `json:"n_pct_of_dry"`
	AshG        *float64 `json:"ash_g"`
	FatG        *float64 `json:"fat_g"`
	// MoisturePctDry is water over dry matter, the dry basis.
	MoisturePctDry *float64 `json:"moisture_pct_of_dry"`
	MLPerG         *float64 `json:"ml_per_g"`     // liquid per gram of grain as weighed
	LCMLPerKg      *float64 `json:"lc_ml_per_kg"` // liquid culture per kilogram as filled
	DepthMM        *float64 `json:"depth_mm"`
}

// AsWritten is a jar as the recipe has it, where a target changes it.
type AsWritten struct {
	WetG        float64  `json:"wet_g"`
	MoisturePct *float64 `json:"moisture_pct"`
}

// Substrate computes what a batch needs and what each jar then holds.
//
// Masses add up; volumes of what is dissolved are added by component, an
// approximation (see volume.go). A label that the built-in table does not
// know is taken as it is, its figures unknown. Not for grain that is soaked
// or boiled and drained: weigh it drained, and see Soak.
//
// A Fault names the field: text that is no amount, amounts of 0 or less or
// above 100 t, moisture outside of 0..100 %, a mix within itself, more than
// 50 mixes or 200 lines in one.
//
// Source: mass balance; composition as the rows of ingredients.tsv say.
func Substrate(in SubstrateInput) (figure.Answer[SubstrateResult], error) {
	p, err := plan(in)
	if err != nil {
		return figure.Answer[SubstrateResult]{}, err
	}
	return p.answer(), nil
}

// plan resolves the recipe and the batch.
func plan(in SubstrateInput) (*batch, error) {
	if !(in.Jars >= 1 && in.Jars <= maxJars) {
		return nil, figure.Faultf("jars", "write how many jars are filled, 1 or more", "the number of jars is %d, from 1 to %d can be planned", in.Jars, maxJars)
	}
	if t := in.TargetMoisturePct; t != nil && !(*t > 0 && *t < 100) {
		return nil, figure.Faultf("target_moisture_pct", "write the water as a share of the whole, such as 60", "the target is %g %% moisture, it must lie above 0 and below 100 %%", *t)
	}
	if lc := in.LCMLPerJar; lc != nil && !(*lc >= 0 && *lc <= 1e5) {
		return nil, figure.Faultf("lc_ml_per_jar", "write the mL of liquid culture that one jar gets, or leave it out", "one jar gets %g mL of liquid culture", *lc)
	}
	if d := in.CookDropC; d != nil && !(*d > 0 && *d <= 60) {
		return nil, figure.Faultf("cook_drop_c", "write how far the cook is above the boiling point, such as 21", "the cook is %g °C above the boiling point, it must lie above 0 and up to 60 °C", *d)
	}
	if err := in.Container.check(); err != nil {
		return nil, err
	}
	b := &batch{in: in}
	var err error
	if b.mixes, err = b.resolve(in.Recipe); err != nil {
		return nil, err
	}
	if err := b.fill(); err != nil {
		return nil, err
	}
	if err := b.reserve(); err != nil {
		return nil, err
	}
	b.need()
	b.meetTarget()
	if b.total() > maxBatchG {
		return nil, figure.Faultf("jars", "plan fewer jars at a time", "the batch comes to %.4g kg, up to %.4g kg are planned at once", b.total()/1000, maxBatchG/1000)
	}
	return b, nil
}

func (c *Container) check() error {
	if c == nil {
		return nil
	}
	const mend = "write the inner measures of the jar in mm"
	if !(c.BoreMM > 0 && c.BoreMM <= 5000) {
		return figure.Faultf("container.bore_mm", mend, "the bore is %g mm, it must lie above 0 and up to 5000 mm", c.BoreMM)
	}
	if !(c.HeightMM >= 0 && c.HeightMM <= 5000) {
		return figure.Faultf("container.height_mm", mend, "the height is %g mm, it must lie above 0 and up to 5000 mm", c.HeightMM)
	}
	if c.Shape != "" && c.Shape != "cylinder" && c.Shape != "block" {
		return figure.Faultf("container.shape", "write cylinder or block", "the shape is %s, known are cylinder and block", quoted(c.Shape))
	}
	return nil
}

func quoted(s string) string {
	const most = 60
	if r := []rune(s); len(r) > most {
		s = string(r[:most]) + "…"
	}
	return fmt.Sprintf("“%s”", s)
}
