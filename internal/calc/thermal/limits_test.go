package thermal

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"pinset/internal/figure"
)

// What softens is refused, and at which temperature it does is said. The
// temperatures are the end of use by resistance charts of labware, from memory.
func TestSoftPlasticsSayWhen(t *testing.T) {
	for name, celsius := range map[string]string{
		"polyethylene": "80", "LDPE": "80", "HDPE": "110", "Polystyrene": "80", "PS": "80", "PET": "70", "petg": "70", "polycarbonate": "120", "PVC": "70",
	} {
		in := usualCook()
		in.Container.Material = name
		_, err := newCookTask(in)
		faultAt(t, err, "container.material")
		var f *figure.Fault
		if errors.As(err, &f); !strings.Contains(f.What, name+" softens at about "+celsius+" °C") {
			t.Errorf("%s: %s", name, f.What)
		}
	}
	for _, name := range []string{"glass", "borosilicate", "PP", "steel"} {
		in := usualCook()
		in.Container.Material = name
		if _, err := newCookTask(in); err != nil {
			t.Errorf("%s: %v", name, err)
		}
	}
}

// A block is as wide, as deep and as high as it was measured: turned by a
// quarter it is the same, and as deep as wide if nobody measured.
func TestBlockHasItsSizes(t *testing.T) {
	block := Container{BoreMM: 120, DepthMM: ptr(60), FillMM: 200, Shape: "block"}
	b := cut(block)
	for i, want := range []float64{0.060, 0.030, 0.200} { // half the width, half the depth, the height
		near(t, fmt.Sprintf("edge of axis %d", i), slices.Max(b.axes[i].edge), want, 1e-12)
	}
	square := cut(Container{BoreMM: 120, FillMM: 200, Shape: "block"})
	near(t, "as deep as wide", slices.Max(square.axes[1].edge), 0.060, 1e-12)
	round := cut(Container{BoreMM: 76, FillMM: 95})
	near(t, "radius", slices.Max(round.axes[0].edge), 0.038, 1e-12)
	near(t, "height", slices.Max(round.axes[1].edge), 0.095, 1e-12)
}

// The probe is where it was measured, in the middle if it was not.
func TestProbeHeight(t *testing.T) {
	in := pintCalibrate()
	b := cut(in.Container)
	near(t, "left out", in.probe(b).z, 0.0475, 1e-12)
	for _, mm := range []float64{0, 12, 30, 95} {
		in.ProbeMM = &mm
		near(t, fmt.Sprintf("%g mm", mm), in.probe(b).z, mm/1000, 1e-12)
	}
	// A row that is straight in height is read exactly, wherever the tip is.
	row := slices.Clone(b.upright().centre)
	in.ProbeMM = ptr(30)
	near(t, "a straight row", in.probe(b).read(row), 0.030, 1e-12)
}

// The cold spot of a load that is heated alike all round is in its middle, in
// millimetres; hours are sixtieths of the minutes that the trace shows.
func TestCookUnits(t *testing.T) {
	in := cakeCook(76, 96)
	in.StartC, in.Substrate.SpreadPct = ptr(20), ptr(0)
	r := mustCook(t, in).Result
	near(t, "cold spot", r.Core.Best.ColdSpot.ZMM, 48, 0.1) // of a cell of 1.3 mm
	near(t, "across", r.Core.Best.ColdSpot.RMM, 0, 1e-12)
	near(t, "from heat-off", *r.HoursTo30CHeatOff-*r.HoursTo30C, 0.75, 1e-9) // 45 min in the pot
	c, err := newCookTask(in)
	if err != nil {
		t.Fatal(err)
	}
	run, err := c.run(c.jar.vessels[best], c.runs[best], true)
	if err != nil {
		t.Fatal(err)
	}
	for film, hours := range map[float64]*float64{8: r.HoursTo30CBand.High, 10: r.HoursTo30C, 12: r.HoursTo30CBand.Low} {
		minutes, ok, err := run.opened.onTheBench(c.jar.walls[best].air(film)).coolInAir(c.process, 30)
		if err != nil || !ok {
			t.Fatal(ok, err)
		}
		near(t, fmt.Sprintf("minutes in air at %g W/m2K", film), *hours*60, minutes, 1e-9*minutes)
	}
	// All three runs are one, so that the trace ends where the best run is cold.
	last := r.Trace[len(r.Trace)-1].Min
	every := last - r.Trace[len(r.Trace)-2].Min
	near(t, "end of the trace", last, 20+90+45+*r.HoursTo30C*60, every+3) // a step of 3 min at most
}

// lagRecord is a core that falls behind a chamber of 121 °C by d.
func lagRecord(d ...float64) (times, chamber, core []float64) {
	for i, x := range d {
		times, chamber, core = append(times, float64(10*i)), append(chamber, 121), append(core, 121-x)
	}
	return times, chamber, core
}

// Counted are the readings between a quarter and a fiftieth of the first
// difference, while the chamber is within 1 K of its top, three or more.
func TestFitLagCountsWhatItSays(t *testing.T) {
	// The difference falls tenfold in 20 min: 100, 31.6, 10, 3.16, 1 ...
	straight := []float64{100, 31.623, 10, 3.1623, 2.5, 1.0}
	fit := func(d []float64, warm float64) *Lag {
		times, chamber, core := lagRecord(d...)
		times[4] = 20 * math.Log10(100/d[4]) // on the line wherever it is
		times[5] = times[4] + 10
		if warm != 0 {
			chamber[3], core[3] = chamber[3]-warm, core[3]-warm
		}
		return FitLag(times, chamber, core)
	}
	lag := fit(straight, 0)
	if lag == nil {
		t.Fatal("three readings are on the line")
	}
	near(t, "f_h", lag.FHMin, 20, 1e-3) // of four digits in the record
	near(t, "j_h", lag.JH, 1, 1e-4)
	near(t, "first counts from the start", fit(straight, 0.999).FHMin, 20, 1e-3)
	if got := fit(straight, 1.001); got != nil {
		t.Errorf("two readings in a chamber at its top give %+v", got)
	}
	for _, c := range []struct {
		name  string
		d     float64 // of a fourth reading, off the line at minute 40
		moved bool
	}{
		{"above a quarter", 25.1, false},
		{"below a quarter", 24.9, true},
		{"above a fiftieth", 2.01, true},
		{"below a fiftieth", 1.99, false},
	} {
		times := []float64{0, 20, 30, 32, 70}
		chamber := []float64{121, 121, 121, 121, 121}
		core := []float64{21, 111, 121 - 3.16228, 121 - 100*math.Pow(10, -1.6), 121 - c.d}
		got := FitLag(times, chamber, core)
		if moved := got == nil || math.Abs(got.FHMin-20) > 0.01; moved != c.moved {
			t.Errorf("a reading %s: moved %v, %+v", c.name, moved, got)
		}
	}
}

func TestCalibrateLimits(t *testing.T) {
	base := func() CalibrateInput {
		in := pintCalibrate()
		in.ChamberC, in.CoreC = seriesRecord(250, 0.5, 1.45e-7, in.TimesMin)
		return in
	}
	at := func(set func(in *CalibrateInput, v float64)) func(float64) error {
		return func(v float64) error {
			in := base()
			set(&in, v)
			return checkCalibrate(in)
		}
	}
	for _, l := range []limits{
		{"chamber_c[3]", 1, 149, at(func(in *CalibrateInput, v float64) { in.ChamberC[3] = v })},
		{"core_c[3]", 1, 149, at(func(in *CalibrateInput, v float64) { in.CoreC[3] = v })},
		{"probe_mm", 0, 95, at(func(in *CalibrateInput, v float64) { in.ProbeMM = &v })},
	} {
		l.run(t)
	}
	for n, ok := range map[int]bool{5: false, 6: true} {
		in := base()
		in.TimesMin, in.ChamberC, in.CoreC = in.TimesMin[:n], in.ChamberC[:n], in.CoreC[:n]
		in.CoreC[n-1] = 80
		if err := checkCalibrate(in); (err == nil) != ok {
			t.Errorf("%d readings: %v", n, err)
		}
	}
	for rise, ok := range map[float64]bool{20: false, 20.1: true} {
		in := base()
		for i := range in.CoreC {
			in.CoreC[i] = 30
		}
		in.CoreC[4] = 30 + rise
		if err := checkCalibrate(in); (err == nil) != ok {
			t.Errorf("a rise of %g K: %v", rise, err)
		}
	}
	liquid := base()
	liquid.Mode = "liquid"
	faultAt(t, checkCalibrate(liquid), "fit")
	liquid.Fit = "surface"
	if err := checkCalibrate(liquid); err != nil {
		t.Errorf("the faces of a liquid: %v", err)
	}
}

// A come-up of more than 75 min is slow. A load that nobody measured is taken
// at 10, 20 and 30 °C, one that was at what it was in all three runs.
func TestStartAndComeUp(t *testing.T) {
	for minutes, want := range map[float64]bool{75: false, 75.1: true} {
		in := usualCook()
		in.ComeUpMin = minutes
		c, err := newCookTask(in)
		if err != nil {
			t.Fatal(err)
		}
		got := c.heatCautions(CookResult{})
		if hasCaution(got, "slow_start") != want {
			t.Errorf("%g min: slow %v", minutes, !want)
		}
		for _, x := range got {
			if x.Code == "start_assumed" && !strings.Contains(x.Text, "10, 20 and 30 °C") {
				t.Errorf("it says %q", x.Text)
			}
		}
		for i, start := range []float64{10, 20, 30} {
			near(t, "start", c.runs[i].start, start, 0)
		}
		in.StartC = ptr(6)
		if c, err = newCookTask(in); err != nil {
			t.Fatal(err)
		}
		if hasCaution(c.heatCautions(CookResult{}), "start_assumed") || c.runs[low].start != 6 || c.runs[high].start != 6 {
			t.Errorf("a measured load begins at %g to %g °C", c.runs[low].start, c.runs[high].start)
		}
	}
}

// A stack has at most ten pieces and 600 mm.
func TestStackLimits(t *testing.T) {
	for _, c := range []struct {
		n    int
		fill float64
		ok   bool
	}{{1, 600, true}, {2, 300, true}, {2, 300.1, false}, {10, 60, true}, {11, 20, false}, {-1, 20, false}, {0, 100, true}} {
		err := checkContainer(Container{BoreMM: 100, FillMM: c.fill, Stacked: c.n, Shape: "block"})
		if (err == nil) != c.ok {
			t.Errorf("%d of %g mm: %v", c.n, c.fill, err)
		}
		if !c.ok {
			faultAt(t, err, "container.stacked")
		}
	}
}

func TestLongGapIsMoreThanTwelveHours(t *testing.T) {
	for end, want := range map[string]bool{"2026-03-07T20:00:00Z": false, "2026-03-07T20:01:00Z": true} {
		ans, err := Held(HeldInput{HoldMin: 90, Marks: marks("2026-03-07T08:00:00Z", "reached", end, "heat_off")})
		if err != nil || hasCaution(ans.Cautions, "long_gap") != want {
			t.Errorf("until %s: long gap %v, %v", end, !want, err)
		}
	}
}

// A lethality has two digits; below a hundredth it is said to be less.
func TestTwoDigitsAtTheirEdges(t *testing.T) {
	for v, want := range map[float64]string{
		0: "0", 0.0099: "less than 0.01", 0.01: "0.01", 0.0149: "0.015", 1: "1", 0.994: "0.99", 1.449: "1.4", 1.451: "1.5", 9.94: "9.9",
		10: "10", 14.6: "15", 94.4: "94", 99.4: "99", 144: "140", 146: "150", 995: "1000", 1449: "1400", math.Inf(1): "0",
	} {
		if got := two(v); got != want {
			t.Errorf("%g is written %q, want %q", v, got, want)
		}
	}
	if got := two(math.NaN()); got != "0" {
		t.Errorf("no number is written %q", got)
	}
}

// What is said to be at least is never more than there is, and what is said to
// be up to is never less; a figure of two digits stays as it is.
func TestDigitsNeverFlatter(t *testing.T) {
	for _, c := range []struct {
		v             float64
		atLeast, upTo string
	}{
		{0.0725, "0.072", "0.073"},
		{3.4753, "3.4", "3.5"},
		{9.96, "9.9", "10"},
		{17.9388, "17", "18"},
		{143.2, "140", "150"},
		{8.9, "8.9", "8.9"},
		{15, "15", "15"},
		{0.01, "0.01", "0.01"},
		{120, "120", "120"},
		{0.004, "less than 0.01", "less than 0.01"},
		{0, "0", "0"},
	} {
		if down, up := atLeast(c.v), upTo(c.v); down != c.atLeast || up != c.upTo {
			t.Errorf("%g: at least %s and up to %s, want %s and %s", c.v, down, up, c.atLeast, c.upTo)
		}
	}
	for tenths := 10; tenths < 100; tenths++ {
		v := float64(tenths) / 10
		if down, up := atLeast(v), upTo(v); down != up || down != two(v) {
			t.Errorf("%g is at least %s and up to %s", v, down, up)
		}
	}
	c := cookTask{fast: true, target: 12.5}
	var r CookResult
	r.Core.Low.F0HeatOffMin, r.Core.Best.F0HeatOffMin, r.Core.High.F0HeatOffMin = 17.9, 20.6, 31.1
	r.HoldForTargetMin.High = ptr(88.2)
	if got := c.sentence(r); got != "At heat-off the coldest spot has earned at least 17 min of F0, most likely 21, up to 32. For F0 12.5 hold up to 89 min." {
		t.Error(got)
	}
}

// A hold is rounded up; a second over a whole minute is let go.
func TestWholeUp(t *testing.T) {
	for v, want := range map[float64]string{0: "0", 59.5: "60", 60: "60", 60 + 0.99/60: "60", 60 + 1.01/60: "61", 60.5: "61", 61: "61"} {
		if got := wholeUp(v); got != want {
			t.Errorf("%g min are %q, want %q", v, got, want)
		}
	}
}
