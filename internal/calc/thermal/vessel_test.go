package thermal

import (
	"strings"
	"testing"
)

// 1/U = 1/h + x/k, as a table of walls by other hands prints it.
func TestWalls(t *testing.T) {
	for _, c := range []struct{ mm, k, h500, h3000, h8000 float64 }{
		{2.5, 1.0, 222, 353, 381},
		{3, 1.0, 200, 300, 320},
		{4, 1.0, 167, 231, 242},
		{0.5, 0.2, 222, 353, 381},
		{1.0, 0.2, 143, 188, 195},
		{1.5, 0.2, 105, 128, 131},
	} {
		for film, want := range map[float64]float64{500: c.h500, 3000: c.h3000, 8000: c.h8000} {
			w, err := newWalls(jarInput{
				container: Container{Material: "glass"},
				wall:      wallInput{wallMM: &c.mm, wallWMK: &c.k, filmWM2K: &film},
			})
			if err != nil {
				t.Fatal(err)
			}
			near(t, "side", w[best].steam.Side, want, 0.51)
		}
	}
}

// The assumptions of resist.go, reckoned by hand, so that none changes
// unseen: glass of 3 mm, films of 500, 3000 and 8000 outside and 50, 75 and
// 300 below, a vented headspace of 25 mm, 10 W/m2K on the bench.
func TestUsualWalls(t *testing.T) {
	w, err := newWalls(jarInput{})
	if err != nil {
		t.Fatal(err)
	}
	for run, want := range []Faces{low: {200, 4.94772, 43.4783}, best: {300, 14.91696, 61.2245}, high: {320, 49.66144, 157.8947}} {
		near(t, "side", w[run].steam.Side, want.Side, 1e-4)
		near(t, "top", w[run].steam.Top, want.Top, 1e-4)
		near(t, "base", w[run].steam.Base, want.Base, 1e-4)
	}
	j, err := newJar(jarInput{container: Container{BoreMM: 76, FillMM: 95}, substrate: Substrate{MoisturePct: ptr(55)}})
	if err != nil {
		t.Fatal(err)
	}
	near(t, "side on the bench", j.vessels[best].air.Side, 1/(1/10.0+0.003), 1e-12)
	for run, want := range []float64{low: 50, best: 200, high: 2000} {
		near(t, "wet", headspaceCoefficient("wet", 0.025, run, 3000), want, 0)
	}
	still := 1.2 + 3.797165
	for run, want := range []float64{low: 0.7 * still, best: still, high: 1.5 * still} {
		near(t, "tight", headspaceCoefficient("tight", 0.025, run, 3000), want, 1e-5)
	}
	deep := Container{HeadspaceMM: ptr(50)}
	near(t, "tight, 50 mm", headspaceCoefficient("tight", deep.headspace(), best, 3000), 0.6+3.797165, 1e-5)
	for _, c := range []struct {
		material string
		side     float64
	}{{"glass", 300}, {"Borosilicate", 1 / (1/3000.0 + 0.0025/1.15)}, {"PP", 1 / (1/3000.0 + 0.001/0.2)}, {"steel", 1 / (1/3000.0 + 0.0007/16)}} {
		w, err := newWalls(jarInput{container: Container{Material: c.material}})
		if err != nil {
			t.Fatal(err)
		}
		near(t, c.material, w[best].steam.Side, c.side, 1e-9)
	}
}

// The range of the contents: 10 % of a measured conductivity or the spread
// given, the mixing bounds of a composition, twice the upper bound for a
// loose fill, and a multiplier on all.
func TestContentsRange(t *testing.T) {
	p := propertiesAt(t, WetGrain(0.55), 0)
	for _, c := range []struct {
		name string
		s    Substrate
		mode string
		want [3]float64 // W/mK at 0 °C
	}{
		{"measured", Substrate{ConductivityWMK: ptr(0.5), DiffusivityM2S: ptr(1.45e-7)}, "", [3]float64{0.45, 0.5, 0.55}},
		{"spread", Substrate{ConductivityWMK: ptr(0.5), DiffusivityM2S: ptr(1.45e-7), SpreadPct: ptr(20)}, "", [3]float64{0.4, 0.5, 0.6}},
		{"one measured", Substrate{ConductivityWMK: ptr(0.5), MoisturePct: ptr(55)}, "", [3]float64{0.45, 0.5, 0.55}},
		{"composition", Substrate{MoisturePct: ptr(55)}, "cake", [3]float64{p.Perpendicular, p.Mean(), p.Parallel}},
		{"composition, spread", Substrate{MoisturePct: ptr(55), SpreadPct: ptr(20)}, "", [3]float64{0.8 * p.Mean(), p.Mean(), 1.2 * p.Mean()}},
		{"loose", Substrate{MoisturePct: ptr(55)}, "loose", [3]float64{p.Perpendicular, p.Mean(), 2 * p.Parallel}},
		{"multiplier", Substrate{MoisturePct: ptr(55), Multiplier: ptr(1.5)}, "loose", [3]float64{1.5 * p.Perpendicular, 1.5 * p.Mean(), 1.5 * p.Parallel}},
	} {
		media, err := newMedia(c.s, c.mode)
		if err != nil {
			t.Fatal(err)
		}
		for run := range media {
			near(t, c.name, media[run].conduct[0], c.want[run], 1e-9)
		}
	}
	// Pores: 0.7 of the solid's density leaves 0.3 of air, and the mass is 0.7.
	solid, err := newContents(Substrate{MoisturePct: ptr(55)}, best, 1)
	if err != nil {
		t.Fatal(err)
	}
	cold := propertiesAt(t, WetGrain(0.55), 20).Density
	porous, err := newContents(Substrate{MoisturePct: ptr(55), DensityKgM3: ptr(0.7 * cold)}, best, 1)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "porous conductivity", porous.conduct[0], PorousConductivity(p.Mean(), 0.3, 0), 1e-9)
	near(t, "porous capacity", porous.capacity[0]/solid.capacity[0], 0.7, 1e-9)
	// A measured diffusivity alone keeps its value: k = a c.
	only, err := newContents(Substrate{MoisturePct: ptr(55), DiffusivityM2S: ptr(1.45e-7)}, best, 1)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "diffusivity", only.conduct[0]/only.capacity[0], 1.45e-7, 1e-11) // the capacity is the slope over a quarter of a kelvin
}

// The lids are ordered, the bands too; the still headspace passes about 5
// W/m2K; and on the bench the gap stays.
func TestHeadspace(t *testing.T) {
	tight := headspaceCoefficient("tight", 0.025, best, 3000)
	near(t, "still headspace of 25 mm", tight, 5, 0.3)
	for run := low; run <= high; run++ {
		a, b, c := headspaceCoefficient("tight", 0.025, run, 3000), headspaceCoefficient("vented", 0.025, run, 3000), headspaceCoefficient("wet", 0.025, run, 3000)
		if !(a < b && b < c) {
			t.Errorf("run %d: tight %g, vented %g, wet %g", run, a, b, c)
		}
	}
	if narrow := headspaceCoefficient("tight", 0.005, best, 3000); !(narrow > tight) {
		t.Errorf("5 mm pass %g, 25 mm pass %g", narrow, tight)
	}
	w, err := newWalls(jarInput{container: Container{Material: "glass"}, wall: wallInput{u: &Faces{Side: 250, Top: 5, Base: 60}}})
	if err != nil {
		t.Fatal(err)
	}
	air := w[best].air(10)
	near(t, "side in air", air.Side, 10, 1e-9)
	near(t, "top in air", air.Top, 1/(1/10.0+1/5.0-1/250.0), 1e-9)
}

// Cells are about as high as wide, 20 to 72 of them upright and, of a block,
// 20 to 40: 60.5 mm over 38/30 mm are 47.8.
func TestCutByHand(t *testing.T) {
	for _, c := range []struct {
		bore, fill float64
		shape      string
		want       int
	}{
		{76, 60.5, "", 48},
		{76, 61, "", 48},
		{76, 10, "", 20},
		{76, 200, "", 72},
		{80, 60, "block", 24},
		{80, 10, "block", 20},
		{80, 200, "block", 40},
	} {
		b := cut(Container{BoreMM: c.bore, FillMM: c.fill, Shape: c.shape})
		if got := b.upright().n(); got != c.want {
			t.Errorf("%gx%g %s: %d cells upright, want %d", c.bore, c.fill, c.shape, got, c.want)
		}
		across := map[string]int{"": 30, "block": 16}[c.shape]
		if got := b.axes[0].n(); got != across {
			t.Errorf("%d cells across, want %d", got, across)
		}
	}
	deep := cut(Container{BoreMM: 120, DepthMM: ptr(80), FillMM: 60, Shape: "block"})
	if got := deep.upright().n(); got != 24 { // by the lesser of width and depth
		t.Errorf("a block less deep than wide: %d cells", got)
	}
	near(t, "a quarter of its volume", deep.totalVolume(), 0.12*0.08*0.06/4, 1e-12)
}

// The film below a jar is never more than the one around it.
func TestFilmBelow(t *testing.T) {
	for film, below := range map[float64]float64{10: 10, 3000: 75} {
		w, err := newWalls(jarInput{wall: wallInput{filmWM2K: &film}})
		if err != nil {
			t.Fatal(err)
		}
		near(t, "base", w[best].steam.Base, 1/(1/below+0.003), 1e-9)
	}
	one := bottleCook()
	one.Container.Stacked = 1
	if _, err := newJar(one.jarInput()); err != nil {
		t.Errorf("a bottle on its own is refused: %v", err)
	}
}

// In words stands what was given, and no more.
func TestContentsInWords(t *testing.T) {
	for _, c := range []struct {
		s    Substrate
		says string
	}{
		{Substrate{MoisturePct: ptr(55)}, "wet grain at 55 % water, k midway"},
		{Substrate{MoisturePct: ptr(55), ConductivityWMK: ptr(0.5)}, "k 0.5 W/mK as given, heat capacity of wet grain"},
		{Substrate{MoisturePct: ptr(55), DiffusivityM2S: ptr(1.45e-7)}, "diffusivity 1.45e-07 m2/s as given, heat capacity"},
		{Substrate{ConductivityWMK: ptr(0.5), DiffusivityM2S: ptr(1.45e-7)}, "k 0.5 W/mK, diffusivity 1.45e-07 m2/s, as given"},
	} {
		if got := c.s.describe(); !strings.HasPrefix(got, c.says) {
			t.Errorf("%q, want %q", got, c.says)
		}
	}
}

// A factor is on all faces alike, and what is on the bench beside the film of
// air is wall and headspace: glass of 3 mm, and 14.99 W/m2K through a vented
// headspace of 25 mm (TestUsualWalls).
func TestFacesByHand(t *testing.T) {
	if got := (Faces{Side: 200, Top: 10, Base: 60}).times(0.5); got != (Faces{Side: 100, Top: 5, Base: 30}) {
		t.Errorf("half of all faces is %+v", got)
	}
	w, err := newWalls(jarInput{})
	if err != nil {
		t.Fatal(err)
	}
	head := 3 * (0.03/0.025 + 4*0.35*5.670374e-8*363*363*363)
	air := w[best].air(10)
	near(t, "side", air.Side, 1/(1/10.0+0.003), 1e-9)
	near(t, "top", air.Top, 1/(1/10.0+1/head), 1e-9)
	near(t, "base", air.Base, 1/(1/10.0+0.003), 1e-9)
	wet := w[best].wetted(400)
	near(t, "base of a bottle", wet.air(10).Base, 1/(1/10.0+0.003+1/400.0), 1e-9)
	near(t, "side of a bottle", wet.air(10).Side, 1/(1/10.0+0.003+1/400.0), 1e-9)
}

// A fill a little denser than its substrate has no pores; a measured
// diffusivity takes the factor; and one measured value is not enough without
// the moisture.
func TestContentsByHand(t *testing.T) {
	solid := propertiesAt(t, WetGrain(0.55), 20).Density
	full, err := newContents(Substrate{MoisturePct: ptr(55)}, best, 1)
	if err != nil {
		t.Fatal(err)
	}
	dense, err := newContents(Substrate{MoisturePct: ptr(55), DensityKgM3: ptr(1.04 * solid)}, best, 1)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "no pores", dense.conduct[0], full.conduct[0], 1e-12)
	one, err := newContents(Substrate{MoisturePct: ptr(55), DiffusivityM2S: ptr(1.45e-7)}, best, 1)
	if err != nil {
		t.Fatal(err)
	}
	twice, err := newContents(Substrate{MoisturePct: ptr(55), DiffusivityM2S: ptr(1.45e-7)}, best, 2)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "twice the diffusivity", twice.conduct[0]/one.conduct[0], 2, 1e-9)
	for _, s := range []Substrate{{}, {ConductivityWMK: ptr(0.5)}, {DiffusivityM2S: ptr(1.45e-7)}} {
		faultAt(t, checkSubstrate(s, "cake"), "substrate.moisture_pct")
	}
	for _, in := range []HoldInput{{Substrate: &Substrate{MoisturePct: ptr(55)}}, {UWM2K: &even}} {
		faultAt(t, holdByCore(in, pot{}, pot{}, &HoldResult{}), "container")
	}
}
