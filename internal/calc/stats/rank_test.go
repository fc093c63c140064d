package stats

import (
	"encoding/json"
	"testing"
)

func TestRank(t *testing.T) {
	for _, c := range []struct {
		name string
		cols [][]float64
		want int
	}{
		{"none", nil, 0},
		{"empty", [][]float64{{}}, 0},
		{"zeros", [][]float64{{0, 0}, {0, 0}}, 0},
		{"one", [][]float64{{1, 1, 1}}, 1},
		{"same but for unit", [][]float64{{1e-9, 2e-9, 4e-9}, {1e9, 2e9, 4e9}}, 1},
		{"sum", [][]float64{{1, 0, 0, 1}, {0, 1, 0, 1}, {1, 1, 0, 2}, {0, 0, 1, 0}}, 3},
		{"more columns than rows", [][]float64{{1, 0}, {0, 1}, {1, 1}}, 2},
		{"nearly alike", [][]float64{{1, 1}, {1, 1 + 1e-7}}, 2},
		{"alike to the tolerance", [][]float64{{1, 1}, {1, 1 + 1e-10}}, 1},
	} {
		before, _ := json.Marshal(c.cols)
		if got := Rank(c.cols); got != c.want {
			t.Errorf("%s: rank %d, want %d", c.name, got, c.want)
		}
		if after, _ := json.Marshal(c.cols); string(after) != string(before) {
			t.Errorf("%s: columns were changed", c.name)
		}
	}
}
