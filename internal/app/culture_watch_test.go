package app_test

import (
	"fmt"
	"strings"
	"testing"

	"pinset/internal/app"
)

// grown makes one batch with each of the cultures in turn and picks the grams
// given of every jar.
func (b *bench) grown(grams map[string]float64, cultures ...string) {
	b.t.Helper()
	for _, c := range cultures {
		in := plan("with " + c)
		in.Culture = c
		k := b.cooked(in, 60)
		must(b.Inoculate(b.ctx, app.Act{}, app.InoculateInput{Batch: k.Batch.String()}))(b)
		b.clock.days(40)
		var picks []app.TypedPick
		for i, j := range must(b.BatchView(b.ctx, k.Batch.String(), 0))(b).Jars {
			if !j.Blank {
				picks = append(picks, app.TypedPick{Jar: fmt.Sprintf("%s·%d", k.Batch, j.Number), Grams: fmt.Sprint(grams[c] + 0.1*float64(i%5))})
			}
		}
		must(b.PickJars(b.ctx, app.Act{}, app.PickInput{Picks: picks}))(b)
	}
}

func (b *bench) lineOfFour() {
	b.t.Helper()
	b.supplies()
	parent := ""
	for i, name := range []string{"M-1", "K-1", "K-2", "K-3"} {
		n := app.NewCulture{Name: name, Form: "slant", Parent: parent, Made: "2026-01-10"}
		if i == 0 {
			n.Generation = "0"
		}
		must(b.AddCulture(b.ctx, n))(b)
		parent = name
	}
	must(b.KeepCulture(b.ctx, app.Act{}, app.NewKeeping{Culture: "K-1", Kept: "stored", Storage: "water", At: "2026-01-12"}))(b)
}

func yieldByTransfer(w app.LineWatch) app.LineTrend {
	for _, t := range w.Trends {
		if t.Of == "yield" && t.Against == "transfer" {
			return t
		}
	}
	return app.LineTrend{}
}

// Two batches say nothing; a line that loses a quarter of its crop with each
// transfer is said to tire, with the earlier culture to go back to.
func TestALineThatTires(t *testing.T) {
	onBoth(t, func(b *bench) {
		b.lineOfFour()
		falling := map[string]float64{"M-1": 16, "K-1": 12, "K-2": 8, "K-3": 4}
		b.grown(falling, "M-1", "K-1")
		few := must(b.CultureView(b.ctx, "K-3"))(b)
		if x := yieldByTransfer(few.Watch); x.Known || few.Watch.Tires || !strings.Contains(x.Sentence, "too few") {
			t.Errorf("after two batches it says %q", x.Sentence)
		}
		b.grown(falling, "K-2", "K-3")
		v := must(b.CultureView(b.ctx, "K-3"))(b)
		x := yieldByTransfer(v.Watch)
		if !x.Known || x.Readings != 4 || !(x.Change < -10) || x.Worse < 0.95 || !strings.Contains(x.Sentence, "tire") {
			t.Errorf("a line that falls: %+v", x)
		}
		if v.Back != "K-1" {
			t.Errorf("it goes back to %q", v.Back)
		}
	})
}

func TestALineThatHolds(t *testing.T) {
	onBoth(t, func(b *bench) {
		b.lineOfFour()
		b.grown(map[string]float64{"M-1": 12, "K-1": 12.4, "K-2": 11.8, "K-3": 12.1}, "M-1", "K-1", "K-2", "K-3")
		w := must(b.CultureView(b.ctx, "K-2"))(b).Watch
		if x := yieldByTransfer(w); !x.Known || w.Tires || x.Worse > 0.9 || !strings.HasPrefix(x.Sentence, "Nothing shows") {
			t.Errorf("a line that holds: %+v", x)
		}
		if w.Readings[0].Culture != "M-1" || w.Readings[0].Jars != 12 || w.Readings[0].PerJar < 12 || w.Readings[0].PerJar > 12.5 {
			t.Errorf("the first reading is %+v", w.Readings[0])
		}
	})
}
