package picture

import (
	"math"
	"strings"
	"testing"
)

// stages is an invented stage of n arms.
func stages(arms int) Stages {
	s := Stages{Title: "Pins, by day", Finding: "millet takes 0.86 times as long as oats."}
	names := []string{"oats", "millet", strings.Repeat("barley ", 20), "rye", "기장", "wheat"}
	for a := range arms {
		c := StageCurve{Name: names[a], Sign: a, Note: "11 of 12 seen, 1 lost"}
		for k := range 7 {
			day := float64(12 + 3*k - a)
			share := func(d float64) float64 { return 1 / (1 + math.Exp(-(d-21)/2)) }
			c.Points = append(c.Points, StagePoint{day, share(day - 3), share(day)})
		}
		s.Arms = append(s.Arms, c)
	}
	return s
}

// covers is an invented trial of n jars an arm.
func covers(arms, n int) Covers {
	c := Covers{Title: "Cover, by day", Finding: "millet is half covered 1.4 days sooner than oats."}
	curve := func(day, half float64) float64 { return 100 / (1 + math.Exp(-0.6*(day-half))) }
	for a := range arms {
		arm := CoverArm{Name: stages(arms).Arms[a].Name, Sign: a, Note: "6 of 6 jars with a curve"}
		for d := 0.0; d <= 20; d += 0.5 {
			v := curve(d, 9+1.5*float64(a))
			arm.Course = append(arm.Course, CoverBand{d, v, math.Max(0, v-6), math.Min(100, v+6)})
		}
		c.Arms = append(c.Arms, arm)
		for i := range n {
			half := 9 + 1.5*float64(a) + math.Sin(float64(5*i+a))
			j := CoverJar{Name: "B2·1", Arm: a}
			for d := 0.0; d <= 20; d += 0.5 {
				j.Curve = append(j.Curve, CoverPoint{d, curve(d, half)})
			}
			for d := 3.0; d <= 18; d += 3 {
				j.Readings = append(j.Readings, CoverPoint{d, 5 * math.Round(curve(d, half)/5)})
			}
			c.Jars = append(c.Jars, j)
		}
	}
	return c
}

func forest(n int, ratio bool) Forest {
	f := Forest{Title: "millet against oats", Finding: "1.12 times the control.", Unit: "times the control", Column: "Trial", Ratio: ratio, None: 1}
	if !ratio {
		f.None, f.Unit = 0, "g more"
	}
	for i := range n {
		v := f.None + 0.12 + 0.2*math.Sin(float64(3*i))
		f.Rows = append(f.Rows, ForestRow{
			Name: "cook " + short(float64(i+1)), Note: "6 and 6 jars", Weight: 1 / float64(i+1), Away: i%4 == 3,
			Given: ForestBand{v, v - 0.3, v + 0.4}, Drawn: &ForestBand{f.None + 0.12, f.None, f.None + 0.2},
		})
	}
	f.Mean, f.Next = &ForestBand{f.None + 0.12, f.None + 0.04, f.None + 0.2}, &ForestBand{f.None + 0.12, f.None - 0.03, f.None + 0.29}
	return f
}

func calibration() Calibration {
	return Calibration{
		Title: "How forecasts came out", Finding: "24 of 30 outcomes fell into the window of 4 in 5.", Fifths: []int{5, 7, 6, 8, 4}, Low: 2, High: 10,
		Windows: []CalibrationWindow{{0.5, 16, 30, 10, 20}, {0.8, 24, 30, 19, 28}},
	}
}

func days() map[string]*Picture {
	return map[string]*Picture{
		"stages-phone": stages(2).Draw(358), "stages-desk": stages(3).Draw(694), "stages-six": stages(6).Draw(358), "stages-none": Stages{Title: "Pins", Finding: "nothing seen"}.Draw(358),
		"covers-phone": covers(2, 6).Draw(358), "covers-desk": covers(3, 6).Draw(694), "covers-none": Covers{Title: "Cover", Finding: "nothing read"}.Draw(358),
		"forest-phone": forest(5, true).Draw(358), "forest-desk": forest(8, true).Draw(694), "forest-gram": forest(3, false).Draw(358), "forest-none": Forest{Title: "None", Finding: "no trial", Ratio: true, None: 1}.Draw(358),
		"calibration-phone": calibration().Draw(358), "calibration-desk": calibration().Draw(694), "calibration-none": Calibration{Title: "None", Finding: "none scored"}.Draw(358),
	}
}

func TestPicturesOfDaysLieInside(t *testing.T) {
	for name, p := range days() {
		inside(t, p)
		if t.Failed() {
			t.Fatal(name)
		}
	}
}

// The curve steps at the visit that saw the stage, and its shade begins at the
// visit before.
func TestStagesStepAndShade(t *testing.T) {
	s := Stages{Title: "Pins", Finding: "f", Arms: []StageCurve{{Name: "oats", Points: []StagePoint{{10, 0, 0}, {14, 0.5, 0.5}, {20, 0.5, 1}}}}}
	p := s.Draw(358)
	at := newPlane(&Picture{Width: 358}, 20, 210)
	var shades, steps []mark
	for _, m := range p.marks {
		if m.opacity > 0 {
			shades = append(shades, m)
		} else if m.stroke == "arm-a" && len(m.path) > 2 {
			steps = append(steps, m)
		}
	}
	if len(shades) != 2 || len(steps) != 1 {
		t.Fatalf("%d shades and %d curves, want 2 and 1", len(shades), len(steps))
	}
	if got := shades[0].path[0].points[0]; got.x != at.x.at(10) || got.y != at.y.at(50) {
		t.Errorf("the shade begins at %v, want day 10 and 50 %%", got)
	}
	if got := shades[1].path[0].points[0]; got.x != at.x.at(14) || got.y != at.y.at(100) {
		t.Errorf("what is open after day 14 begins at %v", got)
	}
	for _, seg := range steps[0].path {
		if q := seg.points[0]; q.y < at.y.at(50)-1e-9 {
			t.Errorf("the step rises above what was seen, to %v", q)
		}
	}
	if got := strings.Join(p.Table.Rows[2], "|"); got != "oats|20|50 %|100 %" {
		t.Errorf("the table says %q", got)
	}
}

// Ratios lie evenly by their logarithm, and a trial from elsewhere is open and
// says so in the table.
func TestForest(t *testing.T) {
	f := Forest{Title: "t", Finding: "f", Unit: "times", Column: "Trial", Ratio: true, None: 1, Rows: []ForestRow{
		{Name: "one", Weight: 0.5, Given: ForestBand{0.5, 0.25, 1}}, {Name: "two", Weight: 0.5, Away: true, Given: ForestBand{2, 1, 4}},
	}}
	p := f.Draw(694)
	x, _ := f.axis(694)
	if a, b := f.at(x, 1)-f.at(x, 0.5), f.at(x, 2)-f.at(x, 1); math.Abs(a-b) > 1e-9 {
		t.Errorf("halving is drawn %.1f px wide, doubling %.1f", a, b)
	}
	if got := p.Table.Rows[1][5]; got != "from elsewhere" {
		t.Errorf("the table says of a trial from elsewhere %q", got)
	}
	f.Rows[1].Name = "a name that has no room beside its figures on a phone"
	if svg := f.Draw(358).SVG("f"); strings.Count(string(svg), ">elsewhere<") != 1 {
		t.Errorf("on a phone the trial from elsewhere does not say so in words: %s", svg)
	}
	open := 0
	for _, m := range p.marks {
		if m.fill == Ground && m.stroke == Text {
			open++
		}
	}
	if open != 1 {
		t.Errorf("%d squares are open, want that of the trial from elsewhere", open)
	}
	if ticks := ratioTicks(0.2, 5, 4); len(ticks) == 0 || len(ticks) > 4 {
		t.Errorf("an axis from 0.2 to 5 has the ticks %v", ticks)
	}
}

func TestCalibration(t *testing.T) {
	p := calibration().Draw(358)
	if got := strings.Join(p.Table.Rows[6], "|"); got != "window of 80 %|24 of 30|19|28" {
		t.Errorf("the table says %q", got)
	}
}

// written are the texts of a picture that are equal to text.
func written(p *Picture, text string) (found []mark) {
	for _, m := range p.marks {
		if m.text == text {
			found = append(found, m)
		}
	}
	return found
}

// Jars that were read alike are one mark, the larger the more there are; arms
// that were read alike stand beside each other.
func TestCoverMarksDoNotHideEachOther(t *testing.T) {
	c := Covers{Title: "t", Finding: "f", Arms: []CoverArm{{Name: "oats"}, {Name: "rye", Sign: 1}}}
	for arm, jars := range []int{4, 1} {
		for range jars {
			c.Jars = append(c.Jars, CoverJar{Arm: arm, Readings: []CoverPoint{{8, 40}}})
		}
	}
	p := c.Draw(358)
	box := func(ink Ink) (from, to float64) {
		from, to = math.Inf(1), math.Inf(-1)
		for _, m := range p.marks[:len(p.marks)-6] { // the last are the key
			if m.fill != ink {
				continue
			}
			for _, s := range m.path {
				if s.op != 'Z' {
					from, to = math.Min(from, s.points[0].x), math.Max(to, s.points[0].x)
				}
			}
		}
		return from, to
	}
	oatsFrom, oatsTo := box(ArmInk(0))
	ryeFrom, ryeTo := box(ArmInk(1))
	if oatsTo > ryeFrom {
		t.Errorf("oats reach to %.1f, rye begins at %.1f", oatsTo, ryeFrom)
	}
	if four, one := oatsTo-oatsFrom, ryeTo-ryeFrom; four < 1.7*one {
		t.Errorf("four jars are %.1f px wide, one is %.1f", four, one)
	}
}

// A name that has no room beside its figures has a line of its own, and is not
// cut for them.
func TestLongNamesHaveTheirOwnLine(t *testing.T) {
	const long = "millet on the top shelf, winter"
	f := Forest{Title: "t", Finding: "f", Unit: "times", Column: "Trial", Ratio: true, None: 1, Rows: []ForestRow{{Name: "oats", Given: ForestBand{1, 0.5, 2}}, {Name: long, Away: true, Given: ForestBand{1, 0.5, 2}}}}
	s := Stages{Title: "t", Finding: "f", Arms: []StageCurve{{Name: "oats", Note: "12 of 12 seen"}, {Name: long, Sign: 1, Note: "11 of 12 seen, 1 lost before"}}}
	for what, p := range map[string]*Picture{"forest": f.Draw(358), "key": s.Draw(358)} {
		name := written(p, long)
		if len(name) != 1 {
			t.Fatalf("%s: the name is cut", what)
		}
		for _, m := range p.marks {
			if m.text != "" && m.text != long && m.y == name[0].y {
				t.Errorf("%s: %q stands beside the long name", what, m.text)
			}
		}
		inside(t, p)
	}
}

// Beyond six arms signs come again, so that letters tell arms apart.
func TestManyArmsGoByLetters(t *testing.T) {
	var s Stages
	var c Covers
	for a := range 8 {
		s.Arms = append(s.Arms, StageCurve{Name: "arm", Sign: a, Points: stages(1).Arms[0].Points})
		c.Arms = append(c.Arms, CoverArm{Name: "arm", Sign: a, Course: covers(1, 1).Arms[0].Course})
	}
	for what, p := range map[string]*Picture{"stages": s.Draw(358), "covers": c.Draw(358)} {
		at := make(map[point]bool)
		for a := range 8 {
			twice := written(p, ArmLetter(a))
			if len(twice) != 2 {
				t.Fatalf("%s: %s stands %d times, want on its curve and in the key", what, ArmLetter(a), len(twice))
			}
			at[point{math.Round(twice[0].x), 0}] = true
		}
		if len(at) < 6 {
			t.Errorf("%s: letters stand at %d places only", what, len(at))
		}
	}
	if n := len(written(stages(6).Draw(358), "A")); n != 0 {
		t.Errorf("six arms have %d letters", n)
	}
}

// The figures in words are those by which rows are put in order.
func TestForestSaysWhatItOrdersBy(t *testing.T) {
	f := Forest{Title: "t", Finding: "f", Unit: "times", Ratio: true, None: 1, ByDrawn: true, Rows: []ForestRow{{Name: "oats", Given: ForestBand{1.5, 0.5, 2}, Drawn: &ForestBand{1.2, 0.8, 1.6}}}}
	if p := f.Draw(358); len(written(p, "1.2 (0.8 to 1.6)")) != 1 || len(written(p, "1.5 (0.5 to 2)")) != 0 {
		t.Error("the row does not say 1.2 (0.8 to 1.6)")
	}
}
