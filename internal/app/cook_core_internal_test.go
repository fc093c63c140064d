package app

import (
	"math"
	"strings"
	"testing"
	"time"

	"pinset/internal/calc/thermal"
	"pinset/internal/figure"
	"pinset/internal/lab"
	"pinset/internal/store"
	"pinset/internal/units"
)

// stretchOf is a stretch from noon that counts.
func stretchOf(minutes float64) Stretch {
	return Stretch{From: noon, To: after(noon, minutes), Minutes: minutes, Counts: true}
}

// TestDigitsByHand: a lethality has two digits, down for "at least" and up for
// "up to"; the last bit of a number does not cost a digit.
func TestDigitsByHand(t *testing.T) {
	for _, c := range []struct {
		v                float64
		down, near, upto string
	}{
		{0, "less than 0.01", "less than 0.01", "less than 0.01"},
		{0.0099, "less than 0.01", "less than 0.01", "less than 0.01"},
		{0.01, "0.010", "0.010", "0.010"},
		{0.0724, "0.072", "0.072", "0.073"},
		{8.9, "8.9", "8.9", "8.9"},
		{3.4753, "3.4", "3.5", "3.5"},
		{9.96, "9.9", "10", "10"},
		{99.6, "99", "100", "100"},
		{0.0996, "0.099", "0.10", "0.10"},
		{17.94, "17", "18", "18"},
		{143.2, "140", "140", "150"},
	} {
		if down, near, upto := digitsBy(c.v, math.Floor), twoDigits(c.v), digitsBy(c.v, math.Ceil); down != c.down || near != c.near || upto != c.upto {
			t.Errorf("%g: at least %s, about %s, up to %s; want %s, %s, %s", c.v, down, near, upto, c.down, c.near, c.upto)
		}
	}
	core := func(low, high float64) thermal.CookCore {
		var c thermal.CookCore
		c.Low.F0HeatOffMin, c.High.F0HeatOffMin = low, high
		return c
	}
	for _, c := range []struct {
		low, high float64
		says      string
	}{{0.001, 0.0099, "next to nothing: "}, {0.0099, 0.01, "perhaps next to nothing"}, {0.01, 0.02, "at least"}} {
		if got := earnedText(core(c.low, c.high), &CookCore{}); !strings.Contains(got, c.says) {
			t.Errorf("%g to %g: %q, want %q", c.low, c.high, got, c.says)
		}
	}
}

// TestComeUpByHand: from heat on to the stretch that counts, where it is the
// first one and took at most ten hours; else 20 min are taken.
func TestComeUpByHand(t *testing.T) {
	for _, c := range []struct {
		name    string
		on      float64
		reached float64
		minutes float64
		logged  bool
	}{
		{"half an hour", -30, 0, 30, true},
		{"a second", -1.0 / 60, 0, 1.0 / 60, true},
		{"none", 0, 0, 20, false},
		{"ten hours", -600, 0, 600, true},
		{"more", -600 - 1.0/60, 0, 20, false},
		{"pressure lost between", -30, -10, 20, false},
	} {
		facts := cookFacts{steps: []lab.CookStep{stepped(lab.HeatOn, c.on, 0)}, marks: []lab.CookMark{marked(lab.Reached, c.reached)}}
		if m, logged := facts.comeUp(stretchOf(60)); math.Abs(m-c.minutes) > 1e-9 || logged != c.logged {
			t.Errorf("%s: %g min, logged %v", c.name, m, logged)
		}
	}
}

// TestLowestPotByHand: a reading in the stretch that is lower than the target
// by more than it can be read off, 0.01 psi or 0.05 °C, counts for all of it;
// one outside the stretch does not.
func TestLowestPotByHand(t *testing.T) {
	sea := 0.0
	at := func(steps ...lab.CookStep) pot {
		c := cookFacts{altitude: &sea, steps: steps, target: target{known: true, psi: 15}}
		p, err := c.lowestPot(stretchOf(60))
		if err != nil {
			t.Fatal(err)
		}
		return p
	}
	full, _ := cookFacts{altitude: &sea}.steamAt(15)
	closeTo(t, "15 psi at the sea", full, 120.95, 0.01) // IAPWS R7-97(2012), ISO 2533:1975
	for _, c := range []struct {
		name  string
		step  lab.CookStep
		psi   float64
		lower bool
	}{
		{"12 psi", stepped(lab.GaugeAt, 10, 12), 12, true},
		{"a hair below", stepped(lab.GaugeAt, 10, 14.9899), 14.9899, true},
		{"less than a hair", stepped(lab.GaugeAt, 10, 14.9901), 15, false},
		{"before the stretch", stepped(lab.GaugeAt, -1, 12), 15, false},
		{"as it begins", stepped(lab.GaugeAt, 0, 12), 12, true},
		{"as it ends", stepped(lab.GaugeAt, 60, 12), 12, true},
		{"after it", stepped(lab.GaugeAt, 61, 12), 15, false},
		{"a thermometer 0.04 K below", stepped(lab.ReadsAt, 10, full-0.0499), 15, false},
	} {
		if p := at(c.step); math.Abs(p.psi-c.psi) > 1e-9 || p.lower != c.lower {
			t.Errorf("%s: %+v, want %g psi", c.name, p, c.psi)
		}
	}
	if p := at(stepped(lab.ReadsAt, 10, full-0.0501)); !p.lower || !(p.psi < 15 && p.psi > 14.9) {
		t.Errorf("a thermometer 0.05 K below: %+v", p)
	}
	if p := at(stepped(lab.GaugeAt, 10, 12), stepped(lab.GaugeAt, 20, 13)); p.psi != 12 {
		t.Errorf("the lowest of two is %g psi", p.psi)
	}
}

func recordOf(place string, fromMinute, step float64, temps ...float64) lab.CookRecord {
	r := lab.CookRecord{Place: place, File: "a.csv"}
	for i, c := range temps {
		r.Readings = append(r.Readings, lab.Reading{At: after(noon, fromMinute+step*float64(i)), Celsius: c})
	}
	return r
}

// TestRecordsBesideTheStretch: two minutes and more that a record does not
// show are said, at either end and together; and a chamber that is colder than
// its gauge says by more than 1.5 K on average has air in it.
func TestRecordsBesideTheStretch(t *testing.T) {
	for _, c := range []struct {
		from, to float64 // of the record, of a stretch of an hour
		says     string  // how many minutes are dark
	}{
		{0, 60, ""},
		{1, 59.1, ""},
		{1, 59, "nothing of 2 of the 60 min"},
		{-30, 90, ""},
		{1.9, 60, ""},
		{2, 60, "nothing of 2 of the 60 min"},
		{0, 57, "nothing of 3 of the 60 min"},
		{70, 80, "nothing of 60 of the 60 min"},
		{-80, -70, "nothing of 60 of the 60 min"},
	} {
		out := &CookCore{Records: []RecordView{{CookRecord: recordOf("core", c.from, c.to-c.from, 100, 100)}}}
		out.recordGaps(stretchOf(60))
		if c.says == "" && len(out.Cautions) > 0 || c.says != "" && (len(out.Cautions) != 1 || !strings.Contains(out.Cautions[0].Text, c.says)) {
			t.Errorf("a record from %g to %g min: %+v, want %q", c.from, c.to, out.Cautions, c.says)
		}
	}
	for _, c := range []struct {
		place string
		temps []float64
		want  bool
	}{
		{"chamber", []float64{119.5, 119.5}, false},
		{"chamber", []float64{119.48, 119.5}, true},
		{"chamber", []float64{118.5, 120.5, 119.6}, false},
		{"core", []float64{100, 100}, false},
	} {
		out := &CookCore{Records: []RecordView{{CookRecord: recordOf(c.place, 0, 30, c.temps...)}}}
		out.checkChamber(121, stretchOf(60))
		if got := hasCaution(out.Cautions, "air_in_chamber"); got != c.want {
			t.Errorf("a %s at %v: air %v", c.place, c.temps, got)
		}
	}
	early := &CookCore{Records: []RecordView{{CookRecord: recordOf("chamber", -30, 30, 90, 121, 121, 121)}}}
	early.checkChamber(121, stretchOf(60))
	if len(early.Cautions) > 0 {
		t.Errorf("the come-up is counted: %+v", early.Cautions)
	}
}

// TestLoggerLimits: a logger may read half a kelvin low; a hold it saw is as
// long as the rule to a minute.
func TestLoggerLimits(t *testing.T) {
	sea, set := 0.0, 121.0
	closeTo(t, "in °C", *cookFacts{target: target{known: true, celsius: &set}}.loggerLimit(), 120.5, 1e-9)
	closeTo(t, "at 15 psi", *cookFacts{altitude: &sea, target: target{known: true, psi: 15}}.loggerLimit(), 120.45, 0.01)
	standing := CookStanding{State: lab.Held, Stretches: []Stretch{stretchOf(90)}}
	for longest, want := range map[float64]bool{89: false, 88.99: true} {
		v := RecordView{CookRecord: recordOf("chamber", 0, 90, 121, 121), LimitC: &set, LongestMin: &longest}
		list := cookFacts{cook: lab.Cook{Hold: 90}}.recordDoubt(v, standing)
		if hasCaution(list, "record_shorter") != want {
			t.Errorf("%g of 90 min seen: %+v", longest, list)
		}
	}
	for from, want := range map[float64]bool{-61: true, -60: false, 90: false, 91: true} {
		v := RecordView{CookRecord: recordOf("core", from, 60, 100, 100)}
		if got := hasCaution(cookFacts{}.recordDoubt(v, standing), "record_elsewhere"); got != want {
			t.Errorf("a record from minute %g: elsewhere %v", from, got)
		}
	}
}

// TestAlarmsByHand: the pressure after 45 min where nothing is known, the
// water after an hour or at three quarters of what is in, the advised hold
// where it is a minute longer than the rule, and the lid ten minutes after
// zero.
func TestAlarmsByHand(t *testing.T) {
	watch := func(hold float64, advised *float64) *alarmWatch {
		c := cookFacts{
			cook:  lab.Cook{Hold: units.Minute(hold), Number: 7},
			steps: []lab.CookStep{stepped(lab.HeatOn, -40, 0), stepped(lab.Zero, 130, 0)},
			marks: []lab.CookMark{marked(lab.Reached, 0)},
		}
		return &alarmWatch{c: c, now: after(noon, 10), reached: noon, hasReached: true, advised: advised}
	}
	minute := func(a Alarm) float64 { return a.At.Sub(noon).Minutes() }
	w := watch(90, nil)
	w.pressure(nil)
	w.pressure(figureOf(38))
	w.opening()
	if len(w.out) != 3 || minute(w.out[0]) != 5 || minute(w.out[1]) != -2 || minute(w.out[2]) != 140 || w.out[0].Cook != 7 {
		t.Errorf("%+v", w.out)
	}
	for _, c := range []struct {
		hold  float64
		dryAt *float64
		want  float64 // minute, NaN for none
	}{
		{0, nil, 60},
		{60, nil, math.NaN()},
		{60.1, nil, 60},
		{90, figureOf(200), math.NaN()},
		{90, figureOf(120), math.NaN()},
		{90.1, figureOf(120), 90},
		{90, figureOf(80), 60},
		{0, figureOf(200), 150},
	} {
		w := watch(c.hold, nil)
		w.water(c.dryAt)
		switch {
		case math.IsNaN(c.want):
			if len(w.out) > 0 {
				t.Errorf("a hold of %g min: %+v", c.hold, w.out)
			}
		case len(w.out) != 1 || math.Abs(minute(w.out[0])-c.want) > 1e-6:
			t.Errorf("a hold of %g min: %+v, want one at %g min", c.hold, w.out, c.want)
		}
	}
	for advised, want := range map[float64]float64{90.99: 0, 91: 91, 100.5: 101, 100 + 0.99/60: 100, 100 + 1.01/60: 101} {
		if got := watch(90, &advised).longer(90); got != want {
			t.Errorf("advised %g min for 90: %g, want %g", advised, got, want)
		}
	}
}

// TestExpectedByHand: a heat-up that was reckoned is without the ten minutes
// of venting, one that was timed has them in; and the water is gone at some
// time only where it is known how much there was.
func TestExpectedByHand(t *testing.T) {
	timed := units.Minute(38)
	dry := figureOf(120)
	water := &figure.Answer[thermal.WaterResult]{Result: thermal.WaterResult{DryAtMin: dry}}
	for _, c := range []struct {
		name   string
		cooker *lab.Cooker
		a      CookAdvice
		heatUp *float64
		dry    *float64
	}{
		{"nothing known", nil, CookAdvice{}, nil, nil},
		{"reckoned", &lab.Cooker{}, CookAdvice{HeatUpMin: figureOf(38), PouredL: figureOf(1), Water: water}, figureOf(48), dry},
		{"without a cooker", nil, CookAdvice{HeatUpMin: figureOf(38)}, figureOf(48), nil},
		{"a steamer", &lab.Cooker{Figures: lab.CookerFigures{Kind: lab.Steamer}}, CookAdvice{HeatUpMin: figureOf(38)}, figureOf(38), nil},
		{"timed", &lab.Cooker{Figures: lab.CookerFigures{HeatUpMin: &timed}}, CookAdvice{HeatUpMin: figureOf(38), Water: water}, figureOf(38), nil},
		{"poured, of which nothing is reckoned", nil, CookAdvice{PouredL: figureOf(1)}, nil, nil},
	} {
		heatUp, dry := cookFacts{cooker: c.cooker}.expected(c.a)
		if !sameFigure(heatUp, c.heatUp) || !sameFigure(dry, c.dry) {
			t.Errorf("%s: %v and %v", c.name, heatUp, dry)
		}
	}
}

// sameFigure tells whether both are missing, or are the same number.
func sameFigure(a, b *float64) bool {
	return a == nil && b == nil || a != nil && b != nil && *a == *b
}

// TestAnswersByHand: an alarm is missed from a minute on, and answered by the
// first that heard it or did what it asks for.
func TestAnswersByHand(t *testing.T) {
	for late, want := range map[float64]bool{0.99: false, 1: true} {
		if (Alarm{LateMin: late}).Missed() != want {
			t.Errorf("%g min late: missed %v", late, !want)
		}
	}
	heard := stepped(lab.Heard, 5, 0)
	heard.Typed = "x"
	later := stepped(lab.Heard, 7, 0)
	later.Typed = "x"
	a := Alarm{ID: "x", At: noon}
	for _, c := range []struct {
		name     string
		steps    []lab.CookStep
		logged   time.Time
		now      float64
		answered bool
		late     float64
		due      bool
	}{
		{"before it", nil, time.Time{}, -1, false, 0, false},
		{"as it comes", nil, time.Time{}, 0, false, 0, true},
		{"nobody", nil, time.Time{}, 9, false, 9, true},
		{"heard", []lab.CookStep{later, heard}, time.Time{}, 9, true, 5, false},
		{"done", nil, after(noon, 3), 9, true, 3, false},
		{"done and heard", []lab.CookStep{heard}, after(noon, 3), 9, true, 3, false},
		{"heard and done", []lab.CookStep{heard}, after(noon, 8), 9, true, 5, false},
		{"done before", nil, after(noon, -3), 9, true, 0, false},
	} {
		got := cookFacts{steps: c.steps}.answered(a, c.logged, after(noon, c.now))
		if got.Answered != c.answered || got.LateMin != c.late || got.Due != c.due {
			t.Errorf("%s: %+v", c.name, got)
		}
	}
}

// TestBagsOnEachOtherByHand: a plate of a finger's width parts layers, one
// that is thinner does not; a stack is reckoned up to 600 mm and ten bags.
func TestBagsOnEachOtherByHand(t *testing.T) {
	bag := lab.Container{ID: "b", Name: "bag", Kind: "bag", Bore: 120}
	s := newStack()
	s.put(1, bag, 1)
	s.put(2, bag, 1)
	s.put(4, bag, 1)
	if got := s.bagLayers(); got != 2 {
		t.Errorf("layers 1, 2 and 4: %d on each other", got)
	}
	for _, c := range []struct {
		divider *float64
		fill    float64
		said    int
		stacked int
		doubts  int
	}{
		{nil, 100, 0, 2, 1},
		{figureOf(9.9), 100, 0, 2, 1},
		{figureOf(10), 100, 0, 0, 0},
		{nil, 100, 1, 0, 0},
		{nil, 100, 3, 6, 1},
		{nil, 101, 3, 5, 1},
		{nil, 20, 6, 10, 1},
		{nil, 599, 0, 1, 1},
	} {
		v := CookVessel{Name: "bag", FillMM: c.fill, bag: true, container: thermal.Container{Stacked: c.said}}
		facts := cookFacts{vessels: []CookVessel{v}, cooker: &lab.Cooker{Figures: lab.CookerFigures{DividerMM: c.divider}}}
		facts.stackBags(s)
		if got := facts.vessels[0].container.Stacked; got != c.stacked || len(facts.itemDoubts) != c.doubts {
			t.Errorf("%+v: reckoned as %d, doubts %+v", c, got, facts.itemDoubts)
		}
	}
	for high, says := range map[float64]string{300: "reckoned as one of 600 mm", 300.1: "would not get hot in a day"} {
		if got := stackedCaution(CookVessel{Name: "bag", FillMM: high}, 2); !strings.Contains(got.Text, says) {
			t.Errorf("two of %g mm: %s", high, got.Text)
		}
	}
}

// TestVesselsByHand: 240 g that stand 62 mm high in a bore of 80 mm are 770
// kg/m3, in a square bag of 80 mm 605; no fill is lighter than 100 or heavier
// than 1600.
func TestVesselsByHand(t *testing.T) {
	round := newVessel(lab.Container{Bore: 80, Height: 120}, "oats", 62, 55)
	square := newVessel(lab.Container{Bore: 80, Kind: "bag"}, "oats", 62, 55)
	if !round.weigh(240) || !square.weigh(240) {
		t.Fatal("240 g are refused")
	}
	closeTo(t, "round", *round.substrate.DensityKgM3, 0.240/(math.Pi/4*0.08*0.08*0.062), 1e-9)
	closeTo(t, "square", *square.substrate.DensityKgM3, 0.240/(0.08*0.08*0.062), 1e-9)
	litre := newVessel(lab.Container{Bore: 100, Kind: "bag"}, "oats", 100, 55)
	for grams, ok := range map[float64]bool{99.9: false, 100: true, 1600: true, 1600.1: false} {
		if got := litre.weigh(grams); got != ok || ok != (litre.substrate.DensityKgM3 != nil) {
			t.Errorf("%g g in a litre: %v", grams, got)
		}
	}
	for _, c := range []struct{ height, head float64 }{{120, 58}, {62, 0}, {50, 0}, {362, 300}, {500, 300}} {
		v := newVessel(lab.Container{Bore: 80, Height: units.Millimetre(c.height)}, "oats", 62, 55)
		if *v.container.HeadspaceMM != c.head {
			t.Errorf("a vessel of %g mm: headspace %g", c.height, *v.container.HeadspaceMM)
		}
	}
	if v := newVessel(lab.Container{Bore: 80}, "oats", 62, 55); v.container.HeadspaceMM != nil || v.container.Material != "glass" {
		t.Errorf("a jar of unknown height: %+v", v.container)
	}
	for percent, water := range map[float64]bool{99.9: false, 100: true} {
		v := newVessel(lab.Container{Bore: 80}, "broth", 62, percent)
		v.stir()
		if v.mode != "liquid" || (v.substrate.MoisturePct == nil) != water {
			t.Errorf("%g %% of water: %+v", percent, v.substrate)
		}
	}
}

// TestItemsByHand: half a litre in a bore of 80 mm stands 99.5 mm high; more
// than three quarters of a vessel is too full; and a fill needs a height of 5
// mm and a moisture of 5 %.
func TestItemsByHand(t *testing.T) {
	own := lab.Container{Name: "bottle", Bore: 80, Volume: 1000}
	for ml, full := range map[float64]bool{750: false, 751: false, 751.01: true} {
		c := cookFacts{}
		c.itemCore(lab.CookItem{Name: "broth", Count: 2, Figures: lab.ItemFigures{Kind: lab.LiquidItem, Fill: ml}}, own)
		if hasCaution(c.itemDoubts, "too_full") != full || len(c.vessels) != 1 {
			t.Errorf("%g mL in a litre: %+v", ml, c.itemDoubts)
		}
		closeTo(t, "height", c.vessels[0].FillMM, ml*1000/(math.Pi*1600), 1e-9)
		for _, x := range c.itemDoubts {
			if !strings.Contains(x.Text, "to 750 mL at most") {
				t.Error(x.Text)
			}
		}
	}
	for _, c := range []struct {
		high, moisture float64
		ok             bool
	}{{5, 0.05, true}, {4.99, 0.5, false}, {60, 0.0499, false}} {
		facts := cookFacts{}
		facts.itemCore(lab.CookItem{Name: "rye", Count: 1, Figures: lab.ItemFigures{Kind: lab.FillItem, FillMM: c.high, Moisture: c.moisture}}, own)
		if (len(facts.vessels) == 1) != c.ok {
			t.Errorf("%+v: %v", c, facts.missing)
		}
		if c.ok && *facts.vessels[0].substrate.MoisturePct != 5 {
			t.Errorf("a moisture of %g is %g %%", c.moisture, *facts.vessels[0].substrate.MoisturePct)
		}
	}
}

// TestBlanksAreReadFromTheSeventhDay: half a day before it counts, for a cook
// of the evening is looked at in the morning; what fouled counts at once.
func TestBlanksAreReadFromTheSeventhDay(t *testing.T) {
	day := lab.At(noon)
	for _, c := range []struct {
		days          float64
		reason        string
		read, blanks  int
		clean, fouled int
	}{
		{6.4999, "", 0, 1, 0, 0},
		{6.5, "", 1, 1, 1, 0},
		{3, "fouled", 1, 1, 0, 1},
	} {
		row, j := StandardRow{}, store.JarRow{}
		j.Blank, j.LastSeen = true, lab.At(after(noon, c.days*24*60))
		if c.reason != "" {
			j.Fate, j.Reason = lab.Lost, c.reason
		}
		row.count(j, CookRow{Cook: lab.Cook{Day: day}})
		if row.Read != c.read || row.Blanks != c.blanks || row.Clean != c.clean || row.Fouled != c.fouled {
			t.Errorf("seen after %g days, %q: %+v", c.days, c.reason, row)
		}
	}
	row, never := StandardRow{}, store.JarRow{}
	never.Blank = true
	row.count(never, CookRow{Cook: lab.Cook{Day: day}})
	if row.Read != 0 || row.Blanks != 1 {
		t.Errorf("never looked at: %+v", row)
	}
}
