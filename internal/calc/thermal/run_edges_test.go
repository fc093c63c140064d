package thermal

import (
	"math"
	"testing"

	"pinset/internal/calc/steam"
	"pinset/internal/units"
)

// Between readings goes a straight line, beyond the last one its value stays.
func TestReadAtByHand(t *testing.T) {
	x, y := []float64{0, 1, 2, 4}, []float64{0, 1, 4, 5}
	for m, want := range map[float64]float64{0: 0, 0.5: 0.5, 1: 1, 1.5: 2.5, 2: 4, 3: 4.5, 4: 5, 9: 5} {
		near(t, "reading", readAt(x, y, m), want, 1e-12)
	}
	near(t, "two at once", readAt([]float64{0, 1, 1, 2}, []float64{0, 3, 3, 4}, 1), 3, 1e-12)
}

// A trace has at most 240 steps of 1, 2, 5, 10, 15, 20 or 30 min, from the
// beginning to the end.
func TestTraceSteps(t *testing.T) {
	rows := func(end float64) int {
		var runs [3]coreRun
		for i := range runs {
			minute := []float64{0, end - float64(i)} // the first is the last to be cold
			runs[i] = coreRun{probe: &probe{minute: minute, chamber: []float64{20, 20}}, temps: []float64{20, 20}, f0: []float64{0, 0}}
		}
		return len((&cookTask{}).trace(runs))
	}
	for end, want := range map[float64]int{
		240: 241, 241: 121, 480: 241, 481: 97, 1200: 241, 1201: 121, 2400: 241, 2401: 161, 3600: 241, 3601: 181, 4800: 241, 4801: 161,
	} {
		if got := rows(end); got != want {
			t.Errorf("%g min are %d rows, want %d", end, got, want)
		}
	}
}

// What is said of an opening and of a peak is what the trace shows there; a
// vented pot earns nothing after heat-off, and its core is hottest at it.
func TestFiguresStandInTheTrace(t *testing.T) {
	in := usualCook()
	in.HoldMin, in.CoolMin = 60, ptr(40) // rows at 80 and 120 min
	row := func(r CookResult, minute float64) CookMoment {
		for _, x := range r.Trace {
			if x.Min == minute {
				return x
			}
		}
		t.Fatalf("no row at %g min", minute)
		return CookMoment{}
	}
	r := mustCook(t, in).Result
	near(t, "F0 at heat-off", r.Core.Best.F0HeatOffMin, row(r, 80).BestF0, 1e-9)
	near(t, "F0 when opened", r.Core.Best.F0OpenedMin, row(r, 120).BestF0, 1e-9)
	in.Cool, in.CoolMin = "fast", nil
	r = mustCook(t, in).Result
	near(t, "peak of a vented pot", r.Core.Best.PeakC, row(r, 80).BestC, 1e-9)
	for _, x := range r.Trace {
		if x.Min > 80 && x.BestF0 != r.Core.Best.F0HeatOffMin || x.Min < 75 && x.BestF0 >= r.Core.Best.F0HeatOffMin {
			t.Errorf("row %+v of a cook that had %g min at heat-off", x, r.Core.Best.F0HeatOffMin)
		}
	}
}

// In a room of less than 29.5 °C a core gets below 30 °C, and in a warmer one
// nobody waits for it.
func TestRoomsThatCool(t *testing.T) {
	for room, cools := range map[float64]bool{29.495: true, 29.5: false} {
		in := usualCook()
		in.Container, in.HoldMin, in.RoomC = Container{BoreMM: 40, FillMM: 20}, 1, &room
		ans := mustCook(t, in)
		if got := ans.Result.HoursTo30C != nil; got != cools || hasCaution(ans.Cautions, "room_too_warm") == cools {
			t.Errorf("a room of %g °C: %v h", room, ans.Result.HoursTo30C)
		}
	}
}

// A chamber without air is the pot, and a fiftieth of the air is counted.
func TestChamberOfAir(t *testing.T) {
	p, err := newPot(potAsk{altitudeM: ptr(0), gaugePsi: 15})
	if err != nil {
		t.Fatal(err)
	}
	for _, air := range []float64{0, 0.02, 0.5} {
		got, err := chamberTemp(p, air)
		if err != nil {
			t.Fatal(err)
		}
		want, err := steam.TrappedAirTemp(p.ambient, p.gauge, units.Fraction(air))
		if err != nil {
			t.Fatal(err)
		}
		near(t, "chamber", float64(got), float64(want), 1e-9)
		if air == 0 && got != p.temp {
			t.Errorf("without air %v, the pot is %v", got, p.temp)
		}
	}
}

// The model misses its own record by nothing, and one that is a degree off
// after the start by a degree.
func TestMisfitByHand(t *testing.T) {
	in := pintCalibrate()
	in.TimesMin = everyFive(40)
	for _, m := range in.TimesMin {
		in.ChamberC = append(in.ChamberC, 20+2*m)
	}
	j, err := newJar(in.jarInput())
	if err != nil {
		t.Fatal(err)
	}
	in.CoreC = make([]float64, len(in.TimesMin))
	in.CoreC[0] = 20
	_, model, err := in.misfit(j, 1)
	if err != nil {
		t.Fatal(err)
	}
	for off := range 2 {
		for i := range model {
			in.CoreC[i] = model[i] + float64(off)
		}
		in.CoreC[0] = model[0]
		rmse, again, err := in.misfit(j, 1)
		if err != nil || again[0] != 20 {
			t.Fatal(again, err)
		}
		near(t, "misfit", rmse, float64(off), 1e-9)
	}
	// A rise counts from the first reading, and not from a later one.
	for i := range in.CoreC {
		in.CoreC[i] = 60
	}
	in.CoreC[0] = 30
	if err := checkCalibrate(in); err != nil {
		t.Errorf("a rise of 30 K between the first two: %v", err)
	}
}

// A probe is read by the three cells about it: the middle one is nearest,
// unless it stands at an end.
func TestProbeIsReadWhereItIs(t *testing.T) {
	in := pintCalibrate()
	b := cut(in.Container)
	z := b.upright().centre
	for mm := 0.0; mm <= 95; mm += 0.25 {
		in.ProbeMM = &mm
		q := in.probe(b)
		nearest := 0
		for i := range z {
			if math.Abs(z[i]-mm/1000) < math.Abs(z[nearest]-mm/1000) {
				nearest = i
			}
		}
		middle := min(max(nearest, 1), len(z)-2)
		if got := q.first + 1; got != middle && math.Abs(math.Abs(z[got]-mm/1000)-math.Abs(z[middle]-mm/1000)) > 2e-4 {
			t.Errorf("a probe at %g mm is read about cell %d, the nearest is %d", mm, got, middle)
		}
	}
}
