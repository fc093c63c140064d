package stats

import (
	"errors"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"pgregory.net/rapid"
)

// Reference: full enumeration in R 4.2.2, scripts/02_two_sample.R.
func TestPermutationMeansAgainstR(t *testing.T) {
	ref := reference(t, "two_sample")
	for name, arms := range twoArms(t) {
		var want twoSample
		read(t, ref, name, &want)
		got, err := PermutationMeans(arms[0], arms[1])
		if err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		near(t, name, got, float64(want.Perm.P), closed)
	}
}

func trialL(t testing.TB) (a, b []float64) {
	d := data(t, "trialL_2x30")
	return d.where(t, "yield_g", "arm", "A"), d.where(t, "yield_g", "arm", "B")
}

// Reference: exactRankTests 0.8-35 perm.test (shift algorithm) on tenths of a gram.
func TestPermutationMeansTwoByThirty(t *testing.T) {
	var want struct {
		Perm struct {
			P float64 `json:"p_two"`
		} `json:"perm_exact_shift_algorithm"`
	}
	read(t, reference(t, "two_sample"), "trialL", &want)
	a, b := trialL(t)
	got, err := PermutationMeans(a, b)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "2x30", got, want.Perm.P, closed)
}

// Reference: enumeration inside layers in R 4.2.2.
func TestPermutationBlockedAgainstR(t *testing.T) {
	ref := reference(t, "two_sample")
	for name, file := range map[string]string{"trialA_blocked_perm": "trialA_balanced", "trialB_blocked_perm": "trialB_lostjars"} {
		var want struct {
			P float64 `json:"p_two"`
		}
		read(t, ref, name, &want)
		y, arm, block := trial(t, file)
		for _, values := range [][]float64{y, linear(y, math.Pi, -7)} { // on and off a decimal grid
			got, exact, err := PermutationBlocked(values, arm, block)
			if err != nil || !exact {
				t.Fatalf("%s: exact %v, %v", name, exact, err)
			}
			near(t, name, got, want.P, closed)
		}
	}
}

// Pairs are blocks of two: flipping signs. Reference: all 1024 flips in R 4.2.2.
func TestPermutationPairs(t *testing.T) {
	var want struct {
		Flip struct{ P float64 } `json:"sign_flip_exact"`
	}
	read(t, reference(t, "two_sample"), "sleep_paired", &want)
	d := data(t, "sleep")
	var y []float64
	var arm, block []int
	for i, s := range d["extra"] {
		y, arm, block = append(y, parse(t, s)), append(arm, code(d["group"][i] == "2")), append(block, int(parse(t, d["ID"][i])))
	}
	got, exact, err := PermutationBlocked(y, arm, block)
	if err != nil || !exact {
		t.Fatalf("exact %v, %v", exact, err)
	}
	near(t, "sign flips", got, want.Flip.P, closed)
}

// The least p that a design can reach, where the arms do not overlap.
// Reference: scripts/12_design.R.
func TestPermutationLeastP(t *testing.T) {
	var want []struct {
		N1, N2 int
		P      float64 `json:"min_two_sided_p_mean_diff"`
	}
	read(t, reference(t, "design"), "min_p", &want)
	for _, w := range want {
		var a, b []float64
		for i := range w.N1 {
			a = append(a, 100*math.Pow(1.7, float64(i)/9)) // off the grid, no ties
		}
		for i := range w.N2 {
			b = append(b, 1e5+math.Sqrt(float64(i)))
		}
		got, err := PermutationMeans(a, b)
		if err != nil {
			t.Fatal(err)
		}
		near(t, "least p", got, w.P, closed)
	}
}

// enumerated counts all deals inside blocks one by one, with the statistic as it
// would be written by hand.
func enumerated(y []float64, arm, block []int) float64 {
	rows := inBlocks(block, len(y))
	stat := func(arm []int) float64 {
		var s float64
		for _, in := range rows {
			var n, sum [2]float64
			for _, i := range in {
				n[arm[i]]++
				sum[arm[i]] += y[i]
			}
			if n[0] > 0 && n[1] > 0 {
				s += n[0] * n[1] / (n[0] + n[1]) * (sum[1]/n[1] - sum[0]/n[0])
			}
		}
		return math.Abs(s)
	}
	seen := stat(arm)
	hits, all := 0.0, 0.0
	deal := make([]int, len(arm))
	var walk func(b int)
	walk = func(b int) {
		if b == len(rows) {
			all++
			if stat(deal) >= seen-1e-9*math.Max(1, seen) {
				hits++
			}
			return
		}
		in, ones := rows[b], 0
		for _, i := range in {
			ones += arm[i]
		}
		for set := range 1 << len(in) {
			k := 0
			for j, i := range in {
				deal[i] = set >> j & 1
				k += deal[i]
			}
			if k == ones {
				walk(b + 1)
			}
		}
	}
	walk(0)
	return hits / all
}

// The shift algorithm and the halves give what plain enumeration gives.
func TestPermutationWaysAgree(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(2, 12).Draw(t, "n")
		var y []float64
		var arm, block []int
		for range n {
			y = append(y, float64(rapid.IntRange(-20, 300).Draw(t, "y"))/10)
			arm = append(arm, rapid.IntRange(0, 1).Draw(t, "arm"))
			block = append(block, rapid.IntRange(0, 2).Draw(t, "block"))
		}
		d, err := newDeal(y, arm, block)
		if err != nil {
			return
		}
		want := enumerated(y, arm, block)
		at, _ := d.bestCut()
		alike(t, "halves", d.byHalves(at), want, 1e-12)
		units, _ := grid(d.values)
		if units == nil {
			t.Fatal("tenths are not seen to lie on a grid")
		}
		alike(t, "shift", byShift(units, d.chosen, wholeDistance(units, d.taken, d.chosen)), want, 1e-12)
		swapped := make([]int, n)
		for i, a := range arm {
			swapped[i] = 1 - a
		}
		p, exact, err := PermutationBlocked(linear(y, -3, 8), swapped, block)
		if err != nil || !exact {
			t.Fatalf("exact %v, %v", exact, err)
		}
		alike(t, "turned round", p, want, 1e-12)
	})
}

// On logarithms jars lie on no grid. Where halves can still count, rounded sums
// must come near them; for 2x30 jars, near the p of many draws.
func TestPermutationOffGrid(t *testing.T) {
	a, b := trialL(t)
	for _, n := range []int{12, 18} {
		y, arm := together(logs(a[:n]), logs(b[:n]))
		d, err := newDeal(y, arm, nil)
		if err != nil {
			t.Fatal(err)
		}
		want, ok := d.exact(maxShift)
		if !ok {
			t.Fatalf("2x%d can not be counted", n)
		}
		got, ok := d.rounded()
		if !ok {
			t.Fatal("no grid is coarse enough")
		}
		near(t, "rounded sums", got, want, 1e-4) // the grid is 1/32000 of the range or finer
	}
	// The coarsest grid that is taken, on 2x100 jars in tenths of a gram.
	y, arm, _ := large(200)
	for i, v := range y {
		y[i] = math.Round(10*(v-15*float64(arm[i]))) / 10
	}
	d, err := newDeal(y, arm, nil)
	if err != nil {
		t.Fatal(err)
	}
	want, ok := d.exact(2 * maxShift)
	if !ok {
		t.Fatal("2x100 can not be counted")
	}
	far, _ := d.distance()
	step := slices.Max(d.values[0]) / 60
	near(t, "coarse sums", byShift(multiples(d.values, step, 1), d.chosen, far/step), want, 0.005)
	y, arm = together(a, b)
	p, exact, err := PermutationBlocked(logs(y), arm, nil)
	if err != nil || exact {
		t.Fatalf("exact %v, %v", exact, err)
	}
	const draws = 100_000
	rerun := PermutationRerun(logs(y), arm, draws, shuffles(arm, 11), meanGap)
	within(t, "logarithms", p, rerun, 4*math.Sqrt(p*(1-p)/draws))
	if _, err := PermutationMeans(logs(a), logs(b)); !errors.Is(err, ErrRange) {
		t.Errorf("exact p of 2x30 logarithms: %v, want ErrRange", err)
	}
}

// Thousands of jars: the normal p of a shift of the mean.
func TestPermutationThousands(t *testing.T) {
	y, arm, block := large(5000)
	for i := range y {
		y[i] -= 19.4 * float64(arm[i]) // leave little of the difference
	}
	p, exact, err := PermutationBlocked(y, arm, block)
	if err != nil || exact {
		t.Fatalf("exact %v, %v", exact, err)
	}
	d, err := fitDifference(y, arm, block, 2, 0, 1)
	if err != nil {
		t.Fatal(err)
	}
	within(t, "p", p, d.P, 0.02) // both near the normal p; arms differ in spread
	whole := make([]float64, 3000)
	lot := make([]int, 3000)
	for i := range whole {
		whole[i], lot[i] = float64(i%3), i/1500 // counts 0, 1, 2, alike in both arms
	}
	p, exact, err = PermutationBlocked(whole, lot, nil)
	if err != nil || p != 1 {
		t.Errorf("arms alike: p %g, exact %v, %v; want 1", p, exact, err)
	}
}

// Counts of ways above 2^1024 must not overflow, within a block or over blocks.
func TestPermutationManyWays(t *testing.T) {
	for _, blocks := range []int{1, 4} {
		n := 1400
		y, arm := make([]float64, n), make([]int, n)
		block := make([]int, n)
		for i := range y {
			arm[i] = i % 2
			y[i] = float64(i / 8 % 2) // in every block half of them
			block[i] = i / 2 % blocks // with both arms alike
		}
		for i := range 30 {
			y[4*i+1] = 1
		}
		p, exact, err := PermutationBlocked(y, arm, block)
		if err != nil || !exact {
			t.Fatalf("exact %v, %v", exact, err)
		}
		d, err := newDeal(y, arm, block)
		if err != nil {
			t.Fatal(err)
		}
		// Whole numbers: the normal p with continuity correction is good to a few per
		// cent here.
		far, _ := d.distance()
		z := NormalQuantile(1-d.normal()/2) * (far - 0.5) / far
		near(t, "p", p, 2*NormalUpper(z), 0.03)
	}
}

// Ties that rounding would break: off a grid with noise of 1e-11, and a difference
// that is 0 but for rounding.
func TestPermutationTies(t *testing.T) {
	want, err := PermutationMeans([]float64{0, 1, 4}, []float64{2, 3, 5})
	if err != nil {
		t.Fatal(err)
	}
	noisy := func(x ...float64) []float64 {
		out := make([]float64, len(x))
		for i, v := range x {
			out[i] = math.Pi * v * (1 + 1e-11*math.Sin(7*v))
		}
		return out
	}
	got, err := PermutationMeans(noisy(0, 1, 4), noisy(2, 3, 5))
	if err != nil {
		t.Fatal(err)
	}
	near(t, "noisy ties", got, want, 1e-12)
	if want == 1 || want == 0.1 {
		t.Errorf("p %g shows nothing of ties", want)
	}
	for k := 1.0; k < 60; k++ { // log 2k + log 9k is log 3k + log 6k
		p, err := PermutationMeans(logs([]float64{2 * k, 9 * k, k}), logs([]float64{3 * k, 6 * k, k}))
		if err != nil || p != 1 {
			t.Errorf("no difference but rounding, case %g: p %g, %v; want 1", k, p, err)
		}
	}
	y := []float64{0.1, 0.2, 0.3, 0.3, 0.2, 0.1}
	first, last := []int{1, 1, 1, 0, 0, 0}, []int{0, 0, 0, 1, 1, 1}
	sum := func(y []float64, arm []int) float64 {
		var s float64
		for i, a := range arm {
			s += float64(a) * y[i]
		}
		return s
	}
	if p := PermutationRerun(y, first, 9, func(int) []int { return last }, sum); p != 1 {
		t.Errorf("the same jars summed the other way: p %g, want 1", p)
	}
}

func TestPermutationRefusals(t *testing.T) {
	if _, err := PermutationMeans(nil, []float64{1}); !errors.Is(err, ErrFew) {
		t.Errorf("empty arm: %v", err)
	}
	if _, err := PermutationMeans([]float64{math.NaN()}, []float64{1}); !errors.Is(err, ErrRange) {
		t.Errorf("NaN: %v", err)
	}
	if _, _, err := PermutationBlocked([]float64{1, 2, 3, 4}, []int{0, 0, 1, 1}, []int{0, 0, 1, 1}); !errors.Is(err, ErrFew) {
		t.Errorf("arm is block: %v", err)
	}
	if _, _, err := PermutationBlocked([]float64{1, 2}, []int{0, 2}, nil); !errors.Is(err, ErrRange) {
		t.Errorf("arm 2: %v", err)
	}
	for _, equal := range []float64{0, 0.1, 1e6 / 7} {
		p, err := PermutationMeans([]float64{equal, equal, equal}, []float64{equal, equal})
		if err != nil || p != 1 {
			t.Errorf("all %g: p %g, %v; want 1", equal, p, err)
		}
	}
	if p, err := PermutationMeans([]float64{1}, []float64{2}); err != nil || p != 1 {
		t.Errorf("one against one: p %g, %v; want 1", p, err)
	}
}

// shuffles deals the arms anew, each draw from its own seed.
func shuffles(arm []int, seed uint64) func(int) []int {
	out := slices.Clone(arm)
	var src rand.PCG
	rng := rand.New(&src)
	return func(rep int) []int {
		src.Seed(seed, uint64(rep))
		copy(out, arm)
		rng.Shuffle(len(out), func(i, j int) { out[i], out[j] = out[j], out[i] })
		return out
	}
}

// meanGap is mean of arm 1 less mean of arm 0.
func meanGap(y []float64, arm []int) float64 {
	var n, sum [2]float64
	for i, a := range arm {
		n[a]++
		sum[a] += y[i]
	}
	return sum[1]/n[1] - sum[0]/n[0]
}

func TestPermutationRerun(t *testing.T) {
	y, arm, _ := trial(t, "trialA_balanced")
	const draws = 20_000
	p := PermutationRerun(y, arm, draws, shuffles(arm, 1), meanGap)
	// Exact p 22/924 by enumeration; four Monte-Carlo standard errors.
	within(t, "p", p, 22.0/924, 4*math.Sqrt(0.0238*0.9762/draws))
	if again := PermutationRerun(y, arm, draws, shuffles(arm, 1), meanGap); again != p {
		t.Errorf("the same seed gave %g and %g", p, again)
	}
	if p := PermutationRerun(y, arm, 0, nil, meanGap); p != 1 {
		t.Errorf("no draws: %g, want 1", p)
	}
	same := func(int) []int { return arm }
	if p := PermutationRerun(y, arm, 99, same, meanGap); p != 1 {
		t.Errorf("every draw tied: %g, want 1", p)
	}
	mirror := func(int) []int { return []int{1, 1, 1, 1, 1, 1, 0, 0, 0, 0, 0, 0} }
	if p := PermutationRerun(y, arm, 9, mirror, meanGap); p != 1 {
		t.Errorf("every draw mirrored: %g, want 1", p)
	}
	nan := func(_ []float64, a []int) float64 {
		if a[0] == 1 {
			return math.NaN()
		}
		return 5
	}
	if p := PermutationRerun(y, arm, 9, mirror, nan); p != 1 {
		t.Errorf("NaN draws: %g, want 1", p)
	}
	fixed := func(rep int) []int { return []int{0, 1, 0, 1, 0, 1, 0, 1, 0, 1, 0, 1} }
	near(t, "no hit", PermutationRerun(y, arm, 9, fixed, meanGap), 0.1, 1e-15)
}
