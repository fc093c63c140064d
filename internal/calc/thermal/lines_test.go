package thermal

import (
	"encoding/json"
	"os"
	"testing"
)

// The same cells solved by SciPy's solve_ivp (BDF, 1e-9) from a program of
// its own, with properties that change with temperature and unlike faces;
// the script and its version are named in the fixture. At 1 K of tolerance
// the steps of the calculator differ by 0.03 °C near the ends, at 0.002 K by 0.001 °C.
func TestAgainstMethodOfLines(t *testing.T) {
	raw, err := os.ReadFile("testdata/method_of_lines.json")
	if err != nil {
		t.Fatal(err)
	}
	var fix struct {
		Radius  float64     `json:"radius_m"`
		Height  float64     `json:"height_m"`
		NR      int         `json:"nr"`
		NZ      int         `json:"nz"`
		Side    float64     `json:"side"`
		Top     float64     `json:"top"`
		Base    float64     `json:"base"`
		Minutes []float64   `json:"minutes"`
		Lines   [][]float64 `json:"centre_line_c"`
	}
	if err := json.Unmarshal(raw, &fix); err != nil {
		t.Fatal(err)
	}
	m, err := newContents(Substrate{MoisturePct: ptr(55)}, best, 1)
	if err != nil {
		t.Fatal(err)
	}
	f := Faces{Side: fix.Side, Top: fix.Top, Base: fix.Base}
	chamber := func(minute float64) float64 {
		switch {
		case minute <= 20:
			return 20 + 101*minute/20
		case minute <= 110:
			return 121
		}
		return 121 - 24*(minute-110)/45
	}
	for _, c := range []struct {
		pace pace
		tol  float64
	}{{pace{0.002, 20}, 0.001}, {usualPace, 0.04}} {
		s := newConduction(newCylinder(fix.Radius, fix.Height, fix.NR, fix.NZ), m, 20)
		p, last := newProbe(s, 20), 0.0
		for i, minute := range fix.Minutes {
			if _, err := s.run(surround{minute - last, chamber(last), chamber(minute), f}, c.pace, func(float64) bool { return true }); err != nil {
				t.Fatal(err)
			}
			last = minute
			for j, got := range p.centre(s) {
				near(t, "centre line", got, fix.Lines[i][j], c.tol)
			}
		}
	}
}
