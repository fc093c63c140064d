package thermal

import (
	"math"
	"strings"
	"testing"

	"pinset/internal/figure"
)

// bottleCook is half a litre of medium in a bottle of 80 mm, 30 min at 15 psi.
func bottleCook() CookInput {
	return CookInput{
		AltitudeM: ptr(0), GaugePsi: 15, ComeUpMin: 20, HoldMin: 30, StartC: ptr(20), Cool: "natural", Mode: "liquid",
		Container: Container{BoreMM: 80, FillMM: 100, HeadspaceMM: ptr(50)}, Substrate: Substrate{MoisturePct: ptr(98)},
	}
}

// A stirred body follows C dT/dt = sum of U A (T_outside - T): the closed form
// on a ramp and a hold, with unlike faces. The rest is the 1 % that the body
// is uneven.
func TestLiquidClosedForm(t *testing.T) {
	c := Container{BoreMM: 80, FillMM: 100}
	f := Faces{Side: 200, Top: 15, Base: 60}
	const capacity = 4.1e6
	s := newConduction(cutLiquid(c), constantMedium(stirred, capacity), 20)
	perSec := (200*math.Pi*0.08*0.1 + 75*math.Pi*0.04*0.04) / (capacity * math.Pi * 0.04 * 0.04 * 0.1)
	const rate = 101.0 / 1200 // K/s
	exact := func(sec float64) float64 {
		up := func(sec float64) float64 { return 20 + rate*(sec-(1-math.Exp(-perSec*sec))/perSec) }
		if sec <= 1200 {
			return up(sec)
		}
		return 121 - (121-up(1200))*math.Exp(-perSec*(sec-1200))
	}
	for _, a := range []struct {
		surround
		until float64
	}{{surround{10, 20, 70.5, f}, 600}, {surround{10, 70.5, 121, f}, 1200}, {surround{20, 121, 121, f}, 2400}} {
		if _, err := s.run(a.surround, usualPace, func(float64) bool { return true }); err != nil {
			t.Fatal(err)
		}
		near(t, "stirred", centreOf(s), exact(a.until), 0.3)
		near(t, "spread", s.temp(0)-s.temp(s.body.n-1), 0, 0.4)
	}
}

// The films inside against Churchill and Chu for an upright wall, Nu = (0.825
// + 0.387 Ra^(1/6) / (1 + (0.492/Pr)^(9/16))^(8/27))^2, with water at 80 °C
// (expansion 6.4e-4 1/K, viscosity 3.6e-7, diffusivity 1.64e-7 m2/s, Pr 2.2,
// 0.67 W/mK; steam tables, from memory) on 10 cm: the best one is below that
// of 1 K, the low one a quarter of it, the high one about that of 10 K.
func TestFilmInside(t *testing.T) {
	film := func(dT float64) float64 {
		ra := 9.81 * 6.4e-4 * dT * 0.1 * 0.1 * 0.1 / (3.6e-7 * 1.64e-7)
		nu := 0.825 + 0.387*math.Pow(ra, 1.0/6)/math.Pow(1+math.Pow(0.492/2.2, 9.0/16), 8.0/27)
		return nu * nu * 0.67 / 0.1
	}
	near(t, "1 K", film(1), 470, 10)
	near(t, "10 K", film(10), 960, 10)
	if !(filmInside[best] < film(1) && 4*filmInside[low] < film(1) && filmInside[high] < 1.1*film(10)) {
		t.Errorf("films %v", filmInside)
	}
	// Reckoned by hand: 3 mm of glass, 3000 outside, 400 inside.
	j, err := newJar(bottleCook().jarInput())
	if err != nil {
		t.Fatal(err)
	}
	near(t, "side", j.vessels[best].steam.Side, 1/(1/3000.0+0.003+1/400.0), 1e-9)
	near(t, "base", j.vessels[low].steam.Base, 1/(1/50.0+0.003+1/100.0), 1e-9)
	near(t, "on the bench", j.vessels[best].air.Side, 1/(1/10.0+0.003+1/400.0), 1e-9)
	near(t, "half a litre", bottleCook().Container.litres(), 0.5027, 1e-4)
	square := Container{BoreMM: 80, FillMM: 100, Shape: "block"}
	near(t, "a square bottle", square.litres(), 0.64, 1e-9)
}

// A bottle is there far sooner than a cake of its size, its band is ordered,
// and a bigger one lags behind.
func TestCookLiquid(t *testing.T) {
	in := bottleCook()
	ans := mustCook(t, in)
	c := ans.Result.Core
	if !(c.Low.F0HeatOffMin < c.Best.F0HeatOffMin && c.Best.F0HeatOffMin < c.High.F0HeatOffMin) {
		t.Errorf("band %+v", c)
	}
	cake := in
	cake.Mode, cake.Substrate.MoisturePct = "cake", ptr(90)
	if k := mustCook(t, cake).Result.Core; !(k.High.F0HeatOffMin < 0.2*c.Low.F0HeatOffMin) {
		t.Errorf("a cake of the size gets %g min, the bottle at least %g", k.High.F0HeatOffMin, c.Low.F0HeatOffMin)
	}
	big := in
	big.Container.BoreMM, big.Container.FillMM, big.Container.HeadspaceMM = 150, 170, nil
	if b := mustCook(t, big); !(b.Result.Core.Best.F0HeatOffMin < c.Best.F0HeatOffMin) || !hasCaution(b.Cautions, "big_bottle") {
		t.Errorf("3 L get %+v, half a litre %+v", b.Result.Core.Best, c.Best)
	}
	near(t, "place of a probe", c.Best.ColdSpot.ZMM, 15, 1e-9)
	for code, want := range map[string]bool{"liquid": true, "boil_over": true, "gel": true, "too_full": false, "big_bottle": false, "wet_heat_only": false, "no_headspace": false} {
		if hasCaution(ans.Cautions, code) != want {
			t.Errorf("caution %s: want %v", code, want)
		}
	}
	in.Container.HeadspaceMM, in.Cool = ptr(20), "fast"
	ans = mustCook(t, in)
	if !hasCaution(ans.Cautions, "too_full") {
		t.Error("a bottle filled to 83 % passes without a word")
	}
	for _, said := range ans.Cautions {
		if said.Code == "boil_over" && said.Weight != "stop" {
			t.Errorf("venting a liquid is %s", said.Weight)
		}
	}
	water := bottleCook()
	water.Substrate = Substrate{}
	near(t, "plain water", mustCook(t, water).Result.Core.Best.F0HeatOffMin, c.Best.F0HeatOffMin, 0.5)
}

// A probe in a bottle is fitted by the faces, and the factor comes back.
func TestCalibrateLiquid(t *testing.T) {
	in := bottleCook()
	in.Container.Surface = ptr(0.7)
	j, err := newJar(in.jarInput())
	if err != nil {
		t.Fatal(err)
	}
	v := j.vessels[best]
	bottle := newConduction(v.body, v.medium, 20)
	ask := CalibrateInput{
		Container: bottleCook().Container, Substrate: in.Substrate, Mode: "liquid", Fit: "surface",
		TimesMin: []float64{0}, ChamberC: []float64{20}, CoreC: []float64{20},
	}
	for m := 1.0; m <= 50; m++ {
		a := surround{1, math.Min(20+5*(m-1), 120), math.Min(20+5*m, 120), v.steam}
		if _, err := bottle.run(a, usualPace, func(float64) bool { return true }); err != nil {
			t.Fatal(err)
		}
		ask.TimesMin, ask.ChamberC, ask.CoreC = append(ask.TimesMin, m), append(ask.ChamberC, a.to), append(ask.CoreC, centreOf(bottle))
	}
	ans, err := Calibrate(ask)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "factor", ans.Result.Factor, 0.7, 0.01)
	ask.Fit = ""
	_, err = Calibrate(ask)
	faultAt(t, err, "fit")
}

func TestLiquidFaults(t *testing.T) {
	for _, c := range []struct {
		name, field string
		spoil       func(*CookInput)
	}{
		{"mash", "substrate.moisture_pct", func(in *CookInput) { in.Substrate.MoisturePct = ptr(84) }},
		{"more than water", "substrate.moisture_pct", func(in *CookInput) { in.Substrate.MoisturePct = ptr(101) }},
		{"a cake of water", "substrate.moisture_pct", func(in *CookInput) { in.Mode, in.Substrate.MoisturePct = "cake", ptr(98) }},
		{"conductivity", "substrate.conductivity_w_mk", func(in *CookInput) { in.Substrate.ConductivityWMK = ptr(0.6) }},
		{"diffusivity", "substrate.diffusivity_m2_s", func(in *CookInput) { in.Substrate.DiffusivityM2S = ptr(1.45e-7) }},
		{"spread", "substrate.spread_pct", func(in *CookInput) { in.Substrate.SpreadPct = ptr(10) }},
		{"multiplier", "substrate.multiplier", func(in *CookInput) { in.Substrate.Multiplier = ptr(2) }},
		{"stack", "container.stacked", func(in *CookInput) { in.Container.Stacked = 2 }},
	} {
		t.Run(c.name, func(t *testing.T) {
			in := bottleCook()
			c.spoil(&in)
			_, err := Cook(in)
			faultAt(t, err, c.field)
		})
	}
}

// A liquid has the heat of its water and solids, filled at 20 °C; a bottle of
// more than two litres is big, one of more than three quarters too full, and
// its probe belongs at 0.15 of the fill.
func TestLiquidByHand(t *testing.T) {
	m, err := newLiquid(Substrate{MoisturePct: ptr(90)})
	if err != nil {
		t.Fatal(err)
	}
	x := WetGrain(0.90)
	near(t, "capacity", m.content(21)-m.content(20), propertiesAt(t, x, 20).Density*propertiesAt(t, x, 20.5).Heat, 50) // of 4e6, for a slope over a kelvin
	cautions := func(c Container) []figure.Caution {
		return liquidCautions(jarInput{container: c, mode: "liquid"}, false)
	}
	block := func(depth float64) Container {
		return Container{Shape: "block", BoreMM: 100, DepthMM: &depth, FillMM: 100}
	}
	near(t, "litres", block(50).litres(), 0.5, 1e-9)
	for depth, big := range map[float64]bool{199.9: false, 200.1: true} {
		if got := hasCaution(cautions(block(depth)), "big_bottle"); got != big {
			t.Errorf("%g L: big %v", depth/100, got)
		}
	}
	for _, c := range cautions(Container{BoreMM: 80, FillMM: 200}) {
		if c.Code == "liquid" && !strings.Contains(c.Text, "about 30 mm above the bottom") {
			t.Error(c.Text)
		}
	}
}
