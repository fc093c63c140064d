package picture

import (
	"math"
	"strings"
	"testing"
	"time"
)

// heat is an invented cook with n stretches of 40 min, the last of which counts.
func heat(n int) Heat {
	h := Heat{
		Name: "cook 3", Finding: "The core earned at least 1.8 and up to 9.1 min of F0.", Begin: time.Date(2026, 3, 2, 18, 5, 0, 0, time.UTC), TargetF0: 15,
		Logged: []HeatSeries{{Name: "core.csv", Points: []HeatPoint{{Min: -90, Celsius: 18}, {Min: 0, Celsius: 20}, {Min: 0.1, Celsius: 20}, {Min: 60, Celsius: 96}, {Min: 120, Celsius: 118}, {Min: 9999, Celsius: 20}}}},
	}
	for i := range n {
		from := 20 + 55*float64(i-n+1)
		h.Stretches = append(h.Stretches, HeatStretch{from, from + 40, i == n-1})
		h.Gauge = append(h.Gauge, HeatPoint{Min: from + 5, Celsius: 119.5})
	}
	for m := 0.0; m <= 300; m++ {
		best := 121 - 100*math.Exp(-m/40)
		h.Trace = append(h.Trace, HeatMoment{m, math.Min(20+5*m, 121), best - 4, best, best + 2, m / 20, m / 10, m / 8})
	}
	return h
}

// The picture tells which stretch counts and which do not, by words as by
// looks, and its table holds the same.
func TestHeatSaysWhatCounts(t *testing.T) {
	p := heat(2).Draw(694)
	svg := string(p.SVG("h"))
	for _, want := range []string{"40 min, counts", "40 min, not counted", "target 15", "18:30", "logged, core.csv", "gauge as read"} {
		if !strings.Contains(svg, want) {
			t.Errorf("the picture does not say %q", want)
		}
	}
	counted, not := 0, 0
	for _, row := range p.Table.Rows {
		switch {
		case strings.Contains(row[4], "not counted"):
			not++
		case strings.Contains(row[4], "counts"):
			counted++
		}
	}
	if counted != 1 || not != 1 {
		t.Errorf("the table has %d stretches that count and %d that do not", counted, not)
	}
}

// The scales hold the whole band, that of a cold load too.
func TestHeatCutsNothing(t *testing.T) {
	h := heat(1)
	h.Trace[0].Low = 4
	last := h.Trace[len(h.Trace)-1]
	h.Trace[len(h.Trace)-1].HiF = 20 * last.BestF
	if most := h.mostF(); !(most >= 20*last.BestF) {
		t.Errorf("lethality ends at %g, the band at %g", most, 20*last.BestF)
	}
	if least := h.leastC(); least > 4 {
		t.Errorf("temperatures begin at %g °C, the load at 4 °C", least)
	}
}

// No line is drawn over the seam between two logs.
func TestHeatLeavesSeamsOpen(t *testing.T) {
	strokes := func(seam bool) int {
		h := Heat{Name: "cook 3", Begin: time.Date(2026, 3, 2, 18, 5, 0, 0, time.UTC)}
		h.Stretches = []HeatStretch{{0, 90, true}}
		h.Logged = []HeatSeries{{Name: "pot.csv", Points: []HeatPoint{{Min: 0, Celsius: 120}, {Min: 20, Celsius: 121}, {Min: 60, Celsius: 121, Seam: seam}, {Min: 80, Celsius: 120}}}}
		return strings.Count(string(h.Draw(694).SVG("h")), "<path")
	}
	if whole, parted := strokes(false), strokes(true); parted != whole+1 {
		t.Errorf("%d lines with a seam, %d without", parted, whole)
	}
}

// A page has 60 kB in all, and shows the picture twice.
func TestHeatIsLight(t *testing.T) {
	if n := len(heat(3).Draw(358).SVG("a")) + len(heat(3).Draw(694).SVG("b")); n > 32_000 {
		t.Errorf("the heat picture has %d bytes", n)
	}
}

// Where nothing is reckoned the marks alone are drawn.
func TestHeatWithoutModel(t *testing.T) {
	h := heat(1)
	h.Trace = nil
	if svg := string(h.Draw(358).SVG("a")); strings.Contains(svg, "core, likeliest") || !strings.Contains(svg, "counts") {
		t.Error("without a model the picture shows one, or loses the stretch")
	}
}
