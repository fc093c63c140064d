package trialstat

import (
	"encoding/json"
	"errors"
	"math"
	"testing"

	"pinset/internal/figure"
)

// Whatever a table holds, the answer is a fault for the grower or a result that
// JSON can carry, with endings that its own figures bear out.
func FuzzCompareRows(f *testing.F) {
	for _, seed := range []string{
		`{"rows":[]}`,
		`{"rows":[{"jar":1,"arm":"A","fate":"picked","value":10},{"jar":2,"arm":"B","fate":"lost"}]}`,
		`{"arms_differ_in":["recipe"],"control":"A","matters_pct":5,"primary":"picked","rows":[
		{"jar":"a","arm":"A","fate":"picked","value":1,"cook":1,"layer":"top"},{"jar":"b","arm":"A","fate":"picked","value":2,"cook":1,"layer":"low"},
		{"jar":"c","arm":"A","fate":"picked","value":3,"cook":2,"layer":"top"},{"jar":"d","arm":"A","fate":"spent","value":4,"cook":2,"layer":"low"},
		{"jar":"e","arm":"B","fate":"picked","value":5,"cook":1,"layer":"top"},{"jar":"f","arm":"B","fate":"barren","cook":1,"layer":"low"},
		{"jar":"g","arm":"B","fate":"lost","value":0,"cook":2,"layer":"top"},{"jar":"h","arm":"B","fate":"picked","value":1e9,"cook":2,"layer":"low"}]}`,
		`{"rows":[{"arm":"A","fate":"picked","value":1e-300},{"arm":"A","fate":"picked","value":0},{"arm":"A","fate":"picked","value":0},{"arm":"A","fate":"picked","value":0},
		{"arm":"B","fate":"picked","value":5e-324},{"arm":"B","fate":"picked","value":0},{"arm":"B","fate":"picked","value":0},{"arm":"B","fate":"picked","value":0}]}`,
		`{"rows":[{"jar":null,"arm":"A","fate":"growing","value":null,"shelf":"x"},{"jar":null,"arm":"B","fate":"growing","shelf":"y"}]}`,
		`{"rows":[{"jar":[1],"arm":{}}]}`,
	} {
		f.Add([]byte(seed))
	}
	f.Fuzz(func(t *testing.T, data []byte) {
		var in CompareInput
		if json.Unmarshal(data, &in) != nil {
			return
		}
		a, err := Compare(in)
		var fault *figure.Fault
		if err != nil {
			if !errors.As(err, &fault) || fault.What == "" || fault.Mend == "" {
				t.Fatalf("%v is no fault for the grower", err)
			}
			return
		}
		if _, err := json.Marshal(a); err != nil {
			t.Fatal(err)
		}
		for _, x := range a.Result.Comparisons {
			low, high := x.Difference.Low, x.Difference.High
			if low != nil && !(*low <= *x.Difference.Value && *x.Difference.Value <= *high) {
				t.Fatalf("%g is not within %g to %g", *x.Difference.Value, *low, *high)
			}
			if x.Ending == Supported && *low <= 0 && *high >= 0 {
				t.Fatalf("supported, but the interval holds 0: %s", x.Sentence)
			}
			if p := x.Difference.PWelch; p != nil && !(*p >= 0 && *p <= 1) {
				t.Fatalf("p is %g", *p)
			}
		}
		if e := a.Result.Efficiency; !(e >= 0) || math.IsInf(e, 0) {
			t.Fatalf("efficiency is %g", e)
		}
	})
}
