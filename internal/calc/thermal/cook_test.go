package thermal

import (
	"encoding/json"
	"errors"
	"math"
	"strings"
	"testing"

	"pinset/internal/figure"
)

// usualCook is a pint of grain cake, 90 min at 15 psi and sea level.
func usualCook() CookInput {
	return CookInput{
		AltitudeM: ptr(0), GaugePsi: 15, ComeUpMin: 20, HoldMin: 90, Cool: "natural",
		Container: Container{BoreMM: 76, FillMM: 95}, Substrate: Substrate{MoisturePct: ptr(55)},
	}
}

// cakeCook is the cake of the tables: k 0.50 W/mK, 1.45e-7 m2/s, 250 W/m2K.
func cakeCook(bore, fill float64) CookInput {
	in := usualCook()
	in.Container = Container{BoreMM: bore, FillMM: fill}
	in.Substrate = Substrate{ConductivityWMK: ptr(0.50), DiffusivityM2S: ptr(1.45e-7)}
	in.UWM2K = &even
	return in
}

func mustCook(t *testing.T, in CookInput) figure.Answer[CookResult] {
	t.Helper()
	ans, err := Cook(in)
	if err != nil {
		t.Fatalf("Cook: %v", err)
	}
	if _, err := json.Marshal(ans); err != nil {
		t.Fatal(err)
	}
	return ans
}

// share is the tolerance on a lethality: 5 % or 0.02 min, whichever is more.
// That is what two codes of half a per cent of conduction error differ by.
func share(f float64) float64 { return math.Max(0.05*f, 0.0201) }

// cakeTable is core temperature and F0 of four loads by hold minutes, and the
// hold for F0 8, 12, 15 and 20 (nothing of the cooling counted), computed by
// other hands with another code: come-up of 20 min from 20 °C.
var cakeTable = []struct {
	bore, fill, chamber float64
	core                [6][2]float64 // at 30, 45, 60, 75, 90 and 120 min; NaN where not printed
	hold                [4]float64
}{
	{66, 55, 120.95, [6][2]float64{{105.2, 0.09}, {115.1, 1.83}, {118.8, 8.12}, {120.1, 18.7}, {120.6, 31.5}, {120.9, 59.6}}, [4]float64{60, 66, 70, 77}},
	{66, 55, 115.20, [6][2]float64{{100.3, 0.03}, {109.6, 0.55}, {113.1, 2.30}, {114.4, 5.16}, {114.9, 8.60}, {115.2, 16.1}}, [4]float64{88, 104, 116, 135}},
	{76, 95, 120.95, [6][2]float64{{80.0, 0}, {98.1, 0.02}, {108.4, 0.36}, {114.0, 2.12}, {117.2, 6.60}, {119.8, 24.3}}, [4]float64{93, 101, 107, 114}},
	{76, 95, 115.20, [6][2]float64{{76.6, 0}, {93.7, 0.01}, {103.3, 0.12}, {108.7, 0.64}, {111.6, 1.92}, {114.1, 6.76}}, [4]float64{126, 144, 157, 177}},
	{90, 140, 120.95, [6][2]float64{{57.5, 0}, {76.5, 0}, {90.5, 0}, {100.3, 0.06}, {107.0, 0.37}, {114.7, 3.96}}, [4]float64{134, 144, 150, 159}},
	{90, 140, 115.20, [6][2]float64{{55.4, 0}, {73.3, 0}, {86.5, 0}, {95.7, 0.02}, {102.1, 0.12}, {109.3, 1.19}}, [4]float64{173, 193, 207, 228}},
	{108, 190, 120.95, [6][2]float64{{39.8, 0}, {55.3, 0}, {69.1, 0}, {80.6, 0}, {89.7, 0.01}, {102.5, 0.15}}, [4]float64{189, 201, 209, 220}},
}

func TestCakeTable(t *testing.T) {
	for _, c := range cakeTable {
		v := vessel{body: cut(Container{BoreMM: c.bore, FillMM: c.fill, Shape: "cylinder"}), medium: pint(), steam: even}
		p := process{start: 20, chamber: c.chamber, comeUp: 20}
		h := newHeating(v, p)
		if err := h.comeUp(p); err != nil {
			t.Fatal(err)
		}
		if err := h.hold(p, 230, nil); err != nil {
			t.Fatal(err)
		}
		q := h.probe.coldest()
		temps := h.probe.course(q)
		f := h.probe.lethality(temps)
		for i, m := range []float64{30, 45, 60, 75, 90, 120} {
			near(t, "core", readAt(h.probe.minute, temps, 20+m), c.core[i][0], 0.1) // printed to 0.1 °C
			near(t, "F0", readAt(h.probe.minute, f, 20+m), c.core[i][1], share(c.core[i][1]))
		}
		for i, target := range []float64{8, 12, 15, 20} {
			near(t, "hold", readAt(f, h.probe.minute, target)-20, c.hold[i], 1) // printed to the minute
		}
	}
}

// The same loads, 90 min at 120.95 °C, 45 min to 97 °C in the closed pot and
// then in air of 22 °C with 8 to 12 W/m2K: total F0, core at the opening, and
// hours in air to 30 °C, computed by other hands.
func TestCakeTableCooling(t *testing.T) {
	for _, c := range []struct{ bore, fill, heatOff, total, opened, soon, late float64 }{
		{66, 55, 31.5, 56, 109, 2.6, 3.5},
		{76, 95, 6.6, 29, 114, 3.7, 5.0},
		{90, 140, 0.37, 9, 113, 5.0, 6.6},
		{108, 190, 0.01, 1.6, 105, 6.6, 8.6},
	} {
		r := mustCook(t, cakeCook(c.bore, c.fill)).Result
		near(t, "F0 at heat-off", r.Core.Best.F0HeatOffMin, c.heatOff, share(c.heatOff))
		near(t, "F0 total", r.Core.Best.F0TotalMin, c.total, share(c.total))
		near(t, "hours, soonest", *r.HoursTo30CBand.Low, c.soon, 0.06) // printed to 0.1 h
		near(t, "hours, latest", *r.HoursTo30CBand.High, c.late, 0.06)
		near(t, "hours from heat-off", *r.HoursTo30CHeatOff, *r.HoursTo30C+0.75, 1e-9)
		if !(*r.HoursTo30CBand.Low < *r.HoursTo30C && *r.HoursTo30C < *r.HoursTo30CBand.High) {
			t.Errorf("hours %+v", r.HoursTo30CBand)
		}
		for _, row := range r.Trace {
			if row.Min == 156 || row.Min == 155 {
				near(t, "core at the opening", row.BestC, c.opened, 0.8) // printed to 1 °C, and up to a minute later
			}
		}
	}
}

// Shallow cakes of 76 mm, 60 min at 15 psi: heated alike all round, and with
// a still headspace above and a poor base below, where the cold spot climbs.
// Computed by other hands; "about", so 5 % on the lethality.
func TestShallowCakes(t *testing.T) {
	for _, c := range []struct{ fill, even, uneven float64 }{{16, 48, 15}, {25, 34, 4.6}, {35, 19, 1.5}} {
		in := cakeCook(76, c.fill)
		in.HoldMin = 60
		r := mustCook(t, in).Result.Core.Best
		near(t, "even", r.F0HeatOffMin, c.even, 0.05*c.even)
		near(t, "even: the middle", r.ColdSpot.ZMM, c.fill/2, 0.01*c.fill)
		in.UWM2K = &Faces{Side: 250, Top: 5, Base: 60}
		r = mustCook(t, in).Result.Core.Best
		near(t, "uneven", r.F0HeatOffMin, c.uneven, 0.05*c.uneven)
		if at := r.ColdSpot.ZMM / c.fill; at < 0.835 || at > 0.915 { // printed to two digits
			t.Errorf("cold spot at %.2f of the height, want 0.84 to 0.91", at)
		}
	}
}

// The hold for a target: cooked for just that long the core has just that
// much; with the cooling counted it is shorter, and then the total is it.
func TestCookHoldForTarget(t *testing.T) {
	in := cakeCook(76, 95)
	in.TargetF0Min = ptr(12)
	r := mustCook(t, in).Result
	if !(*r.HoldForTargetMin.Low < *r.HoldForTargetMin.Best && *r.HoldForTargetMin.Best < *r.HoldForTargetMin.High) {
		t.Errorf("band %+v", r.HoldForTargetMin)
	}
	in.HoldMin = *r.HoldForTargetMin.Best
	near(t, "at heat-off", mustCook(t, in).Result.Core.Best.F0HeatOffMin, 12, 0.03)
	in.HoldMin = *r.HoldForTargetMin.High
	near(t, "slow run at heat-off", mustCook(t, in).Result.Core.Low.F0HeatOffMin, 12, 0.03)
	in.HoldMin = *r.HoldWithCooldownMin
	again := mustCook(t, in).Result
	near(t, "with the cooling", again.Core.Best.F0TotalMin, 12, 0.05)
	near(t, "the hold does not depend on the cook's own", *again.HoldForTargetMin.Best, *r.HoldForTargetMin.Best, 0.05)
	if !(*r.HoldWithCooldownMin < *r.HoldForTargetMin.Best-20) {
		t.Errorf("with the cooling %g min, without %g min", *r.HoldWithCooldownMin, *r.HoldForTargetMin.Best)
	}
}

// Vented, nothing counts after heat-off.
func TestCookFastCooling(t *testing.T) {
	in := cakeCook(76, 95)
	slow := mustCook(t, in).Result
	in.Cool = "fast"
	ans := mustCook(t, in)
	r := ans.Result
	near(t, "at heat-off", r.Core.Best.F0HeatOffMin, slow.Core.Best.F0HeatOffMin, 1e-9)
	if r.Core.Best.F0TotalMin != r.Core.Best.F0HeatOffMin || r.Core.Low.F0OpenedMin != r.Core.Low.F0HeatOffMin || r.HoldWithCooldownMin != nil {
		t.Errorf("fast cooling is credited: %+v", r.Core)
	}
	if last := r.Trace[len(r.Trace)-1]; last.BestF0 != r.Core.Best.F0HeatOffMin {
		t.Errorf("the trace goes on to %g min of F0", last.BestF0)
	}
	if !hasCaution(ans.Cautions, "fast_cooling") || hasCaution(ans.Cautions, "cooling_counts") {
		t.Errorf("cautions %+v", ans.Cautions)
	}
}

// F grows with time, temperature, conductivity and coefficients, and shrinks
// with bore and fill; each run is at least the one below it.
func TestCookLaws(t *testing.T) {
	base := mustCook(t, usualCook()).Result
	c := base.Core
	if !(c.Low.F0HeatOffMin < c.Best.F0HeatOffMin && c.Best.F0HeatOffMin < c.High.F0HeatOffMin &&
		c.Low.F0TotalMin <= c.Best.F0TotalMin && c.Best.F0TotalMin <= c.High.F0TotalMin && c.Low.PeakC <= c.Best.PeakC) {
		t.Errorf("runs out of order: %+v", c)
	}
	for _, v := range []struct {
		name   string
		more   bool
		change func(*CookInput)
	}{
		{"hold", true, func(in *CookInput) { in.HoldMin = 95 }},
		{"come-up", true, func(in *CookInput) { in.ComeUpMin = 25 }},
		{"pressure", true, func(in *CookInput) { in.GaugePsi = 15.3 }},
		{"start", true, func(in *CookInput) { in.StartC = ptr(40) }},
		{"wet lid", true, func(in *CookInput) { in.Lid = "wet" }},
		{"conductivity", true, func(in *CookInput) { in.Substrate.Multiplier = ptr(1.5) }},
		{"altitude", false, func(in *CookInput) { in.AltitudeM = ptr(1500) }},
		{"gauge reads high", false, func(in *CookInput) { in.GaugeReadsHighPsi = 1 }},
		{"trapped air", false, func(in *CookInput) { in.AirFraction = 0.2 }},
		{"tight lid", false, func(in *CookInput) { in.Lid = "tight" }},
		{"bore", false, func(in *CookInput) { in.Container.BoreMM = 82 }},
		{"fill", false, func(in *CookInput) { in.Container.FillMM = 105 }},
		{"plastic wall", false, func(in *CookInput) { in.Container.Material = "polypropylene" }},
		{"thick wall", false, func(in *CookInput) { in.WallMM = ptr(6) }},
		{"thin film", false, func(in *CookInput) { in.FilmWM2K = ptr(300) }},
		{"drier", false, func(in *CookInput) { in.Substrate.MoisturePct = ptr(40) }},
	} {
		in := usualCook()
		v.change(&in)
		got := mustCook(t, in).Result.Core.Best.F0HeatOffMin
		if (got > c.Best.F0HeatOffMin) != v.more {
			t.Errorf("%s: F0 %g against %g", v.name, got, c.Best.F0HeatOffMin)
		}
	}
}

// A block as wide and deep as a jar's bore heats slower than the jar: it has
// more in its corners; and a deeper block slower still.
func TestCookBlock(t *testing.T) {
	in := cakeCook(76, 95)
	round := mustCook(t, in).Result.Core.Best.F0HeatOffMin
	in.Container.Shape = "block"
	square := mustCook(t, in).Result.Core.Best.F0HeatOffMin
	in.Container.DepthMM = ptr(90)
	deep := mustCook(t, in).Result.Core.Best.F0HeatOffMin
	if !(deep < square && square < round) {
		t.Errorf("round %g, square %g, deep %g", round, square, deep)
	}
}

func TestCookTrace(t *testing.T) {
	r := mustCook(t, usualCook()).Result
	if n := len(r.Trace); n < 60 || n > traceRows+1 || r.Trace[0].Min != 0 || r.Trace[0].ChamberC != 20 {
		t.Fatalf("%d rows, the first %+v", n, r.Trace[0])
	}
	last := r.Trace[0]
	for _, row := range r.Trace[1:] {
		if row.BestF0 < last.BestF0-1e-12 || row.Min <= last.Min {
			t.Errorf("after %+v comes %+v", last, row)
		}
		if row.LowC > row.HighC+0.05 && row.Min < 110 {
			t.Errorf("the slow run is ahead while heating: %+v", row)
		}
		last = row
	}
	near(t, "end of F0", last.BestF0, r.Core.Best.F0TotalMin, 1e-6)
}

func TestCookCautions(t *testing.T) {
	for _, c := range []struct {
		code   string
		want   bool
		change func(*CookInput)
	}{
		{"core_lags", true, func(*CookInput) {}},
		{"cooling_counts", true, func(*CookInput) {}},
		{"target_assumed", true, func(*CookInput) {}},
		{"target_assumed", false, func(in *CookInput) { in.TargetF0Min = ptr(12) }},
		{"estimate", true, func(*CookInput) {}},
		{"manual_first", true, func(*CookInput) {}},
		{"opening", true, func(*CookInput) {}},
		{"wet_heat_only", true, func(*CookInput) {}},
		{"water", false, func(*CookInput) {}},
		{"water", true, func(in *CookInput) { in.HoldMin = 120 }},
		{"long_heat", true, func(in *CookInput) { in.HoldMin = 180 }},
		{"core_lags", false, func(in *CookInput) { in.HoldMin = 180 }},
		{"altitude", true, func(in *CookInput) { in.AltitudeM = ptr(1500) }},
		{"below_118", true, func(in *CookInput) { in.GaugePsi = 10 }},
		{"too_long", true, func(in *CookInput) { in.GaugePsi = 5 }},
		{"target_out_of_reach", true, func(in *CookInput) { in.GaugePsi = 0 }},
		{"trapped_air", true, func(in *CookInput) { in.AirFraction = 0.3 }},
		{"plastic", true, func(in *CookInput) { in.Container.Material = "PP" }},
		{"plastic", true, func(in *CookInput) { in.WallWMK = ptr(0.2) }},
		{"plastic", false, func(*CookInput) {}},
		{"tight_lid", true, func(in *CookInput) { in.Lid = "tight" }},
		{"loose", true, func(in *CookInput) { in.Mode = "loose" }},
		{"do_not_overload", true, func(*CookInput) {}},
		{"no_headspace", true, func(in *CookInput) { in.Container.HeadspaceMM = ptr(10) }},
		{"no_headspace", false, func(in *CookInput) { in.Container.HeadspaceMM = ptr(15) }},
		{"glass", true, func(*CookInput) {}},
		{"glass", true, func(in *CookInput) { in.Container.Material = "borosilicate" }},
		{"glass", false, func(in *CookInput) { in.Container.Material = "steel" }},
		{"start_assumed", true, func(*CookInput) {}},
		{"start_assumed", false, func(in *CookInput) { in.StartC = ptr(18) }},
		{"slow_start", false, func(in *CookInput) { in.ComeUpMin = 75 }},
		{"slow_start", true, func(in *CookInput) { in.ComeUpMin = 76 }},
		{"fast_cooling", true, func(in *CookInput) { in.Cool = "fast" }},
		{"inoculate_cold", true, func(*CookInput) {}},
		{"vent_first", true, func(*CookInput) {}},
		{"model", true, func(*CookInput) {}},
		{"gauge_untested", true, func(*CookInput) {}},
		{"gauge_untested", false, func(in *CookInput) { in.GaugeReadsHighPsi = 0.5 }},
		{"wall_assumed", true, func(*CookInput) {}},
		{"wall_assumed", false, func(in *CookInput) { in.UWM2K = &even }},
		{"room_too_warm", true, func(in *CookInput) { in.RoomC = ptr(32) }},
		{"above_usual_rating", true, func(in *CookInput) { in.GaugePsi = 18 }},
	} {
		in := usualCook()
		c.change(&in)
		ans := mustCook(t, in)
		if got := hasCaution(ans.Cautions, c.code); got != c.want {
			t.Errorf("%s: %v, want %v", c.code, got, c.want)
		}
		for _, said := range ans.Cautions {
			if strings.Contains(strings.ToLower(said.Title+said.Text), "steril") {
				t.Errorf("a caution promises too much: %+v", said)
			}
		}
	}
}

// Where a target is out of reach or a room too warm the figure is null.
func TestCookNulls(t *testing.T) {
	in := usualCook()
	in.GaugePsi, in.RoomC = 0, ptr(32)
	r := mustCook(t, in).Result
	if r.HoldForTargetMin.High != nil || r.HoldForTargetMin.Best != nil || r.HoldWithCooldownMin != nil || r.HoursTo30C != nil || r.HoursTo30CBand.Low != nil {
		t.Errorf("%+v", r.Core)
	}
}

// What was not measured widens the band: a load of unknown temperature starts
// at 10, 20 and 30 °C, and a gauge in doubt is taken lower in the slow run
// and higher in the fast one.
func TestCookDoubts(t *testing.T) {
	at := func(change func(*CookInput)) CookCore {
		in := cakeCook(66, 55)
		change(&in)
		return mustCook(t, in).Result.Core
	}
	unknown := at(func(*CookInput) {})
	for i, start := range usualStart {
		given := at(func(in *CookInput) { in.StartC = &start })
		run := func(c CookCore) CookRun { return [3]CookRun{c.Low, c.Best, c.High}[i] }
		near(t, "start", run(unknown).F0HeatOffMin, run(given).F0HeatOffMin, 0)
	}
	sure := at(func(in *CookInput) { in.StartC = ptr(20) })
	if !(unknown.Low.F0HeatOffMin < 0.97*sure.Low.F0HeatOffMin && unknown.High.F0HeatOffMin > 1.02*sure.High.F0HeatOffMin) {
		t.Errorf("an unknown start leaves the band as it is: %+v, %+v", unknown, sure)
	}
	doubt := at(func(in *CookInput) { in.GaugeDoubtPsi = 1 })
	near(t, "gauge, low", doubt.Low.F0HeatOffMin, at(func(in *CookInput) { in.GaugePsi = 14 }).Low.F0HeatOffMin, 1e-9)
	near(t, "gauge, best", doubt.Best.F0HeatOffMin, unknown.Best.F0HeatOffMin, 0)
	near(t, "gauge, high", doubt.High.F0HeatOffMin, at(func(in *CookInput) { in.GaugePsi = 16 }).High.F0HeatOffMin, 1e-9)
	open := at(func(in *CookInput) { in.GaugePsi, in.GaugeDoubtPsi = 0.5, 2 })
	near(t, "no vacuum", open.Low.F0HeatOffMin, at(func(in *CookInput) { in.GaugePsi = 0 }).Low.F0HeatOffMin, 1e-9)
}

// Bags that lie on each other heat as one of their height.
func TestCookStacked(t *testing.T) {
	in := cakeCook(120, 50)
	in.Container.Shape, in.Container.Stacked = "block", 3
	stacked := mustCook(t, in)
	in.Container.Stacked, in.Container.FillMM = 0, 150
	one := mustCook(t, in)
	near(t, "a stack of three", stacked.Result.Core.Best.F0TotalMin, one.Result.Core.Best.F0TotalMin, 0)
	if !hasCaution(stacked.Cautions, "stacked") || hasCaution(one.Cautions, "stacked") {
		t.Errorf("cautions %+v", stacked.Cautions)
	}
}

// A loose fill has the cake as its low figure and is open upwards.
func TestCookLoose(t *testing.T) {
	cake := mustCook(t, usualCook()).Result.Core
	in := usualCook()
	in.Mode = "loose"
	loose := mustCook(t, in).Result.Core
	near(t, "low", loose.Low.F0HeatOffMin, cake.Low.F0HeatOffMin, 0)
	near(t, "best", loose.Best.F0HeatOffMin, cake.Best.F0HeatOffMin, 0)
	if !(loose.High.F0HeatOffMin > 2*cake.High.F0HeatOffMin) {
		t.Errorf("loose %+v, cake %+v", loose, cake)
	}
}

func TestCookFaults(t *testing.T) {
	for _, c := range []struct {
		name, field string
		spoil       func(*CookInput)
	}{
		{"hold 0", "hold_min", func(in *CookInput) { in.HoldMin = 0 }},
		{"nan hold", "hold_min", func(in *CookInput) { in.HoldMin = math.NaN() }},
		{"come-up", "come_up_min", func(in *CookInput) { in.ComeUpMin = -1 }},
		{"cool", "cool", func(in *CookInput) { in.Cool = "" }},
		{"cool end", "cool_end_c", func(in *CookInput) { in.CoolEndC = ptr(110) }},
		{"cool end below the room", "cool_end_c", func(in *CookInput) { in.CoolEndC = ptr(15) }},
		{"start", "start_c", func(in *CookInput) { in.StartC = ptr(-3) }},
		{"start above the pot", "start_c", func(in *CookInput) { in.AltitudeM, in.GaugePsi, in.StartC = ptr(5000), 0, ptr(90) }},
		{"room", "room_c", func(in *CookInput) { in.RoomC = ptr(72) }},
		{"target", "target_f0_min", func(in *CookInput) { in.TargetF0Min = ptr(0) }},
		{"9000 m", "altitude_m", func(in *CookInput) { in.AltitudeM = ptr(9000) }},
		{"no altitude", "altitude_m", func(in *CookInput) { in.AltitudeM = nil }},
		{"rating", "gauge_psi", func(in *CookInput) { in.RatedPsi = ptr(12) }},
		{"air", "air_fraction", func(in *CookInput) { in.AirFraction = 30 }},
		{"bore in cm", "container.bore_mm", func(in *CookInput) { in.Container.BoreMM = 7.6 }},
		{"nan fill", "container.fill_mm", func(in *CookInput) { in.Container.FillMM = math.NaN() }},
		{"depth", "container.depth_mm", func(in *CookInput) { in.Container.DepthMM = ptr(0) }},
		{"headspace", "container.headspace_mm", func(in *CookInput) { in.Container.HeadspaceMM = ptr(-1) }},
		{"shape", "container.shape", func(in *CookInput) { in.Container.Shape = "ball" }},
		{"gauge doubt", "gauge_doubt_psi", func(in *CookInput) { in.GaugeDoubtPsi = 15 }},
		{"stack", "container.stacked", func(in *CookInput) { in.Container.Stacked = 11 }},
		{"minus stack", "container.stacked", func(in *CookInput) { in.Container.Stacked = -1 }},
		{"high stack", "container.stacked", func(in *CookInput) { in.Container.Stacked = 7 }},
		{"count", "container.count", func(in *CookInput) { in.Container.Count = -1 }},
		{"soft plastic", "container.material", func(in *CookInput) { in.Container.Material = "HDPE" }},
		{"material", "container.material", func(in *CookInput) { in.Container.Material = "wood" }},
		{"mode", "mode", func(in *CookInput) { in.Mode = "grain" }},
		{"moisture as a share", "substrate.moisture_pct", func(in *CookInput) { in.Substrate.MoisturePct = ptr(0.55) }},
		{"no moisture", "substrate.moisture_pct", func(in *CookInput) { in.Substrate.MoisturePct = nil }},
		{"density", "substrate.density_kg_m3", func(in *CookInput) { in.Substrate.DensityKgM3 = ptr(1500) }},
		{"density in g/ml", "substrate.density_kg_m3", func(in *CookInput) { in.Substrate.DensityKgM3 = ptr(0.8) }},
		{"conductivity", "substrate.conductivity_w_mk", func(in *CookInput) { in.Substrate.ConductivityWMK = ptr(50) }},
		{"diffusivity in mm2/s", "substrate.diffusivity_m2_s", func(in *CookInput) { in.Substrate.DiffusivityM2S = ptr(0.145) }},
		{"spread", "substrate.spread_pct", func(in *CookInput) { in.Substrate.SpreadPct = ptr(100) }},
		{"multiplier", "substrate.multiplier", func(in *CookInput) { in.Substrate.Multiplier = ptr(0) }},
		{"u", "u_w_m2k.top", func(in *CookInput) { in.UWM2K = &Faces{Side: 250, Base: 60} }},
		{"u and wall", "u_w_m2k", func(in *CookInput) { in.UWM2K, in.WallMM = &even, ptr(3) }},
		{"wall in m", "wall_mm", func(in *CookInput) { in.WallMM = ptr(0.003) }},
		{"wall conductivity", "wall_w_mk", func(in *CookInput) { in.WallWMK = ptr(0) }},
		{"film", "film_w_m2k", func(in *CookInput) { in.FilmWM2K = ptr(math.NaN()) }},
		{"lid", "lid", func(in *CookInput) { in.Lid = "open" }},
	} {
		t.Run(c.name, func(t *testing.T) {
			in := usualCook()
			c.spoil(&in)
			_, err := Cook(in)
			faultAt(t, err, c.field)
		})
	}
}

func FuzzCook(f *testing.F) {
	f.Add(76.0, 20.0, 15.0, 20.0, 60.0, 55.0)
	f.Add(15.0, 5.0, 50.0, 0.0, 0.1, 95.0)
	f.Add(200.0, 15.0, 0.0, 600.0, 30.0, 5.0)
	f.Fuzz(func(t *testing.T, bore, fill, gauge, comeUp, hold, moisture float64) {
		in := usualCook()
		in.Container.BoreMM, in.Container.FillMM, in.GaugePsi = bore, fill, gauge
		in.ComeUpMin, in.HoldMin, in.Substrate.MoisturePct = comeUp, hold, &moisture
		ans, err := Cook(in)
		var fault *figure.Fault
		if err != nil && !errors.As(err, &fault) {
			t.Fatalf("error %v is no fault", err)
		}
		if err != nil {
			return
		}
		if _, err := json.Marshal(ans); err != nil {
			t.Fatal(err)
		}
	})
}
