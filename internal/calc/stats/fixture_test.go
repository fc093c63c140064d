package stats

import (
	"encoding/csv"
	"encoding/json"
	"math"
	"os"
	"strconv"
	"testing"
)

// closed is the relative tolerance for closed forms and exact tests: the
// reference answers carry 15 digits, and the algorithms differ in their order
// of summing.
const closed = 1e-10

// near fails unless got is within the relative tolerance rel of want.
func near(t *testing.T, what string, got, want, rel float64) {
	t.Helper()
	if !(math.Abs(got-want) <= rel*math.Abs(want)) {
		t.Errorf("%s = %.16g, want %.16g; off by %.1e of it", what, got, want, math.Abs(got-want)/math.Abs(want))
	}
}

// within fails unless got is within the absolute tolerance tol of want.
func within(t *testing.T, what string, got, want, tol float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tol) {
		t.Errorf("%s = %.16g, want %.16g; off by %.1e", what, got, want, math.Abs(got-want))
	}
}

// reference returns a file of reference answers, by case.
func reference(t testing.TB, name string) map[string]json.RawMessage {
	t.Helper()
	b, err := os.ReadFile("testdata/ref/" + name + ".json")
	if err != nil {
		t.Fatal(err)
	}
	var all map[string]json.RawMessage
	if err := json.Unmarshal(b, &all); err != nil {
		t.Fatalf("%s: %v", name, err)
	}
	return all
}

// read decodes the case key of a file of reference answers into to.
func read(t testing.TB, from map[string]json.RawMessage, key string, to any) {
	t.Helper()
	raw, ok := from[key]
	if !ok {
		t.Fatalf("no case %q", key)
	}
	if err := json.Unmarshal(raw, to); err != nil {
		t.Fatalf("%s: %v", key, err)
	}
}

// number reads a JSON number or the words that R writes for what JSON lacks.
type number float64

func (n *number) UnmarshalJSON(b []byte) error {
	var v any
	if err := json.Unmarshal(b, &v); err != nil {
		return err
	}
	switch v := v.(type) {
	case float64:
		*n = number(v)
	case string:
		f, err := strconv.ParseFloat(v, 64)
		if err != nil {
			f = math.NaN() // "NA"
		}
		*n = number(f)
	}
	return nil
}

// table is a CSV file by column.
type table map[string][]string

func data(t testing.TB, name string) table {
	t.Helper()
	f, err := os.Open("testdata/data/" + name + ".csv")
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	rows, err := csv.NewReader(f).ReadAll()
	if err != nil {
		t.Fatalf("%s: %v", name, err)
	}
	out := table{}
	for j, head := range rows[0] {
		for _, row := range rows[1:] {
			out[head] = append(out[head], row[j])
		}
	}
	return out
}

// where returns the rows of a whose column key reads as one of values and whose
// column y is not blank.
func (a table) where(t testing.TB, y, key string, values ...string) []float64 {
	t.Helper()
	var out []float64
	for i, s := range a[y] {
		for _, v := range values {
			if a[key][i] == v && s != "" {
				out = append(out, parse(t, s))
			}
		}
	}
	return out
}

func parse(t testing.TB, s string) float64 {
	t.Helper()
	v, err := strconv.ParseFloat(s, 64)
	if err != nil {
		t.Fatal(err)
	}
	return v
}

// trial returns the yields of one of the invented trials with arm (A, B) and
// layer (bottom, top) codes, without lost jars and the rows of drop (from 1).
func trial(t testing.TB, name string, drop ...int) (y []float64, arm, block []int) {
	t.Helper()
	d := data(t, name)
rows:
	for i, s := range d["yield_g"] {
		for _, r := range drop {
			if r == i+1 {
				continue rows
			}
		}
		if s == "" {
			continue
		}
		y = append(y, parse(t, s))
		arm = append(arm, code(d["broth"][i] == "B"))
		block = append(block, code(d["layer"][i] == "top"))
	}
	return y, arm, block
}

func code(b bool) int {
	if b {
		return 1
	}
	return 0
}

func logs(x []float64) []float64 {
	out := make([]float64, len(x))
	for i, v := range x {
		out[i] = math.Log(v)
	}
	return out
}

// twoArms are the samples of the two-sample references, first arm first: the
// references are first less second.
func twoArms(t testing.TB) map[string][2][]float64 {
	t.Helper()
	plant, sleep, pins := data(t, "plantgrowth"), data(t, "sleep"), data(t, "pincounts_ties")
	a, b, insect := data(t, "trialA_balanced"), data(t, "trialB_lostjars"), data(t, "insectsprays")
	return map[string][2][]float64{
		"plantgrowth_trt1_ctrl": {plant.where(t, "weight", "group", "trt1"), plant.where(t, "weight", "group", "ctrl")},
		"plantgrowth_trt2_ctrl": {plant.where(t, "weight", "group", "trt2"), plant.where(t, "weight", "group", "ctrl")},
		"sleep_as_two_groups":   {sleep.where(t, "extra", "group", "1"), sleep.where(t, "extra", "group", "2")},
		"trialA":                {a.where(t, "yield_g", "broth", "B"), a.where(t, "yield_g", "broth", "A")},
		"trialB":                {b.where(t, "yield_g", "broth", "B"), b.where(t, "yield_g", "broth", "A")},
		"pincounts_ties":        {pins.where(t, "pins", "arm", "B"), pins.where(t, "pins", "arm", "A")},
		"insect_C_D":            {insect.where(t, "count", "spray", "D"), insect.where(t, "count", "spray", "C")},
	}
}

// twoSample is one case of the two-sample references.
type twoSample struct {
	Welch struct {
		T, DF, P number
		CI       [2]number `json:"ci95"`
	}
	Perm *struct {
		P number `json:"p_two"`
	}
	Shift  *[2]number `json:"perm_shift_ci95"`
	Wilcox *struct {
		W, P, HL number
		NoTies   bool `json:"exact_no_ties"`
	}
	WilcoxExact  number                    `json:"wilcox_exact_with_ties_coin"`
	WilcoxNormal number                    `json:"wilcox_asymp_cc"`
	HL           number                    `json:"HL"`
	HLInterval   *[2]number                `json:"HL_ci_exactRank"`
	Superiority  number                    `json:"P_superiority"`
	Hedges       *struct{ D, J, G number } `json:"hedges_g"`
	LogRatio     *struct {
		Ratio number    `json:"ratio_geo"`
		CI    [2]number `json:"ci95"`
		P, DF number
	} `json:"log_ratio"`
	Fieller *struct {
		Ratio number
		CI    [2]number `json:"ci95"`
		G, DF number
	} `json:"fieller_ratio"`
}
