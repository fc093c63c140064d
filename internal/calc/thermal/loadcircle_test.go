package thermal

import (
	"math"
	"math/rand/v2"
	"strings"
	"testing"
)

// The closed forms of the known packings of circles in a circle: rings of n
// around nothing, 1 + 1/sin(pi/n), and around one, the same with n - 1; 13,
// 15 and 18 of their own. The table is rounded to a millionth.
func TestCircleRatiosClosedForms(t *testing.T) {
	ring := func(n float64) float64 { return 1 + 1/math.Sin(math.Pi/n) }
	for n, want := range map[int]float64{
		1: 1, 2: 2, 3: ring(3), 4: ring(4), 5: ring(5), 6: ring(6), 7: ring(6), 8: ring(7), 9: ring(8),
		13: 2 + math.Sqrt(5), 15: 1 + math.Sqrt(6+2/math.Sqrt(5)+4*math.Sqrt(1+2/math.Sqrt(5))), 18: 1 + math.Sqrt2 + math.Sqrt(6), 19: 1 + math.Sqrt2 + math.Sqrt(6),
	} {
		near(t, "ratio", circleRatios[n-1], want, 1e-6)
	}
	for n := 1; n < len(circleRatios); n++ {
		if circleRatios[n] < circleRatios[n-1] {
			t.Errorf("%d circles need less than %d", n+1, n)
		}
		// No packing is denser than a hexagonal one, pi/sqrt 12.
		if density := float64(n+1) / (circleRatios[n] * circleRatios[n]); density > math.Pi/math.Sqrt(12) {
			t.Errorf("%d circles fill %.3f", n+1, density)
		}
	}
}

// packs tells whether n circles of radius 1 can be pushed into a circle of
// radius ratio: from seeded places, what overlaps is moved apart by half of
// it, over and over, until no two are nearer than 2 by more than a thousandth.
func packs(n int, ratio float64, starts int) bool {
	rng := rand.New(rand.NewPCG(uint64(n), 5))
	x, y := make([]float64, n), make([]float64, n)
	for range starts {
		for i := range n {
			r, a := (ratio-1)*math.Sqrt(rng.Float64()), 2*math.Pi*rng.Float64()
			x[i], y[i] = r*math.Cos(a), r*math.Sin(a)
		}
		for range 1500 {
			if pushApart(x, y, ratio) < 1e-3 {
				return true
			}
		}
	}
	return false
}

// pushApart moves circles apart and back inside, and returns the greatest
// overlap that it found.
func pushApart(x, y []float64, ratio float64) float64 {
	worst := 0.0
	for i := range x {
		for j := range i {
			dx, dy := x[i]-x[j], y[i]-y[j]
			d := math.Hypot(dx, dy)
			if over := 2 - d; over > 0 && d > 0 {
				worst = max(worst, over)
				dx, dy = dx/d*over/2, dy/d*over/2
				x[i], y[i], x[j], y[j] = x[i]+dx, y[i]+dy, x[j]-dx, y[j]-dy
			}
		}
	}
	for i := range x {
		if d := math.Hypot(x[i], y[i]); d > ratio-1 {
			worst = max(worst, d-(ratio-1))
			x[i], y[i] = x[i]*(ratio-1)/d, y[i]*(ratio-1)/d
		}
	}
	return worst
}

// Those without a closed form: by pushing, n circles go in where there is half
// a per cent more room than the table says, and not where there is half a per
// cent less.
func TestCircleRatiosByPushing(t *testing.T) {
	for _, n := range []int{10, 11, 12, 14, 16, 17, 20} {
		ratio := circleRatios[n-1]
		if !packs(n, 1.005*ratio, 200) {
			t.Errorf("%d circles do not go into %g", n, 1.005*ratio)
		}
		if packs(n, 0.995*ratio, 15) {
			t.Errorf("%d circles go into %g", n, 0.995*ratio)
		}
	}
}

// Beyond the table, by the distances of a hexagonal grid of step 2: from the
// middle between two circles sqrt 21 holds 22, and from the middle of three
// sqrt(76/3) holds 27.
func TestHexagonsByHand(t *testing.T) {
	for _, c := range []struct {
		d    float64
		want int
	}{{math.Sqrt(21), 22}, {math.Sqrt(76.0 / 3), 27}} {
		if got := RoundsIn(100*(1+c.d)+0.01, 100, 0); got != c.want {
			t.Errorf("%g + 1 holds %d, want %d", c.d, got, c.want)
		}
		if got := RoundsIn(100*(1+c.d)-0.01, 100, 0); got >= c.want {
			t.Errorf("just below %g + 1: %d", c.d, got)
		}
	}
}

// Pots and jars by hand: a ratio just met holds its number, a hair less the
// number before; a gap costs places; above twenty a hexagonal grid of 37 has
// a ratio of 7 and one of 61 of 9.
func TestRoundsIn(t *testing.T) {
	for n, ratio := range circleRatios {
		want := n + 1
		if n+1 < len(circleRatios) && circleRatios[n+1] == ratio {
			want++
		}
		if got := RoundsIn(100*ratio+0.01, 100, 0); got != want {
			t.Errorf("ratio %g holds %d, want %d", ratio, got, want)
		}
		if n > 0 && circleRatios[n-1] < ratio {
			if got := RoundsIn(100*ratio-0.01, 100, 0); got != n {
				t.Errorf("just below %g: %d, want %d", ratio, got, n)
			}
		}
	}
	for _, c := range []struct {
		bore, width, gap float64
		want             int
	}{
		{300, 100, 0, 7},
		{300, 100, 5, 5},
		{300, 80, 5, 8},
		{99, 100, 0, 0},
		{104, 100, 5, 0},
		{110, 100, 5, 1},
		{700, 100, 0, 37},
		{900, 100, 0, 61},
		{math.NaN(), 100, 0, 0},
	} {
		if got := RoundsIn(c.bore, c.width, c.gap); got != c.want {
			t.Errorf("%g in %g with %g: %d, want %d", c.width, c.bore, c.gap, got, c.want)
		}
	}
	last := 0
	for bore := 100.0; bore < 2000; bore += 7 {
		n := RoundsIn(bore, 90, 5)
		if n < last {
			t.Errorf("a pot of %g mm holds %d, a smaller one %d", bore, n, last)
		}
		last = n
	}
}

// Without a count the layer is estimated, and said so; a count goes before.
func TestLoadEstimatesLayers(t *testing.T) {
	in := LoadInput{
		Cookers:   []LoadCooker{{Name: "A", BoreMM: ptr(300), HeightMM: ptr(280)}},
		HeightsMM: map[string]float64{"pint": 130, "tub": 60}, WidthsMM: map[string]float64{"pint": 80, "tub": 310},
		Jars: map[string]int{"pint": 16, "tub": 2}, CycleMin: 180, DayMin: 720,
	}
	ans := mustLoad(t, in)
	if r := ans.Result; r.Rounds != 1 || r.Cooks[0].Places != 16 || len(r.Refused) != 1 || !strings.Contains(r.Refused[0].Why, "310 mm wide") {
		t.Errorf("%+v", r)
	}
	if !hasCaution(ans.Cautions, "packing_estimated") {
		t.Error("an estimate is not said to be one")
	}
	in.ClearanceMM = ptr(15) // (300 - 15)/(80 + 15) = 3 holds 7
	if r := mustLoad(t, in).Result; r.Cooks[0].Places != 14 {
		t.Errorf("with a gap of 15 mm: %+v", r.Cooks)
	}
	in.Cookers[0].Capacity = map[string]int{"pint": 6}
	ans = mustLoad(t, in)
	if r := ans.Result; r.Cooks[0].Places != 12 || hasCaution(ans.Cautions, "packing_estimated") {
		t.Errorf("counted: %+v", ans)
	}
	for _, c := range []struct {
		field string
		spoil func(*LoadInput)
	}{
		{"widths_mm.pint", func(in *LoadInput) { in.WidthsMM["pint"] = 8 }},
		{"clearance_mm", func(in *LoadInput) { in.ClearanceMM = ptr(-1) }},
		{"cookers[0].bore_mm", func(in *LoadInput) { in.Cookers[0].BoreMM = ptr(30) }},
	} {
		bad := in
		bad.WidthsMM, bad.Cookers = map[string]float64{"pint": 80}, []LoadCooker{{Name: "A", BoreMM: ptr(300), HeightMM: ptr(280)}}
		c.spoil(&bad)
		_, err := Load(bad)
		faultAt(t, err, c.field)
	}
}
