package thermal

import (
	"encoding/json"
	"errors"
	"math"
	"strings"
	"testing"

	"pinset/internal/calc/steam"
	"pinset/internal/figure"
	"pinset/internal/units"
)

func ptr(v float64) *float64 { return &v }

// near fails unless got is within tol of want, absolutely.
func near(t *testing.T, what string, got, want, tol float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tol) { // written so that NaN fails
		t.Errorf("%s = %.10g, want %.10g; off by %.2e, allowed %.1e", what, got, want, got-want, tol)
	}
}

func mustLethality(t *testing.T, in LethalityInput) figure.Answer[LethalityResult] {
	t.Helper()
	ans, err := Lethality(in)
	if err != nil {
		t.Fatalf("Lethality: %v", err)
	}
	if _, err := json.Marshal(ans); err != nil {
		t.Fatal(err)
	}
	return ans
}

// exampleA is a full record of a can, a reading every five minutes, from a
// food-preservation exercise of a university (reference 250 °F, z 18 °F,
// published F0 = 21.68993687 min by the rectangle sum).
var exampleA = struct{ min, fahrenheit []float64 }{
	[]float64{0, 5, 10, 15, 20, 25, 30, 35, 40, 45, 50, 55, 60, 65, 70, 75, 80, 85, 90, 95, 100, 105},
	[]float64{
		140, 140, 140, 140, 163, 185, 201, 213, 224, 229.4, 234.5, 238, 241, 243.5, 245, 246.3, 247.3, 247,
		245.2, 223.5, 175, 153,
	},
}

func toCelsius(f []float64) []float64 {
	out := make([]float64, len(f))
	for i, v := range f {
		out[i] = (v - 32) / 1.8
	}
	return out
}

// Rectangle as published; trapezoid and straight lines computed by other
// hands to 1e-9. Read in °C: 250 °F is 121.111 °C and 18 °F are 10 K.
func TestLethalityPublishedRecord(t *testing.T) {
	celsius := toCelsius(exampleA.fahrenheit)
	ref := (250.0 - 32) / 1.8
	ans := mustLethality(t, LethalityInput{TimesMin: exampleA.min, Celsius: celsius, ReferenceC: &ref})
	near(t, "exact", ans.Result.FMin, 20.981362794430666, 1e-9)
	near(t, "trapezoid", ans.Result.FTrapezoidMin, 21.6899247282817, 1e-9)
	rect := 0.0
	for _, c := range celsius {
		rect += 5 * steam.LethalRate(units.Celsius(c), units.Celsius(ref), 10)
	}
	near(t, "rectangle", rect, 21.689936874537537, 1e-9)
	near(t, "last of the running sum", ans.Result.CumulativeMin[21], ans.Result.FMin, 0)
	if ans.Result.CumulativeMin[0] != 0 || len(ans.Result.CumulativeMin) != 22 {
		t.Errorf("running sum %v", ans.Result.CumulativeMin)
	}
	// The same record with other references: 2.6 % between 121.0 and 250 °F.
	for _, c := range []struct{ ref, trapezoid float64 }{{121.0, 22.252005}, {121.1, 21.745488}, {121.11, 21.695475}} {
		ans := mustLethality(t, LethalityInput{TimesMin: exampleA.min, Celsius: celsius, ReferenceC: &c.ref})
		near(t, "trapezoid at another reference", ans.Result.FTrapezoidMin, c.trapezoid, 1e-6)
	}
	near(t, "cook value is that at 100 °C, z 33 K", ans.Result.CookValueMin,
		mustLethality(t, LethalityInput{TimesMin: exampleA.min, Celsius: celsius, ReferenceC: ptr(100), ZC: ptr(33)}).Result.FMin, 1e-12)
}

// Published: seminar sheet, holds of 135 °C 1 s, 142 °C 2 s, 140 °C 3 s and
// 130 °C 4 s at 121.1 °C and z 10 are 534.52 s; 4 s at 138 °C, z 8.5, are
// 400 s at 121 °C and back.
func TestLethalRateStages(t *testing.T) {
	sum := 0.0
	for _, s := range []struct{ c, sec float64 }{{135, 1}, {142, 2}, {140, 3}, {130, 4}} {
		sum += lethalInterval(s.sec, units.Celsius(s.c), units.Celsius(s.c), ReferenceC, ReferenceZ)
	}
	near(t, "stages", sum, 534.5248629730826, 1e-9)
	f := lethalInterval(4, 138, 138, 121, 8.5)
	near(t, "4 s at 138 °C", f, 400, 1e-9)
	near(t, "and back", EqualHold(f, 138, 121, 8.5), 4, 1e-12)
	near(t, "15 min at 111 °C", lethalInterval(15, 111, 111, 121, 10), 1.5, 1e-12)
	near(t, "15 min at 124 °C", lethalInterval(15, 124, 124, 121, 10), 29.9289347245, 1e-9)
}

// A trapezium of temperature has the closed form 30 + 0.99*300/(20 ln 10).
func TestLethalityExactOnRamps(t *testing.T) {
	in := LethalityInput{TimesMin: []float64{0, 10, 40, 60}, Celsius: []float64{101.1, 121.1, 121.1, 101.1}}
	r := mustLethality(t, in).Result
	near(t, "exact", r.FMin, 36.44927305626329, 1e-9)
	// The trapezoid sum of the same lines, by step, computed by other hands.
	for _, c := range []struct{ dt, want float64 }{{10, 41.1}, {5, 37.78925271}, {1, 36.50611166}, {0.5, 36.46351087}} {
		fine := LethalityInput{}
		for i := 0; ; i++ {
			m := float64(i) * c.dt
			if m > 60 {
				break
			}
			fine.TimesMin = append(fine.TimesMin, m)
			fine.Celsius = append(fine.Celsius, lineAt(in.TimesMin, in.Celsius, m))
		}
		got := mustLethality(t, fine).Result
		near(t, "trapezoid by step", got.FTrapezoidMin, c.want, 1e-7)
		near(t, "exact does not depend on the step", got.FMin, r.FMin, 1e-9)
	}
}

// lineAt reads a record of straight lines at minute m.
func lineAt(x, y []float64, m float64) float64 {
	for i := 1; i < len(x); i++ {
		if m <= x[i] {
			return y[i-1] + (y[i]-y[i-1])*(m-x[i-1])/(x[i]-x[i-1])
		}
	}
	return y[len(y)-1]
}

// Published: solved problems on survivors (F0 2.88, D 1.5, N0 10 leave 0.12;
// D 1.5, N0 100 and one in 1e5 need 10.5), and the 12-log rule with D 1.
func TestSurvivors(t *testing.T) {
	near(t, "0.12", Survivors(10, 1.5, 2.88), 0.12022644346174131, 1e-12)
	near(t, "12 logs", Survivors(1e6, 1, 12), 1e-6, 1e-18)
	near(t, "10.5", Survivors(100, 1.5, 10.5), 1e-5, 1e-17)
	near(t, "F needed", NeededF(100, 1.5, 5), 10.5, 1e-12)
	near(t, "F needed, 1e6 spores", NeededF(1e6, 1, 6), 12, 1e-12)
	near(t, "F needed, 1e3 spores, one jar in 1000", NeededF(1e3, 4.5, 3), 27, 1e-12)
}

func TestLethalityAsksBeyondF(t *testing.T) {
	r := mustLethality(t, LethalityInput{
		TimesMin: []float64{0, 15}, Celsius: []float64{121.1, 121.1},
		StartCount: ptr(1000), DMin: ptr(1.5), EqualAtC: ptr(115.2),
	}).Result
	near(t, "logs", *r.LogReduction, 10, 1e-12)
	near(t, "survivors", *r.Survivors, 1e-7, 1e-18)
	near(t, "equal hold at 115.2 °C", *r.EqualHoldMin, 15/0.2570, 0.02) // rate printed to four digits
}

// F grows with time and with temperature, and is the same in another unit of
// time and for any cut of the record.
func TestLethalityLaws(t *testing.T) {
	base := LethalityInput{TimesMin: []float64{0, 20, 60, 90}, Celsius: []float64{20, 112, 119, 60}}
	f := mustLethality(t, base).Result.FMin
	for i := range base.Celsius {
		warmer := LethalityInput{TimesMin: base.TimesMin, Celsius: append([]float64{}, base.Celsius...)}
		warmer.Celsius[i] += 0.1
		if g := mustLethality(t, warmer).Result.FMin; !(g > f) {
			t.Errorf("0.1 °C more at reading %d: F %g, not above %g", i, g, f)
		}
	}
	longer := LethalityInput{TimesMin: []float64{0, 20, 60.1, 90}, Celsius: base.Celsius}
	if g := mustLethality(t, longer).Result.FMin; !(g > f) {
		t.Errorf("a longer hold: F %g, not above %g", g, f)
	}
	cut := LethalityInput{TimesMin: []float64{0, 20, 37, 60, 90}, Celsius: []float64{20, 112, lineAt(base.TimesMin, base.Celsius, 37), 119, 60}}
	near(t, "a reading more on the line", mustLethality(t, cut).Result.FMin, f, 1e-12*f)
	if base.Celsius[2] != 119 {
		t.Error("the input was changed")
	}
}

// Near-equal neighbours must not cancel: all equal, and 1e-9 K apart.
func TestLethalIntervalSmallSlope(t *testing.T) {
	near(t, "flat", lethalInterval(10, 121.1, 121.1, 121.1, 10), 10, 1e-12)
	near(t, "almost flat", lethalInterval(10, 121.1, 121.1+1e-9, 121.1, 10), 10, 1e-8)
	near(t, "down is as up", lethalInterval(7, 90, 121, 121.1, 10), lethalInterval(7, 121, 90, 121.1, 10), 1e-12)
}

func TestLethalityCautions(t *testing.T) {
	for _, c := range []struct {
		code string
		want bool
		in   LethalityInput
	}{
		{"ends_hot", true, LethalityInput{TimesMin: []float64{0, 10}, Celsius: []float64{20, 121}}},
		{"ends_hot", false, LethalityInput{TimesMin: []float64{0, 10, 20}, Celsius: []float64{20, 121, 60}}},
		{"below_118", true, LethalityInput{TimesMin: []float64{0, 90}, Celsius: []float64{115.2, 115.2}}},
		{"below_118", false, LethalityInput{TimesMin: []float64{0, 90}, Celsius: []float64{120.9, 120.9}}},
		{"sparse", true, LethalityInput{TimesMin: []float64{0, 90}, Celsius: []float64{115.2, 115.2}}},
		{"sparse", false, LethalityInput{TimesMin: []float64{0, 90, 91}, Celsius: []float64{20, 99, 101}}},
		{"long_heat", true, LethalityInput{TimesMin: []float64{0, 160}, Celsius: []float64{121, 121}}},
		{"long_heat", false, LethalityInput{TimesMin: []float64{0, 140}, Celsius: []float64{121, 121}}},
		{"dry_heat_z", true, LethalityInput{TimesMin: []float64{0, 1}, Celsius: []float64{160 - 15, 145}, ZC: ptr(25)}},
		{"estimate", true, LethalityInput{TimesMin: []float64{0, 1}, Celsius: []float64{121, 121}}},
	} {
		if got := hasCaution(mustLethality(t, c.in).Cautions, c.code); got != c.want {
			t.Errorf("%s on %v: %v, want %v", c.code, c.in.Celsius, got, c.want)
		}
	}
}

// Half of a ramp from 113 to 123 °C lies below 118 °C; its share of F is
// that of the exact integral: (10^0.5 - 1)/(10 - 1) of the whole.
func TestShareBelow(t *testing.T) {
	r := mustLethality(t, LethalityInput{TimesMin: []float64{0, 10}, Celsius: []float64{113, 123}}).Result
	near(t, "share below 118 °C", *r.Below118Share, (math.Sqrt(10)-1)/9, 1e-9)
	if r := mustLethality(t, LethalityInput{TimesMin: []float64{0, 10}, Celsius: []float64{-20, -20}, ReferenceC: ptr(150), ZC: ptr(2)}).Result; *r.Below118Share != 1 {
		t.Errorf("all below: share %v", *r.Below118Share)
	}
}

func TestLethalityFaults(t *testing.T) {
	ok := []float64{100, 100}
	for _, c := range []struct {
		name, field string
		in          LethalityInput
	}{
		{"none", "times_min", LethalityInput{}},
		{"one", "times_min", LethalityInput{TimesMin: []float64{0}, Celsius: []float64{100}}},
		{"unlike", "celsius", LethalityInput{TimesMin: []float64{0, 1}, Celsius: []float64{100}}},
		{"backwards", "times_min[1]", LethalityInput{TimesMin: []float64{5, 1}, Celsius: ok}},
		{"twice", "times_min[1]", LethalityInput{TimesMin: []float64{5, 5}, Celsius: ok}},
		{"nan time", "times_min[0]", LethalityInput{TimesMin: []float64{math.NaN(), 5}, Celsius: ok}},
		{"inf time", "times_min[1]", LethalityInput{TimesMin: []float64{0, math.Inf(1)}, Celsius: ok}},
		{"huge time", "times_min[1]", LethalityInput{TimesMin: []float64{0, 1e307}, Celsius: ok}},
		{"nan", "celsius[1]", LethalityInput{TimesMin: []float64{0, 1}, Celsius: []float64{100, math.NaN()}}},
		{"fahrenheit", "celsius[1]", LethalityInput{TimesMin: []float64{0, 1}, Celsius: []float64{100, 250}}},
		{"reference", "reference_c", LethalityInput{TimesMin: []float64{0, 1}, Celsius: ok, ReferenceC: ptr(250)}},
		{"z", "z_c", LethalityInput{TimesMin: []float64{0, 1}, Celsius: ok, ZC: ptr(0)}},
		{"equal at", "equal_at_c", LethalityInput{TimesMin: []float64{0, 1}, Celsius: ok, EqualAtC: ptr(20)}},
		{"count", "start_count", LethalityInput{TimesMin: []float64{0, 1}, Celsius: ok, StartCount: ptr(0), DMin: ptr(1)}},
		{"count alone", "d_min", LethalityInput{TimesMin: []float64{0, 1}, Celsius: ok, StartCount: ptr(10)}},
		{"d", "d_min", LethalityInput{TimesMin: []float64{0, 1}, Celsius: ok, DMin: ptr(-1)}},
	} {
		t.Run(c.name, func(t *testing.T) {
			_, err := Lethality(c.in)
			faultAt(t, err, c.field)
			if c.name == "fahrenheit" && !strings.Contains(err.Error(), "write 121.1") {
				t.Errorf("250 °F taken as °C is not pointed out: %v", err)
			}
		})
	}
}

func TestTwoDigits(t *testing.T) {
	for _, c := range []struct {
		v    float64
		want string
	}{{0, "0"}, {0.004, "less than 0.01"}, {0.0724, "0.072"}, {3.4753, "3.5"}, {17.94, "18"}, {143.2, "140"}, {9.96, "10"}} {
		if got := two(c.v); got != c.want {
			t.Errorf("two(%g) = %q, want %q", c.v, got, c.want)
		}
	}
}

func FuzzLethality(f *testing.F) {
	f.Add(0.0, 10.0, 20.0, 121.0, 10.0)
	f.Add(1e308, -1e308, 150.0, -20.0, 2.0)
	f.Fuzz(func(t *testing.T, t0, t1, c0, c1, z float64) {
		ans, err := Lethality(LethalityInput{TimesMin: []float64{t0, t1}, Celsius: []float64{c0, c1}, ZC: &z})
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
		if r := ans.Result; r.FMin < 0 || r.FMin > r.FTrapezoidMin*(1+1e-9)+1e-9 {
			t.Errorf("F %g, trapezoid %g", r.FMin, r.FTrapezoidMin)
		}
	})
}
