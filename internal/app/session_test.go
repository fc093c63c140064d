package app_test

import (
	"strings"
	"testing"

	"pinset/internal/app"
	"pinset/internal/lab"
	"pinset/internal/units"
)

func TestInoculationSheet(t *testing.T) {
	onBoth(t, func(b *bench) {
		b.supplies()
		k := b.cooked(plan("Gloves"), 60)
		s := must(b.InoculationSheet(b.ctx, app.InoculateInput{Batch: k.Batch.String(), Amount: "2 mL", Except: "3"}))(b)
		ready := strings.Join(s.Ready, "; ")
		jars := must(b.BatchView(b.ctx, k.Batch.String(), 0))(b).Jars
		if !strings.Contains(ready, "11 of 12, 2 mL from LC-1") || !strings.Contains(ready, "In all 22 mL") {
			if !jars[2].Blank { // jar 3 may be a blank, then nothing is left out
				t.Errorf("to have ready: %s", ready)
			}
		}
		if len(s.Cards) != len(jars) {
			t.Fatalf("%d cards for %d jars", len(s.Cards), len(jars))
		}
		for i, j := range jars {
			want := "2 mL from LC-1"
			switch {
			case j.Blank:
				want = "blank: leave it closed"
			case j.Number == 3:
				want = "leave it out"
			}
			if s.Cards[i].Do != want || s.Cards[i].Code != string(j.Code) {
				t.Errorf("the card of jar %d says %q, want %q", j.Number, s.Cards[i].Do, want)
			}
		}
	})
}

func TestWeighSheet(t *testing.T) {
	onBoth(t, func(b *bench) {
		b.supplies()
		k := b.cooked(plan("Scale"), 60)
		must(b.Inoculate(b.ctx, app.Act{}, app.InoculateInput{Batch: k.Batch.String()}))(b)
		s := must(b.WeighSheet(b.ctx, k.Batch.String()))(b)
		if len(s.Cards) != 12 || len(s.Cautions) != 0 || !strings.Contains(s.Ready[0], "not known yet") {
			t.Errorf("before the first pick: %d cards, %v, %q", len(s.Cards), s.Cautions, s.Ready[0])
		}
		b.clock.days(50)
		b.weigh(k, map[string]float64{"oats": 8, "millet": 14})
		s = must(b.WeighSheet(b.ctx, k.Batch.String()))(b)
		if len(s.Cautions) != 1 || s.Cautions[0].Code != "coarse_scale" {
			t.Errorf("steps of 1 g against picks of 8 to 15 g: %v", s.Cautions)
		}
		if note := s.Cards[0].Note; !strings.HasSuffix(note, " g in 1 pick") {
			t.Errorf("a jar that was picked once says %q", note)
		}
		b.ok(b.SaveSettings(b.ctx, app.NewSettings{Step: "0.1 g"}))
		if s = must(b.WeighSheet(b.ctx, k.Batch.String()))(b); len(s.Cautions) != 0 {
			t.Errorf("steps of 0.1 g against picks of 8 to 15 g: %v", s.Cautions)
		}
	})
}

// The bound is felt: 1 g is 5 % of 20 g.
func TestScaleSays(t *testing.T) {
	for _, c := range []struct {
		step, usual units.Gram
		cautions    int
		says        string
	}{
		{1, 20, 0, "5 %"}, {1, 19.9, 1, "5 %"}, {0.1, 8.4, 0, "1.2 %"}, {1, 8.4, 1, "11.9 %"}, {1, 0, 0, "not known yet"}, {5, 15, 1, "33.3 %"},
	} {
		says, cautions := app.ScaleSays(c.step, c.usual)
		if len(cautions) != c.cautions || !strings.Contains(says[0], c.says) {
			t.Errorf("steps of %g g against %g g: %q, %v, want %q and %d cautions", float64(c.step), float64(c.usual), says[0], cautions, c.says, c.cautions)
		}
	}
	if _, cautions := app.ScaleSays(1, 8.4); !strings.Contains(cautions[0].Text, "0.1 g or finer") {
		t.Errorf("the way out of a coarse scale is %q", cautions[0].Text)
	}
}

func TestReadScale(t *testing.T) {
	for typed, want := range map[string]string{
		"12.4": "12.4", " 12.40 g ": "12.40 g", "+12.4g": "12.4g", "ST,+0012.40  g": "12.40  g", "ST,GS,+ 0.5 g": "0.5 g", "0": "0", "000": "0", "0012": "12", "12,4": "12,4", "": "",
	} {
		if got, err := app.ReadScale("grams", typed); err != nil || got != want {
			t.Errorf("ReadScale(%q) = %q, %v, want %q", typed, got, err, want)
		}
	}
	if _, err := app.ReadScale("grams", "US,+0012.4 g"); !lab.IsKind(err, lab.Invalid) {
		t.Errorf("a reading that had not settled: %v", err)
	}
}

func TestCookSheet(t *testing.T) {
	onBoth(t, func(b *bench) {
		b.supplies()
		b.cooked(plan("Steps"), 60)
		s := must(b.CookSheet(b.ctx, "1"))(b)
		if len(s.Cards) < 8 || s.Cards[0].Do != "The maker's manual" || len(s.Cautions) == 0 || !strings.Contains(strings.Join(s.Ready, ";"), "13 jars of B1") {
			t.Errorf("the list of a cook: %d cards, ready %q", len(s.Cards), s.Ready)
		}
	})
}
