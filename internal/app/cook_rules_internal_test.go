package app

import (
	"math"
	"strings"
	"testing"
	"time"

	"pinset/internal/calc/steam"
	"pinset/internal/figure"
	"pinset/internal/lab"
	"pinset/internal/units"
)

var noon = time.Date(2026, 3, 2, 12, 0, 0, 0, time.UTC)

// stepped is a step of a cook at a minute after noon.
func stepped(e lab.Event, minute, value float64) lab.CookStep {
	return lab.CookStep{Entry: lab.Entry{At: lab.At(after(noon, minute))}, Event: e, Value: value}
}

// marked is a mark of a cook at a minute after noon.
func marked(e lab.Event, minute float64) lab.CookMark {
	return lab.CookMark{Entry: lab.Entry{At: lab.At(after(noon, minute))}, Event: e}
}

func figureOf(v float64) *float64 { return &v }

func closeTo(t *testing.T, what string, got, want, tol float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tol) {
		t.Errorf("%s = %.9g, want %.9g within %g", what, got, want, tol)
	}
}

// TestStepsTakeWhatCanBe: each figure of a step is taken at its least and its
// most and refused beyond, and kept in its own unit.
func TestStepsTakeWhatCanBe(t *testing.T) {
	refused := math.NaN()
	for _, c := range []struct {
		event lab.Event
		typed string
		want  float64
	}{
		{lab.FillAt, "4.9 mm", refused},
		{lab.FillAt, "5 mm", 5},
		{lab.FillAt, "6 cm", 60},
		{lab.FillAt, "600 mm", 600},
		{lab.FillAt, "601 mm", refused},
		{lab.MassAt, "0.99 g", refused},
		{lab.MassAt, "1 g", 1},
		{lab.MassAt, "20 kg", 20000},
		{lab.MassAt, "20001 g", refused},
		{lab.StartAt, "0.9 °C", refused},
		{lab.StartAt, "1 °C", 1},
		{lab.StartAt, "5", 5},
		{lab.StartAt, "68 °F", 20},
		{lab.StartAt, "95 °C", 95},
		{lab.StartAt, "95.1 °C", refused},
		{lab.ReadsAt, "-0.1 °C", refused},
		{lab.ReadsAt, "0 °C", 0},
		{lab.ReadsAt, "150 °C", 150},
		{lab.ReadsAt, "150.1 °C", refused},
		{lab.Barometer, "49.9 kPa", refused},
		{lab.Barometer, "50 kPa", 50},
		{lab.Barometer, "963 hPa", 96.3},
		{lab.Barometer, "110 kPa", 110},
		{lab.Barometer, "110.1 kPa", refused},
		{lab.WaterLeft, "0 L", 0},
		{lab.WaterLeft, "1.9 L", 1900},
		{lab.WaterLeft, "100 L", 100000},
		{lab.WaterLeft, "100.1 L", refused},
		{lab.WaterIn, "0 L", refused},
		{lab.WaterIn, "0.01 mL", 0.01},
		{lab.WaterIn, "100 L", 100000},
		{lab.WaterIn, "100.1 L", refused},
		{lab.GaugeAt, "0", refused}, // its unit is put to it before,
		{lab.GaugeAt, "0.01 psi", 0.01},
		{lab.GaugeAt, "50 psi", 50},
		{lab.GaugeAt, "50.1 psi", refused},
		{lab.Heard, "", refused},
		{lab.Heard, "x", 0},
		{lab.Heard, strings.Repeat("x", 40), 0},
		{lab.Heard, strings.Repeat("x", 41), refused},
		{lab.Venting, "", 0},
	} {
		got, err := stepValue(c.event, c.typed)
		switch {
		case math.IsNaN(c.want):
			if !lab.IsKind(err, lab.Invalid) {
				t.Errorf("%s %q gives %g, %v, want it refused", c.event, c.typed, got, err)
			}
		case err != nil || math.Abs(got-c.want) > 1e-9:
			t.Errorf("%s %q gives %g, %v, want %g", c.event, c.typed, got, err, c.want)
		}
	}
	for typed, hint := range map[string]string{"203": "write 203 °F: that is 95.0 °C", "204": "such as 5 °C from the fridge"} {
		if _, err := stepValue(lab.StartAt, typed); err == nil || !strings.Contains(err.Error(), hint) {
			t.Errorf("a load of %s: %v does not say %q", typed, err, hint)
		}
	}
}

// TestTargetsThatCanBe: 90 to 140 °C, and what would be so in °F is named.
func TestTargetsThatCanBe(t *testing.T) {
	for typed, hint := range map[string]string{
		"90 °C": "", "140 °C": "", "15 psi": "", "89.9 °C": "100 °C for a steamer", "140.1 °C": "100 °C for a steamer",
		"250 °C": "250 °F: that is 121.1 °C", "194 °C": "194 °F: that is 90.0 °C", "193 °C": "100 °C for a steamer",
		"284 °C": "284 °F: that is 140.0 °C", "285 °C": "100 °C for a steamer",
	} {
		got, err := parseTarget(typed)
		if hint == "" && (err != nil || !got.known) || hint != "" && (err == nil || !strings.Contains(err.Error(), hint)) {
			t.Errorf("%s: %+v, %v; want %q", typed, got, err, hint)
		}
	}
	if got, _ := parseTarget("15 psi"); got.psi != 15 {
		t.Errorf("15 psi typed are %.12g", got.psi)
	}
	// Water boils at 99.974 °C at the sea, and 121.1 °C is 15.1362 psi there:
	// IAPWS R7-97(2012) and ISO 2533:1975, computed by other hands.
	sea := 0.0
	for typed, known := range map[string]bool{"98.98 °C": true, "98.96 °C": false} {
		got, why := targetAt(typed, &sea)
		if got.known != known || (why == "") != known || got.psi != 0 {
			t.Errorf("%s at the sea: %+v, %q", typed, got, why)
		}
	}
	got, _ := targetAt("121.1 °C", &sea)
	closeTo(t, "121.1 °C at the sea, psi", got.psi, 15.1362, 1e-3)
}

// TestTargetDoubts: an hour at 100 °C is worth 0.47 min of F0, 12 min of it
// take 1546 min by the definition (T 121.1 °C, z 10 K).
func TestTargetDoubts(t *testing.T) {
	sea, at := 0.0, func(celsius, psi, capped float64) []figure.Caution {
		return target{celsius: &celsius, psi: psi, cappedFrom: capped}.doubts(figureOf(0))
	}
	for _, c := range []struct {
		code string
		want bool
		list []figure.Caution
	}{
		{"near_nothing", true, at(109.9, 6, 0)},
		{"near_nothing", false, at(110, 6, 0)},
		{"needs_pressure", false, at(100, 0.1, 0)},
		{"needs_pressure", true, at(100, 0.101, 0)},
		{"boils_lower", true, at(99.9, 0, 100)},
		{"boils_lower", false, at(99.9, 0, 0)},
		{"sensor", true, at(121, 15, 0)},
	} {
		if got := hasCaution(c.list, c.code); got != c.want {
			t.Errorf("%s: %v, want %v", c.code, got, c.want)
		}
	}
	for _, x := range at(100, 0, 0) {
		if x.Code == "near_nothing" && !strings.Contains(x.Text, "an hour is worth "+twoDigits(60*12.0/1546)+" min") {
			t.Error(x.Text)
		}
	}
	if got := (target{psi: 15}).doubts(&sea); got != nil {
		t.Errorf("a pressure is doubted: %+v", got)
	}
}

// TestSteamersAreCapped: a steamer that is aimed above boiling by more than
// what a thermometer tells apart is reckoned at boiling, and one of which the
// kind is not said is a steamer up to what people write for boiling.
func TestSteamersAreCapped(t *testing.T) {
	sea := 0.0
	boiling, _ := boilingAt(&sea)
	for over, capped := range map[float64]bool{0.29: false, 0.31: true} {
		asked := boiling + over
		c := cookFacts{altitude: &sea, cooker: &lab.Cooker{Figures: lab.CookerFigures{Kind: lab.Steamer}}, target: target{known: true, celsius: &asked, psi: 0.1}}
		c.capSteam()
		if capped != (c.cappedFrom == asked) || capped && (*c.celsius != boiling || c.psi != 0) {
			t.Errorf("%g K above boiling: %+v", over, c.target)
		}
	}
	for _, c := range []struct {
		celsius, psi float64
		want         lab.CookerKind
	}{{100.5, 2, lab.Steamer}, {100.6, 2, lab.Autoclave}, {103, 0.1, lab.Steamer}, {103, 0.101, lab.Autoclave}} {
		if got := (cookFacts{target: target{celsius: &c.celsius, psi: c.psi}}).kind(); got != c.want {
			t.Errorf("%g °C at %g psi is a %s, want %s", c.celsius, c.psi, got, c.want)
		}
	}
	tight := target{celsius: figureOf(boiling + 0.9)}
	if err := tight.checkSteamer("A", lab.Cook{Altitude: &sea}); err != nil {
		t.Errorf("0.9 K above boiling is refused: %v", err)
	}
	tight.celsius = figureOf(boiling + 1.1)
	if err := tight.checkSteamer("A", lab.Cook{Altitude: &sea}); err == nil || !strings.Contains(err.Error(), "99.9 °C") {
		t.Errorf("1.1 K above boiling: %v", err)
	}
}

// TestNearReadings: four about the target in its own unit, none at nothing
// and none above the rating.
func TestNearReadings(t *testing.T) {
	at := func(gauge string, rated *float64) string {
		parsed, err := parseTarget(gauge)
		if err != nil {
			t.Fatal(err)
		}
		c := cookFacts{cook: lab.Cook{Gauge: gauge}, target: parsed, cooker: &lab.Cooker{Figures: lab.CookerFigures{RatedPsi: rated}}}
		var out []string
		for _, x := range c.near() {
			out = append(out, x.Says)
			if x.Target != (x.Says == gauge) {
				t.Errorf("%s is the target: %v", x.Says, x.Target)
			}
		}
		return strings.Join(out, ", ")
	}
	for _, c := range []struct {
		gauge string
		rated *float64
		want  string
	}{
		{"15 psi", nil, "13 psi, 14 psi, 15 psi, 16 psi"},
		{"15 psi", figureOf(15), "13 psi, 14 psi, 15 psi"},
		{"15 psi", figureOf(15.99), "13 psi, 14 psi, 15 psi, 16 psi"},
		{"15 psi", figureOf(15.9899), "13 psi, 14 psi, 15 psi"},
		{"2 psi", nil, "1 psi, 2 psi, 3 psi"},
		{"2.01 psi", nil, "0.01 psi, 1.01 psi, 2.01 psi, 3.01 psi"},
		{"103 kPa", nil, "93 kPa, 98 kPa, 103 kPa, 108 kPa"},
		{"1 bar", nil, "0.9 bar, 0.95 bar, 1 bar, 1.05 bar"},
		{"121 °C", nil, "119 °C, 120 °C, 121 °C, 122 °C"},
	} {
		if got := at(c.gauge, c.rated); got != c.want {
			t.Errorf("about %s: %s, want %s", c.gauge, got, c.want)
		}
	}
}

// TestLossesAreSplitByHand: what is lost before a hold and in an hour of it
// is the line through the cooks, lifted to the greatest; where holds are alike
// or the line makes no sense all is lost in the hold.
func TestLossesAreSplitByHand(t *testing.T) {
	for _, c := range []struct {
		name            string
		losses          []waterLoss
		perHour, before float64
		split           bool
	}{
		{"on a line", []waterLoss{{340, 1}, {460, 1.5}, {580, 2}}, 240, 100, true},
		{"half an hour apart", []waterLoss{{340, 1}, {460, 1.5}}, 240, 100, true},
		{"less than half an hour apart", []waterLoss{{340, 1}, {457.6, 1.49}}, 340, 0, false},
		{"one above the line", []waterLoss{{340, 1}, {490, 1.5}, {580, 2}}, 240, 130, true},
		{"nothing before the hold", []waterLoss{{240, 1}, {480, 2}}, 240, 0, true},
		{"less than nothing before it", []waterLoss{{200, 1}, {480, 2}}, 240, 0, false},
		{"hardly more in a longer hold", []waterLoss{{100, 1}, {100.01, 2}}, 0.01, 99.99, true},
		{"no more in a longer hold", []waterLoss{{100, 1}, {100, 2}}, 100, 0, false},
	} {
		perHour, before, split := splitLoss(c.losses)
		closeTo(t, c.name+", mL/h", perHour, c.perHour, 1e-9)
		closeTo(t, c.name+", before", before, c.before, 1e-9)
		if split != c.split {
			t.Errorf("%s: split %v", c.name, split)
		}
	}
}

// TestLearnedByHand: the middle heat-up, litres of millilitres, and the words
// for one cook and for more.
func TestLearnedByHand(t *testing.T) {
	c := cookFacts{}
	c.learn([]float64{60, 30, 50, 35, 40}, []waterLoss{{340, 1}, {460, 1.5}})
	if *c.cooker.Figures.HeatUpMin != 40 || *c.cooker.Figures.LossMlH != 240 || *c.ventL != 0.1 {
		t.Errorf("%+v, before the hold %g L", c.cooker.Figures, *c.ventL)
	}
	if !strings.Contains(c.learned, "40 min, as in your last 5 cooks") || !strings.Contains(c.learned, "100 mL before the hold and 240 mL in an hour of it, by your last 2 cooks") {
		t.Error(c.learned)
	}
	c = cookFacts{}
	c.learn([]float64{33}, []waterLoss{{340, 1}})
	if !strings.Contains(c.learned, "33 min, as in your last cook here") || c.ventL != nil || c.shortest.ml != 340 || *c.cooker.Figures.LossMlH != 340 {
		t.Errorf("%q, %+v", c.learned, c.shortest)
	}
}

// TestWhatIsLearnedFrom: a heat-up of a minute to ten hours, and a loss over a
// quarter of an hour or more, of nothing to 20 L an hour.
func TestWhatIsLearnedFrom(t *testing.T) {
	for minutes, ok := range map[float64]bool{59.0 / 60: false, 1: true, 600: true, 600 + 1.0/60: false} {
		c := cookFacts{steps: []lab.CookStep{stepped(lab.HeatOn, 0, 0)}, marks: []lab.CookMark{marked(lab.Reached, minutes)}}
		if m, got := c.heatUp(); got != ok || math.Abs(m-minutes) > 1e-9 {
			t.Errorf("a heat-up of %g min: %g, %v", minutes, m, got)
		}
	}
	for _, c := range []struct {
		minutes, left float64 // of 6 L
		ok            bool
	}{
		{15, 5000, true}, {14.9, 5000, false}, {60, 6000, true}, {60, 6001, false}, {15, 1000, true}, {15, 999, false}, {60, 5999.99, true},
	} {
		facts := cookFacts{
			steps: []lab.CookStep{stepped(lab.WaterIn, -30, 2500), stepped(lab.WaterIn, -29, 3500), stepped(lab.WaterLeft, 200, c.left)},
			marks: []lab.CookMark{marked(lab.Reached, 0), marked(lab.HeatOff, c.minutes)},
		}
		l, ok := facts.waterLoss()
		if ok != c.ok || math.Abs(l.ml-(6000-c.left)) > 1e-9 || math.Abs(l.hours-c.minutes/60) > 1e-9 {
			t.Errorf("%g mL left after %g min: %+v, %v", c.left, c.minutes, l, ok)
		}
	}
}

// TestStackByHand: jars of 130 and 60 mm with a plate of 4 mm between layers
// are 194 mm high; three layers have two plates, and what stands nowhere has
// to fit by itself.
func TestStackByHand(t *testing.T) {
	tall, low := lab.Container{ID: "t", Name: "tall", Height: 130}, lab.Container{ID: "l", Name: "low", Height: 60}
	for _, c := range []struct {
		layers  []lab.Container // from layer first
		first   int
		divider *float64
		high    float64
		says    string
	}{
		{[]lab.Container{tall}, 1, figureOf(4), 130, "(tall of 130 mm)"},
		{[]lab.Container{tall, low}, 1, figureOf(4), 194, "(tall of 130 mm, low of 60 mm, 1 plate of 4 mm)"},
		{[]lab.Container{tall, low, low}, 1, figureOf(4), 258, "(tall of 130 mm, 2 × low of 60 mm, 2 plates of 4 mm)"},
		{[]lab.Container{tall, low, low}, 1, figureOf(0.01), 250.02, "2 plates of 0.01 mm"},
		{[]lab.Container{tall, low}, 1, nil, 190, "(tall of 130 mm, low of 60 mm)"},
		{[]lab.Container{tall}, 0, figureOf(4), 130, "(tall of 130 mm)"},
	} {
		s := newStack()
		for i, x := range c.layers {
			s.put(c.first+i, x, 7)
		}
		for room, fits := range map[float64]bool{c.high: true, c.high - 0.01: false} {
			err := s.checkHeight("places", lab.Cooker{Name: "A", Figures: lab.CookerFigures{RoomMM: &room, DividerMM: c.divider}})
			if (err == nil) != fits || err != nil && !strings.Contains(err.Error(), c.says) {
				t.Errorf("%d layers from %d in %g mm: %v, want %q", len(c.layers), c.first, room, err, c.says)
			}
		}
	}
	if err := newStack().checkHeight("places", lab.Cooker{}); err != nil {
		t.Errorf("a cooker of unknown height: %v", err)
	}
}

// TestStandardPlaces: a place is known to 50 m, that of a barometer by the
// standard atmosphere (95 460.8 Pa are 500 m, ISO 2533:1975).
func TestStandardPlaces(t *testing.T) {
	for m, want := range map[float64]float64{-26: -50, -24: 0, 24: 0, 26: 50, 1024: 1000, 1026: 1050} {
		if got := placeOf(lab.Cook{Altitude: &m}, nil); got.altitude != want || !got.known || got.fill != 0 {
			t.Errorf("%g m: %+v, want %g m", m, got, want)
		}
	}
	got := placeOf(lab.Cook{Altitude: figureOf(0)}, []lab.CookStep{stepped(lab.Barometer, 0, 95.4608), stepped(lab.FillAt, 0, 62)})
	if got.altitude != 500 || got.fill != 62 {
		t.Errorf("by the barometer: %+v", got)
	}
	if got := placeOf(lab.Cook{}, nil); got.known {
		t.Errorf("no place: %+v", got)
	}
}

// TestDayByHand: a cycle is the slowest heat-up, the hold and 70 min about it;
// a day has ten hours as long as nothing else is said.
func TestDayByHand(t *testing.T) {
	var d CookDay
	if err := d.times(CookDayInput{Hold: "90 min"}, 38); err != nil || d.CycleMin != 38+90+70 || d.DayMin != 600 {
		t.Errorf("%+v, %v", d, err)
	}
	if err := d.times(CookDayInput{Cycle: "3 h", Day: "12 h"}, 38); err != nil || d.CycleMin != 180 || d.DayMin != 720 {
		t.Errorf("as typed: %+v, %v", d, err)
	}
	if got := heatUpOf(lab.Cooker{}); got != 45 {
		t.Errorf("a cooker of which nothing is known takes %g min", got)
	}
	m := units.Minute(38)
	if got := heatUpOf(lab.Cooker{Figures: lab.CookerFigures{HeatUpMin: &m}}); got != 38 {
		t.Errorf("one that was timed at 38 min takes %g", got)
	}
	jars, err := parseLoadJars("1 pint jar; 12 Quart jar, 3 pint jar")
	if err != nil || jars["pint jar"] != 4 || jars["quart jar"] != 12 {
		t.Errorf("%v, %v", jars, err)
	}
	if _, err := parseLoadJars("0 pint jar"); err == nil {
		t.Error("no jars at all are taken")
	}
}

// TestPotsByTemperature: what a thermometer reads is a pressure where it is,
// and below boiling the open pot of a higher place, up to 5500 m.
func TestPotsByTemperature(t *testing.T) {
	p, err := potAt(121.1, 0)
	if err != nil || p.altitude != 0 || !p.lower {
		t.Fatalf("%+v, %v", p, err)
	}
	closeTo(t, "psi at 121.1 °C", p.psi, 15.1362, 1e-3)
	p, err = potAt(94.983, 0) // boiling at 1500 m
	if err != nil || p.psi != 0 {
		t.Fatalf("%+v, %v", p, err)
	}
	closeTo(t, "metres where 94.983 °C boils", p.altitude, 1500, 1)
	edge, err := steam.StandardPressure(5500)
	if err != nil {
		t.Fatal(err)
	}
	boiling, err := steam.BoilingPoint(edge)
	if err != nil {
		t.Fatal(err)
	}
	for off, ok := range map[float64]bool{0.01: true, -0.01: false} {
		if _, err := potAt(float64(boiling)+off, 0); (err == nil) != ok {
			t.Errorf("%g K above boiling at 5500 m: %v", off, err)
		}
	}
}
