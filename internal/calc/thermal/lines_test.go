package thermal

import (
	"encoding/json"
	"math"
	"os"
	"testing"
)

// readFixture reads a file of testdata into v.
func readFixture(t testing.TB, name string, v any) {
	t.Helper()
	raw, err := os.ReadFile("testdata/" + name)
	if err != nil {
		t.Fatal(err)
	}
	if err := json.Unmarshal(raw, v); err != nil {
		t.Fatal(err)
	}
}

// wetGrain is the best guess of grain with 55 % of water.
func wetGrain(t testing.TB) *medium {
	t.Helper()
	m, err := newContents(Substrate{MoisturePct: ptr(55)}, best, 1)
	if err != nil {
		t.Fatal(err)
	}
	return m
}

// fourHours is the surroundings at a minute of the courses of the fixtures:
// 20 min up, 90 min hold, 45 min down to 97 °C, and a room.
func fourHours(minute float64) float64 {
	switch {
	case minute <= 20:
		return 20 + 101*minute/20
	case minute <= 110:
		return 121
	case minute <= 155:
		return 121 - 24*(minute-110)/45
	}
	return 22
}

// The same cells solved by SciPy's solve_ivp (BDF, 1e-9) from a program of
// its own, with properties that change with temperature and unlike faces;
// the script and its version are named in the fixture. As the calculator
// steps it is within 0.02 °C, with fine steps within 0.0005 °C.
func TestAgainstMethodOfLines(t *testing.T) {
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
	readFixture(t, "method_of_lines.json", &fix)
	f := Faces{Side: fix.Side, Top: fix.Top, Base: fix.Base}
	for _, c := range []struct {
		pace pace
		tol  float64
	}{{pace{0.002, 20}, 0.0005}, {usualPace, 0.02}} {
		s := newConduction(newCylinder(fix.Radius, fix.Height, fix.NR, fix.NZ), wetGrain(t), 20)
		p, last := newProbe(s, 20), 0.0
		for i, minute := range fix.Minutes {
			if _, err := s.run(surround{minute - last, fourHours(last), fourHours(minute), f}, c.pace, func(float64) bool { return true }); err != nil {
				t.Fatal(err)
			}
			last = minute
			for j, got := range p.centre(s) {
				near(t, "centre line", got, fix.Lines[i][j], c.tol)
			}
		}
	}
}

// course is four lines of cells of 40 x 60 through four hours, by SciPy at
// 1e-10: the innermost and the outermost column, the lowest and the highest
// row.
type course struct {
	Radius  float64        `json:"radius_m"`
	Height  float64        `json:"height_m"`
	NR      int            `json:"nr"`
	NZ      int            `json:"nz"`
	Minutes []float64      `json:"minutes"`
	Lines   [][4][]float64 `json:"lines_c"`
}

// run steps through the course and returns the greatest error on the lines.
func (fix course) run(t testing.TB, b *body, m *medium, p pace) float64 {
	t.Helper()
	s, last, off := newConduction(b, m, 20), 0.0, 0.0
	for i, minute := range fix.Minutes {
		a := surround{minute - last, fourHours(last + 1e-9), fourHours(minute), even}
		if last >= 155 {
			a.faces = Faces{10, 10, 10}
		}
		if _, err := s.run(a, p, func(float64) bool { return true }); err != nil {
			t.Fatal(err)
		}
		last = minute
		for j, line := range fix.Lines[i] {
			for k, want := range line {
				c := [4]int{k * fix.NR, k*fix.NR + fix.NR - 1, k, (fix.NZ-1)*fix.NR + k}[j]
				off = math.Max(off, math.Abs(s.temp(c)-want))
			}
		}
	}
	return off
}

// The calculator's steps, and finer ones, against the tight solution. A
// quarter of the tolerance is half the step and a quarter of the error.
func TestFourHours(t *testing.T) {
	var fix course
	readFixture(t, "four_hours.json", &fix)
	b, m := newCylinder(fix.Radius, fix.Height, fix.NR, fix.NZ), wetGrain(t)
	for _, c := range []struct {
		pace pace
		tol  float64
	}{{usualPace, 0.015}, {pace{0.03, 120}, 0.005}, {pace{0.002, 60}, 0.0005}} {
		if off := fix.run(t, b, m, c.pace); off > c.tol {
			t.Errorf("%+v: off by %.5f K, allowed %g K", c.pace, off, c.tol)
		}
	}
}
