package thermal

import (
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"strings"
	"testing"
	"time"

	"pinset/internal/figure"
	"pinset/internal/units"
)

// One mark is a cook under way: with a clock its stretch is measured, and
// without one it is due when the rule will be met.
func TestHeldOneMark(t *testing.T) {
	in := HeldInput{HoldMin: 90, Marks: marks("9:05", "reached")}
	ans, err := Held(in)
	if err != nil {
		t.Fatal(err)
	}
	if r := ans.Result; !r.Running || r.LongestMin != nil || *r.DueAt != "10:35" {
		t.Errorf("without a clock: %+v", r)
	}
	in.Now = "09:35"
	if ans, err = Held(in); err != nil {
		t.Fatal(err)
	}
	if r := ans.Result; *r.LongestMin != 30 || *r.StretchesMin[0] != 30 || r.Valid || *r.DueAt != "10:35" {
		t.Errorf("with a clock: %+v", r)
	}
	if !hasCaution(ans.Cautions, "still_running") || hasCaution(ans.Cautions, "interrupted") {
		t.Errorf("cautions %+v", ans.Cautions)
	}
	in.Now = "10:36"
	if ans, err = Held(in); err != nil {
		t.Fatal(err)
	}
	if !ans.Result.Valid || !ans.Result.Running || hasCaution(ans.Cautions, "still_running") || hasCaution(ans.Cautions, "hold_not_met") {
		t.Errorf("long enough, and the heat still on: %+v", ans)
	}
}

// A rule may be as short as one likes and as long as a week.
func TestHeldRuleLimits(t *testing.T) {
	const week = 7 * 24 * 60
	for hold, ok := range map[float64]bool{0: false, -1: false, 0.01: true, week: true, week + 0.1: false} {
		_, err := Held(HeldInput{HoldMin: hold, Marks: marks("14:00", "reached", "14:01", "heat_off")})
		if ok && err != nil {
			t.Errorf("a rule of %g min is refused: %v", hold, err)
		} else if !ok {
			faultAt(t, err, "hold_min")
		}
	}
}

// What is wrong is named by its place, counted from 1 in words and from 0 in
// the field; and a time of day has one or two figures, a colon and two more.
func TestFaultsNameThePlace(t *testing.T) {
	held := func(pairs ...string) error {
		_, err := Held(HeldInput{HoldMin: 90, Marks: marks(pairs...)})
		return err
	}
	cooled := func(second CoolReading) error {
		_, err := Cool(CoolInput{Readings: []CoolReading{{"08:00", 60}, second}, RoomC: 20, TargetC: 27})
		return err
	}
	record := func(times ...float64) error {
		_, err := Lethality(LethalityInput{TimesMin: times, Celsius: make([]float64, len(times))})
		return err
	}
	_, backwards := CumulativeF([]float64{0, 7, 3}, make([]units.Celsius, 3), ReferenceC, ReferenceZ)
	for _, c := range []struct {
		err  error
		says string
	}{
		{held("14:00", "reached", "14:10", "back"), "mark 2 says back"},
		{held("2026-03-07T14:00:00Z", "reached", "2026-03-07T13:00:00Z", "heat_off"), "mark 2, heat_off"},
		{held(":05", "reached"), `":05" is not a time of day`},
		{held("009:05", "reached"), `"009:05" is not a time of day`},
		{held("9:5", "reached"), `"9:5" is not a time of day`},
		{held("24:00", "reached"), `"24:00" is not a time of day`},
		{held("23:60", "reached"), `"23:60" is not a time of day`},
		{cooled(CoolReading{"08:00", 50}), "reading 2 at 08:00"},
		{cooled(CoolReading{"09:00", 19}), "reading 2, 19 °C"},
		{cooled(CoolReading{"2026-05-01T09:00:00Z", 50}), `"2026-05-01T09:00:00Z" is not a time of day`},
		{record(0, 5, 5), "time 3, 5 min, is not after 5 min"},
		{record(0, 2e6), "time 2 is 2e+06 min"},
		{record(-2e6, 0), "time 1 is -2e+06 min"},
		{backwards, "time 3 min after 7 min"},
	} {
		if c.err == nil || !strings.Contains(fmt.Sprintf("%+v", c.err), c.says) {
			t.Errorf("%v does not say %q", c.err, c.says)
		}
	}
	ans, err := Held(HeldInput{HoldMin: 90, Marks: marks("14:00", "reached", "14:47", "lost", "14:54", "back", "16:10", "heat_off")})
	if err != nil {
		t.Fatal(err)
	}
	steps := ""
	for _, s := range ans.Working {
		steps += s.Step + " " + s.Formula + "; "
	}
	if !strings.Contains(steps, "stretch 1 at or above the target 14:00 to 14:47") || !strings.Contains(steps, "stretch 2 at or above the target 14:54 to 16:10") {
		t.Error(steps)
	}
}

// A jar that hardly cools has a rate all the same; a moment is written for
// what comes within a year, and hours for the rest.
func TestCoolSlowly(t *testing.T) {
	after := func(hours, rate float64) CoolResult {
		ans := mustCool(t, CoolInput{
			Readings: []CoolReading{{"2026-05-01T20:00:00Z", 100}, {"2026-05-01T21:00:00Z", 20 + 80*math.Exp(-rate)}},
			RoomC:    20, TargetC: 20 + 80*math.Exp(-rate*hours),
		})
		if hasCaution(ans.Cautions, "not_cooling") {
			t.Errorf("a share of %g in an hour is no cooling", rate)
		}
		return ans.Result
	}
	r := after(100, 0.01)
	near(t, "rate", *r.RatePerH, 0.01, 1e-9)
	near(t, "hours", *r.HoursToTarget, 100, 1e-6)
	const year = 365 * 24
	if r := after(year-1, 5e-4); r.At == nil || *r.At != "2027-05-01T19:00:00Z" {
		t.Errorf("an hour short of a year: %v", r.At)
	}
	if r := after(year+1, 5e-4); r.At != nil || math.Abs(*r.HoursToTarget-year-1) > 0.01 {
		t.Errorf("an hour more than a year: %+v", r)
	}
}

// The scatter of four readings about the curve leaves two degrees of freedom:
// it is the root of half the sum of squares.
func TestCoolScatter(t *testing.T) {
	in := CoolInput{Readings: []CoolReading{{"08:00", 100}, {"09:00", 88}, {"10:00", 70}, {"11:00", 63}}, RoomC: 20, TargetC: 27}
	ans := mustCool(t, in)
	start := ans.Working[0].Value.(float64)
	sum := 0.0
	for i, x := range in.Readings {
		d := x.Celsius - 20 - start*math.Exp(-*ans.Result.RatePerH*float64(i))
		sum += d * d
	}
	near(t, "scatter", *ans.Result.RMSEC, math.Sqrt(sum/2), 1e-9)
	if !(*ans.Result.RMSEC > 1) {
		t.Errorf("scatter %g of readings that are degrees off", *ans.Result.RMSEC)
	}
}

// A z of any size above 0 and times that stand still are records; a z of 0
// and times that run back are not.
func TestCumulativeFTakes(t *testing.T) {
	temps := []units.Celsius{121.1, 121.1}
	for z, ok := range map[float64]bool{0: false, -1: false, 0.01: true, math.NaN(): false} {
		if _, err := CumulativeF([]float64{0, 1}, temps, 121.1, z); (err == nil) != ok {
			t.Errorf("a z of %g K: %v", z, err)
		}
	}
	for dt, ok := range map[float64]bool{0: true, 0.01: true, -0.01: false} {
		f, err := CumulativeF([]float64{0, dt}, temps, 121.1, 10)
		if (err == nil) != ok || ok && f[1] != dt {
			t.Errorf("%g min at the reference: %v, %v", dt, f, err)
		}
	}
}

// The peak is the peak wherever it lies, and a share is never more than all:
// of records that end a hair above 118 °C all but the hair is below.
func TestPeakAndShare(t *testing.T) {
	for i := range 3 {
		temps := []float64{60, 60, 60}
		temps[i] = 119
		r := mustLethality(t, LethalityInput{TimesMin: []float64{0, 10, 20}, Celsius: temps}).Result
		near(t, "peak", r.PeakC, 119, 0)
	}
	rng := rand.New(rand.NewPCG(11, 0))
	for range 500 {
		in := LethalityInput{}
		for i := range 8 {
			in.TimesMin, in.Celsius = append(in.TimesMin, float64(i)+rng.Float64()/2), append(in.Celsius, 117.9+0.1*rng.Float64())
		}
		in.Celsius[7] = math.Nextafter(118, 119)
		if s := *mustLethality(t, in).Result.Below118Share; !(s <= 1 && s > 1-1e-9) {
			t.Fatalf("a share of %.17g below 118 °C of %v", s, in)
		}
	}
	none := mustLethality(t, LethalityInput{TimesMin: []float64{0, 1e-300}, Celsius: []float64{-20, -20}, ReferenceC: ptr(150), ZC: ptr(2)}).Result
	if none.FMin != 0 || none.Below118Share != nil {
		t.Errorf("nothing at all is shared out: %+v", none)
	}
}

// The same pot needs the rule's own pressure, to the last digit that a gauge
// has, and the rule is taken as loaded at 20 °C and 20 min to pressure.
func TestHoldOfTheSamePot(t *testing.T) {
	in := HoldInput{RuleHoldMin: 90, RuleGaugePsi: 10, GaugePsi: 10, AltitudeM: ptr(0)}
	ans := mustHold(t, in)
	near(t, "pressure for the rule", ans.Result.GaugePsiForRuleTemp, 10, 1e-9)
	near(t, "advised", ans.Result.AdvisedMin, 90, 1e-9)
	for _, c := range ans.Cautions {
		if c.Code == "below_118" && !strings.HasPrefix(c.Text, "100 % ") {
			t.Errorf("all of it is below 118 °C: %s", c.Text)
		}
	}
	p, err := holdProcess(in, 120)
	if want := (process{start: 20, chamber: 120, comeUp: 20, hold: 90}); err != nil || p != want {
		t.Errorf("%+v, %v; want %+v", p, err, want)
	}
}

// A stretch is closed by a clock that is not before it, and only once; of two
// that are equally long the first is the longest; and a hold is met to the
// second, whatever tenths of a minute are in binary.
func TestStretchesByHand(t *testing.T) {
	at := func(minute int) time.Time { return clockDay.Add(time.Duration(minute) * time.Minute) }
	open := Stretch{From: at(10), Open: true}
	if got := open.Until(at(9)); got != open {
		t.Errorf("a clock before it closes it: %+v", got)
	}
	if got := open.Until(at(10)); got.Open || got.To != at(10) {
		t.Errorf("a clock at its beginning: %+v", got)
	}
	closed := Stretch{From: at(10), To: at(20)}
	if got := closed.Until(at(30)); got != closed {
		t.Errorf("closed twice: %+v", got)
	}
	if got, _ := Longest([]Stretch{closed, {From: at(30), To: at(40)}}); got != closed {
		t.Errorf("of two alike the longest is %+v", got)
	}
	for tenths := 1; tenths < 1000; tenths++ {
		ans, err := Held(HeldInput{HoldMin: float64(tenths) / 10, Marks: marks("2026-03-07T08:00:00Z", "reached", "2026-03-07T12:00:00Z", "heat_off")})
		if err != nil {
			t.Fatal(err)
		}
		want := time.Date(2026, 3, 7, 8, 0, 6*tenths, 0, time.UTC).Format(time.RFC3339)
		if *ans.Result.MetAt != want {
			t.Fatalf("%g min from 8:00 are met at %s", float64(tenths)/10, *ans.Result.MetAt)
		}
	}
}

// Minutes above 115 °C and shares below 118 °C by hand: up or down, whenever
// the record begins, and flat on the limit.
func TestMinutesAndSharesByHand(t *testing.T) {
	for _, c := range []struct {
		times []float64
		temps []units.Celsius
		want  float64
	}{
		{[]float64{100, 120}, []units.Celsius{105, 125}, 10},
		{[]float64{100, 120}, []units.Celsius{125, 105}, 10},
		{[]float64{100, 120}, []units.Celsius{110, 130}, 15},
		{[]float64{100, 120}, []units.Celsius{115, 115}, 20},
		{[]float64{100, 120}, []units.Celsius{114, 115}, 0},
		{[]float64{100, 120, 150, 170}, []units.Celsius{105, 125, 125, 105}, 50},
	} {
		near(t, "minutes above 115 °C", minutesAbove(115, c.times, c.temps), c.want, 1e-9)
	}
	ramp := (math.Sqrt(10) - 1) / 9 // of 113 to 123 °C, as TestShareBelow
	for _, c := range []struct {
		celsius []float64
		want    float64
	}{{[]float64{113, 123}, ramp}, {[]float64{123, 113}, ramp}, {[]float64{118, 118}, 1}, {[]float64{118, 118.1}, 0}, {[]float64{117.9, 118}, 1}} {
		r := mustLethality(t, LethalityInput{TimesMin: []float64{100, 110}, Celsius: c.celsius}).Result
		near(t, "share below 118 °C", *r.Below118Share, c.want, 1e-9)
	}
}

// °F is named where a temperature is too hot in °C and fits in °F.
func TestFahrenheitIsNamed(t *testing.T) {
	for c, says := range map[float64]string{302: "302 was in °F, write 150.0", 250: "write 121.1", 303: "", 500: "", 30: "", 151: "write 66.1"} {
		err := checkCelsius("x", c, 40, 150)
		if err == nil || says == "" && strings.Contains(err.Error(), "°F") || !strings.Contains(err.Error(), says) {
			t.Errorf("%g °C: %v, want %q", c, err, says)
		}
	}
	if err := checkCelsius("x", 104, 104.5, 150); err == nil || strings.Contains(err.Error(), "°F") {
		t.Errorf("too cold, and 40 °C in °F: %v", err)
	}
	for share, says := range map[float64]string{0.6: "60 % of", 1: "100 % of"} {
		if got := below118(share).Text; !strings.HasPrefix(got, says) {
			t.Errorf("a share of %g: %s", share, got)
		}
	}
	other := figure.Faultf("a", "mend", "what")
	for _, err := range []error{errors.New("x"), other} {
		if got := renamed(err, "b", "c"); got != err {
			t.Errorf("renamed %v into %v", err, got)
		}
	}
	faultAt(t, renamed(other, "a", "c"), "c")
	faultAt(t, renamed(other, "a", ""), "a")
}
