package thermal

import (
	"math"
	"slices"
	"testing"
)

// along is cakeCook along a record.
func along(minutes, chamber []float64, heatOff float64) CookInput {
	in := cakeCook(66, 55)
	in.StartC, in.ComeUpMin, in.HoldMin = ptr(20), 0, 0
	in.Record = &ChamberRecord{TimesMin: minutes, ChamberC: chamber, HeatOffMin: &heatOff}
	return in
}

// The record of a cook that went as planned gives what the plan gives; both go
// through the table of another solver (cakeTable, 66 × 55 mm, 60 min).
func TestCookAlongItsOwnPlan(t *testing.T) {
	plan := cakeCook(66, 55)
	plan.StartC, plan.HoldMin = ptr(20), 60
	want := mustCook(t, plan).Result
	top := want.ChamberC
	in := along([]float64{5, 25, 55, 85, 130}, []float64{20, top, top, top, 97}, 85)
	got := mustCook(t, in).Result
	for _, x := range []struct {
		what      string
		got, want float64
	}{
		{"F0 at heat-off, low", got.Core.Low.F0HeatOffMin, want.Core.Low.F0HeatOffMin},
		{"F0 at heat-off", got.Core.Best.F0HeatOffMin, want.Core.Best.F0HeatOffMin},
		{"F0 at heat-off, high", got.Core.High.F0HeatOffMin, want.Core.High.F0HeatOffMin},
		{"F0 when opened", got.Core.Best.F0OpenedMin, want.Core.Best.F0OpenedMin},
		{"F0 of all that was logged", got.Core.Best.F0TotalMin, want.Core.Best.F0OpenedMin},
		{"hours to 30 °C", *got.HoursTo30C, *want.HoursTo30C},
	} {
		if math.Abs(x.got-x.want) > 0.002*x.want { // steps begin anew at each reading
			t.Errorf("%s is %.4f along the record, %.4f by the plan", x.what, x.got, x.want)
		}
	}
	if f := got.Core.Best.F0HeatOffMin; math.Abs(f-8.12) > share(8.12) {
		t.Errorf("F0 %.3f, the table has 8.12", f)
	}
	if got.HoldForTargetMin.Best != nil || got.HoldWithCooldownMin != nil {
		t.Error("a hold is told for a cook that is over")
	}
}

// A dip earns less than none, two stretches earn more than the first alone, and
// what a logger may be off widens the band.
func TestCookAlongABrokenHold(t *testing.T) {
	minutes, top := []float64{0, 20, 60, 62, 72, 74, 120}, 120.95
	whole := []float64{20, top, top, top, top, top, top}
	broken := []float64{20, top, top, 97, 97, top, top}
	f := func(in CookInput) float64 { return mustCook(t, in).Result.Core.Best.F0HeatOffMin }
	unbroken, dipped := f(along(minutes, whole, 120)), f(along(minutes, broken, 120))
	first := f(along(minutes[:3], broken[:3], 60))
	if !(first < dipped && dipped < 0.8*unbroken) {
		t.Errorf("F0 %.2f for the first stretch, %.2f with the second, %.2f without the dip", first, dipped, unbroken)
	}
	sure, doubtful := along(minutes, whole, 120), along(minutes, whole, 120)
	doubtful.Record.DoubtK = 0.5
	a, b := mustCook(t, sure).Result.Core, mustCook(t, doubtful).Result.Core
	if !(b.Low.F0HeatOffMin < 0.95*a.Low.F0HeatOffMin && b.High.F0HeatOffMin > 1.05*a.High.F0HeatOffMin) || b.Best != a.Best {
		t.Errorf("half a kelvin of doubt makes %v of %v", b, a)
	}
}

// A reading a second is thinned on the safe side; heat-off may fall between
// two readings.
func TestCookAlongManyReadings(t *testing.T) {
	var minutes, chamber []float64
	for s := 0.0; s <= 100*60; s++ {
		minutes = append(minutes, s/60)
		chamber = append(chamber, math.Min(20+s/60*5, 121)-0.2*math.Mod(s, 2))
	}
	given := slices.Clone(chamber)
	r, err := Cook(along(minutes, chamber, 90))
	if err != nil {
		t.Fatal(err)
	}
	for i := range chamber {
		chamber[i] = math.Min(20+minutes[i]*5, 121) - 0.2
	}
	low, err := Cook(along(minutes[:5401], chamber[:5401], 90))
	if err != nil {
		t.Fatal(err)
	}
	got, want := r.Result.Core.Best.F0HeatOffMin, low.Result.Core.Best.F0HeatOffMin
	if math.Abs(got-want) > 0.01*want {
		t.Errorf("F0 %.3f of a record that flickers, %.3f of its lower edge", got, want)
	}
	if heating, cooling := along(minutes, given, 90.005).Record.split(); len(heating.TimesMin) > mostReadings+2 || heating.TimesMin[len(heating.TimesMin)-1] != 90.005 || cooling.TimesMin[0] != 90.005 {
		t.Errorf("%d readings are left, and the parts meet at minute %g and %g", len(heating.TimesMin), heating.TimesMin[len(heating.TimesMin)-1], cooling.TimesMin[0])
	}
}

func TestCookAlongRefuses(t *testing.T) {
	for field, change := range map[string]func(*CookInput){
		"record":                 func(in *CookInput) { in.HoldMin = 60 },
		"record.chamber_c":       func(in *CookInput) { in.Record.ChamberC = in.Record.ChamberC[:2] },
		"record.chamber_c[1]":    func(in *CookInput) { in.Record.ChamberC[1] = 250 },
		"record.times_min[2]":    func(in *CookInput) { in.Record.TimesMin[2] = math.NaN() },
		"record.times_min":       func(in *CookInput) { in.Record.TimesMin[2] = 3*24*60 + 1 },
		"record.heat_off_min":    func(in *CookInput) { in.Record.HeatOffMin = ptr(81) },
		"record.doubt_k":         func(in *CookInput) { in.Record.DoubtK = -1 },
		"start_c":                func(in *CookInput) { in.StartC = ptr(200) },
		"substrate.moisture_pct": func(in *CookInput) { in.Substrate = Substrate{MoisturePct: ptr(130)} },
	} {
		in := along([]float64{0, 20, 80}, []float64{20, 121, 121}, 80)
		change(&in)
		_, err := Cook(in)
		faultAt(t, err, field)
	}
}
