package thermal

import (
	"fmt"
	"math"
	"strings"

	"pinset/internal/figure"
)

// Container is one jar, tub or bag and how far it is filled.
type Container struct {
	BoreMM      float64  `json:"bore_mm" jsonschema:"inner diameter, or inner width of a block, 15 to 600 mm"`
	FillMM      float64  `json:"fill_mm" jsonschema:"height of the fill, 5 to 600 mm"`
	DepthMM     *float64 `json:"depth_mm,omitempty" jsonschema:"inner depth of a block; as deep as wide if left out"`
	HeadspaceMM *float64 `json:"headspace_mm,omitempty" jsonschema:"air between fill and lid, 0 to 300 mm; 25 if left out"`
	Shape       string   `json:"shape,omitempty" jsonschema:"round or with corners; cylinder if left out"`
	Material    string   `json:"material,omitempty" jsonschema:"what the wall is made of; glass if left out"`
	Surface     *float64 `json:"surface_factor,omitempty" jsonschema:"factor on the transfer at all faces in the pot from a calibration, 0.2 to 8; 1 if left out"`
	Stacked     int      `json:"stacked,omitempty" jsonschema:"bags or tubs lying on each other without a gap, each as high as the fill, 1 to 10; 1 if left out"`
	Count       int      `json:"count,omitempty" jsonschema:"vessels in the pot, each taken as standing free; 1 if left out"`
}

// Substrate is what is in a container.
type Substrate struct {
	MoisturePct     *float64 `json:"moisture_pct,omitempty" jsonschema:"water in the wet mass, 5 to 95 %, of a liquid 85 to 100 %; may be left out with conductivity and diffusivity, or of a liquid"`
	DensityKgM3     *float64 `json:"density_kg_m3,omitempty" jsonschema:"mass over volume as filled, 100 to 1600; that of a fill without pores if left out"`
	ConductivityWMK *float64 `json:"conductivity_w_mk,omitempty" jsonschema:"heat conductivity as measured; left out, it comes from the moisture"`
	DiffusivityM2S  *float64 `json:"diffusivity_m2_s,omitempty" jsonschema:"heat diffusivity as measured; left out, it comes from the conductivity"`
	SpreadPct       *float64 `json:"spread_pct,omitempty" jsonschema:"doubt of the conductivity either way; 10 % of a given one, or the bounds of mixing, if left out"`
	Multiplier      *float64 `json:"multiplier,omitempty" jsonschema:"factor on the conductivity from a calibration; 1, a solid cake, if left out"`
}

// Wall is the way from steam to substrate, where no u_w_m2k is given.
type wallInput struct {
	u        *Faces
	wallMM   *float64
	wallWMK  *float64
	filmWM2K *float64
	lid      string
}

// jarInput is what cook and hold ask about a vessel alike.
type jarInput struct {
	container Container
	substrate Substrate
	wall      wallInput
	mode      string
}

// The three runs of a model.
const (
	low  = iota // the slowest heating that is likely
	best        // the likeliest
	high        // the fastest
)

// cellsAcross is the number of cells along a radius. 30 keep the centre
// within 0.02 °C of the series solution above 100 °C (see the tests).
const cellsAcross = 30

// jar is a checked vessel, three times over.
type jar struct {
	vessels [3]vessel
	walls   [3]walls
}

// newJar checks a jar and cuts it into cells.
func newJar(in jarInput) (jar, error) {
	var out jar
	if err := checkContainer(in.container); err != nil {
		return out, err
	}
	if err := checkMode(in.mode); err != nil {
		return out, err
	}
	media, err := newMedia(in.substrate, in.mode)
	if err != nil {
		return out, err
	}
	if out.walls, err = newWalls(in); err != nil {
		return out, err
	}
	b := cut(in.container)
	if in.liquid() {
		if in.container.Stacked > 1 {
			return out, figure.Faultf("container.stacked", "leave it out: bottles stand", "%d bottles on each other", in.container.Stacked)
		}
		b = cutLiquid(in.container)
		if in.wall.u == nil {
			for i := range out.walls {
				out.walls[i] = out.walls[i].wetted(filmInside[i])
			}
		}
	}
	if f := in.container.Surface; f != nil {
		for i := range out.walls {
			out.walls[i].steam = out.walls[i].steam.times(*f)
		}
	}
	for i, w := range out.walls {
		out.vessels[i] = vessel{body: b, medium: media[i], steam: w.steam, air: w.air(benchFilm)}
	}
	return out, nil
}

// cut cuts the contents of a container into cells about as high as wide.
func cut(c Container) *body {
	bore, fill := c.BoreMM/1000, c.height()/1000
	if c.Shape != "block" {
		return newCylinder(bore/2, fill, cellsAcross, cellsAlong(fill, bore/2/cellsAcross, 20, 72))
	}
	depth := bore
	if c.DepthMM != nil {
		depth = *c.DepthMM / 1000
	}
	const half = 16 // cells from the middle plane to a side
	return newBlock(bore, depth, fill, half, half, cellsAlong(fill, math.Min(bore, depth)/2/half, 20, 40))
}

// height is that of the fill, or of a whole stack: where two bodies that are
// heated alike touch, no heat passes, so that they heat as one.
func (c Container) height() float64 { return c.FillMM * float64(max(c.Stacked, 1)) }

// cellsAlong is the number of cells of about size along a length.
func cellsAlong(length, size float64, least, most int) int {
	return min(max(int(math.Round(length/size)), least), most)
}

// checkContainer checks the sizes, the shape and the material.
func checkContainer(c Container) error {
	for _, f := range []struct {
		field, mend string
		value       *float64
		least, most float64
	}{
		{"container.bore_mm", "measure the inner diameter, or the inner width of a block, in millimetres", &c.BoreMM, 15, 600},
		{"container.fill_mm", "measure the height of the substrate in millimetres", &c.FillMM, 5, 600},
		{"container.depth_mm", "measure the inner depth of the block in millimetres", c.DepthMM, 15, 600},
		{"container.headspace_mm", "measure from the substrate to the lid in millimetres", c.HeadspaceMM, 0, 300},
	} {
		if f.value != nil && !(*f.value >= f.least && *f.value <= f.most) {
			return figure.Faultf(f.field, f.mend, "%g mm is outside %g to %g mm", *f.value, f.least, f.most)
		}
	}
	if f := c.Surface; f != nil && !(*f >= factorLow && *f <= factorHigh) {
		return figure.Faultf("container.surface_factor", "take it from a calibration, or leave it out", "a factor of %g is outside %g to %g", *f, factorLow, factorHigh)
	}
	switch c.Shape {
	case "", "cylinder", "block":
	default:
		return figure.Faultf("container.shape", "write cylinder or block", "the shape %q is not known", c.Shape)
	}
	if n := c.Stacked; n < 0 || n > 10 {
		return figure.Faultf("container.stacked", "give how many lie on each other, or leave it out", "a stack of %d is outside 1 to 10", n)
	}
	if h := c.height(); h > 600 {
		return figure.Faultf("container.stacked", "set them apart on racks and leave stacked out", "a stack of %d is %g mm high, and its middle would not get hot in a day", c.Stacked, h)
	}
	if c.Count < 0 {
		return figure.Faultf("container.count", "give the number of vessels in the pot", "there are %d vessels", c.Count)
	}
	return checkMaterial(c)
}

// materials are the conductivities of walls, W/mK, and a usual thickness, mm.
//
// Soda-lime 0.9 to 1.1, borosilicate 1.14 to 1.2, polypropylene 0.17 to 0.22
// W/mK; from memory. Thickness: common practice, no source.
var materials = map[string]struct{ conductivity, thickness float64 }{
	"glass":         {1.0, 3},
	"borosilicate":  {1.15, 2.5},
	"polypropylene": {0.2, 1},
	"steel":         {16, 0.7},
}

// softPlastics do not stand a cook: the temperature at which labware makers
// end their use, °C (from memory of resistance charts).
var softPlastics = map[string]float64{
	"polyethylene": 80, "ldpe": 80, "hdpe": 110, "polystyrene": 80, "ps": 80, "pet": 70, "petg": 70, "polycarbonate": 120, "pvc": 70,
}

// material returns the name of the material as the tables have it.
func (c Container) material() string {
	switch name := strings.ToLower(strings.TrimSpace(c.Material)); name {
	case "":
		return "glass"
	case "pp":
		return "polypropylene"
	default:
		return name
	}
}

// checkMaterial refuses plastics that soften.
func checkMaterial(c Container) error {
	if limit, soft := softPlastics[c.material()]; soft {
		return figure.Faultf("container.material", "use glass, or polypropylene (code 5) that is marked autoclavable",
			"%s softens at about %g °C and does not stand a cook at pressure", c.Material, limit)
	}
	if _, known := materials[c.material()]; !known {
		return figure.Faultf("container.material", "write glass, borosilicate, polypropylene or steel, or give wall_mm and wall_w_mk",
			"the material %q is not known", c.Material)
	}
	return nil
}

// checkMode checks the way in which the contents take heat.
func checkMode(mode string) error {
	switch mode {
	case "", "cake", "loose", "liquid":
		return nil
	}
	return figure.Faultf("mode", "write cake, loose or liquid", "the mode %q is not known", mode)
}

// newMedia returns the contents three times.
func newMedia(s Substrate, mode string) ([3]*medium, error) {
	var out [3]*medium
	if err := checkSubstrate(s, mode); err != nil {
		return out, err
	}
	if mode == "liquid" {
		m, err := newLiquid(s)
		return [3]*medium{m, m, m}, err
	}
	factors := multipliers(s, mode)
	for i := range out {
		m, err := newContents(s, i, factors[i])
		if err != nil {
			return out, err
		}
		out[i] = m
	}
	return out, nil
}

// multipliers is what the conductivity is taken times, for the three runs. A
// loose fill is steamed through and may heat up to twice as fast; how much is
// not known without a logger, so the best guess stays that of a cake.
func multipliers(s Substrate, mode string) [3]float64 {
	m := 1.0
	if s.Multiplier != nil {
		m = *s.Multiplier
	}
	out := [3]float64{m, m, m}
	if mode == "loose" && s.Multiplier == nil {
		out[high] = 2
	}
	if spread, given := s.spread(); given {
		out[low] *= 1 - spread
		out[high] *= 1 + spread
	}
	return out
}

// spread returns the share by which the conductivity may be off, and whether
// it is to be used: with neither measured value nor spread the mixing bounds
// stand in for it.
func (s Substrate) spread() (float64, bool) {
	if s.SpreadPct != nil {
		return *s.SpreadPct / 100, true
	}
	return 0.10, s.measured()
}

// measured tells whether a conduction property was measured.
func (s Substrate) measured() bool { return s.ConductivityWMK != nil || s.DiffusivityM2S != nil }

// checkSubstrate checks the contents.
func checkSubstrate(s Substrate, mode string) error {
	for _, f := range []struct {
		field, mend string
		value       *float64
		least, most float64
	}{
		{"substrate.moisture_pct", "give the water as per cent of the wet mass: 55, not 0.55", s.MoisturePct, 5, 100},
		{"substrate.density_kg_m3", "give the mass over the volume as filled: 1 g/ml is 1000", s.DensityKgM3, 100, 1600},
		{"substrate.conductivity_w_mk", "give 0.1 to 0.6 for wet substrate, or leave it out", s.ConductivityWMK, 0.03, 2},
		{"substrate.diffusivity_m2_s", "give about 1.4e-7 for a wet cake, or leave it out", s.DiffusivityM2S, 3e-8, 2e-6},
		{"substrate.spread_pct", "give how far the conductivity may be off, such as 10", s.SpreadPct, 0, 60},
		{"substrate.multiplier", "give 1 for a cake, 2 to 3 for a loose fill that a logger has shown to be so", s.Multiplier, factorLow, factorHigh},
	} {
		if f.value != nil && !(*f.value >= f.least && *f.value <= f.most) {
			return figure.Faultf(f.field, f.mend, "%g is outside %g to %g", *f.value, f.least, f.most)
		}
	}
	if mode != "liquid" && s.MoisturePct != nil && *s.MoisturePct > 95 {
		return figure.Faultf("substrate.moisture_pct", "write liquid as the mode, or weigh again", "%g %% of water is no cake", *s.MoisturePct)
	}
	if mode != "liquid" && s.MoisturePct == nil && !(s.ConductivityWMK != nil && s.DiffusivityM2S != nil) {
		return figure.Faultf("substrate.moisture_pct", "give the moisture, or both conductivity_w_mk and diffusivity_m2_s",
			"nothing tells how the substrate holds and conducts heat")
	}
	return nil
}

// newContents is the contents for one of the three runs; factor is that of
// the conductivity.
func newContents(s Substrate, run int, factor float64) (*medium, error) {
	if s.ConductivityWMK != nil && s.DiffusivityM2S != nil {
		k := *s.ConductivityWMK
		return constantMedium(k*factor, k / *s.DiffusivityM2S), nil
	}
	x := WetGrain(*s.MoisturePct / 100)
	filled, err := PropertiesAt(x, 20)
	if err != nil {
		return nil, err
	}
	density, void, err := packing(s, filled.Density)
	if err != nil {
		return nil, err
	}
	capacity := func(t float64) (float64, error) { // the mass stays, whatever the volume does
		p, err := PropertiesAt(x, t)
		return density * p.Heat, err
	}
	switch {
	case s.ConductivityWMK != nil:
		return newMedium(func(float64) (float64, error) { return *s.ConductivityWMK * factor, nil }, capacity)
	case s.DiffusivityM2S != nil:
		return newMedium(func(t float64) (float64, error) {
			c, err := capacity(t)
			return *s.DiffusivityM2S * c * factor, err
		}, capacity)
	}
	_, spreadGiven := s.spread()
	return newMedium(func(t float64) (float64, error) {
		p, err := PropertiesAt(x, t)
		return factor * PorousConductivity(bound(p, run, spreadGiven), void, t), err
	}, capacity)
}

// bound picks the conductivity of the solid for one of the three runs.
func bound(p Properties, run int, spreadGiven bool) float64 {
	switch {
	case spreadGiven || run == best:
		return p.Mean()
	case run == low:
		return p.Perpendicular
	}
	return p.Parallel
}

// packing returns the density as filled and the share of pores.
func packing(s Substrate, solid float64) (density, void float64, err error) {
	if s.DensityKgM3 == nil {
		return solid, 0, nil
	}
	d := *s.DensityKgM3
	if d > 1.05*solid {
		return 0, 0, figure.Faultf("substrate.density_kg_m3", "weigh the filled jar again and measure the filled volume with water",
			"%g kg/m3 is denser than the substrate without any pore, %.0f kg/m3 at %g %% water", d, solid, *s.MoisturePct)
	}
	return d, max(1-d/solid, 0), nil
}

// describe says in words what the conduction rests on.
func (s Substrate) describe() string {
	switch {
	case s.ConductivityWMK != nil && s.DiffusivityM2S != nil:
		return fmt.Sprintf("k %g W/mK, diffusivity %g m2/s, as given", *s.ConductivityWMK, *s.DiffusivityM2S)
	case s.ConductivityWMK != nil:
		return fmt.Sprintf("k %g W/mK as given, heat capacity of wet grain at %g %% water", *s.ConductivityWMK, *s.MoisturePct)
	case s.DiffusivityM2S != nil:
		return fmt.Sprintf("diffusivity %g m2/s as given, heat capacity of wet grain at %g %% water", *s.DiffusivityM2S, *s.MoisturePct)
	}
	return fmt.Sprintf("wet grain at %g %% water, k midway between the mixing bounds", *s.MoisturePct)
}
