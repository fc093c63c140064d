package app_test

import (
	"strings"
	"testing"

	"pinset/internal/app"
	"pinset/internal/figure"
	"pinset/internal/lab"
)

// cultureLine is a master plate, an LC taken from it, and jars from that.
func (b *bench) cultureLine() app.Kept {
	b.t.Helper()
	b.supplies()
	must(b.AddCulture(b.ctx, app.NewCulture{Name: "M-1", Form: "slant", Strain: "A1", Made: "2025-12-01", Source: "a friend", Generation: "0"}))(b)
	must(b.AddCulture(b.ctx, app.NewCulture{Name: "LC-9", Form: "LC", Parent: "M-1", Made: "2026-02-10", Volume: "600 mL"}))(b)
	in := plan("line")
	in.Culture = "LC-9"
	k := b.cooked(in, 60)
	must(b.Inoculate(b.ctx, app.Act{By: "IV"}, app.InoculateInput{Batch: k.Batch.String(), Amount: "3 mL"}))(b)
	return k
}

func (b *bench) culture(name string) app.CultureView {
	b.t.Helper()
	return must(b.CultureView(b.ctx, name))(b)
}

func warned(row app.CultureRow, code string) (figure.Caution, bool) {
	for _, c := range row.Cautions {
		if c.Code == code {
			return c, true
		}
	}
	return figure.Caution{}, false
}

// What jars got, what was drawn for a child and what was taken back add up to
// what is left in the vessel.
func TestCultureIsDrawnDown(t *testing.T) {
	onBoth(t, func(b *bench) {
		b.cultureLine() // 12 jars of 3 mL
		left := func() float64 { return float64(*b.culture("LC-9").Left) }
		if got := left(); got != 564 {
			t.Fatalf("%g mL are left after 12 × 3 of 600", got)
		}
		child := app.NewCulture{ID: "0199aaaa-0000-7000-8000-000000000001", Name: "LC-10", Form: "LC", Parent: "LC-9", Took: "4 mL"}
		must(b.AddCulture(b.ctx, child))(b)
		must(b.AddCulture(b.ctx, child))(b) // sent twice
		if got := left(); got != 560 {
			t.Errorf("%g mL are left after 4 went into a child", got)
		}
		done := must(b.KeepCulture(b.ctx, app.Act{}, app.NewKeeping{Culture: "lc-9", Kept: "drawn", Amount: "10", Note: "spilled"}))(b)
		if got := left(); got != 550 {
			t.Errorf("%g mL are left", got)
		}
		must(b.Undo(b.ctx, app.Act{}, done.Deed))(b)
		if got := left(); got != 560 {
			t.Errorf("%g mL are left after that was taken back", got)
		}
		must(b.KeepCulture(b.ctx, app.Act{}, app.NewKeeping{Culture: "LC-9", Kept: "drawn", Amount: "600 mL"}))(b)
		if c, ok := warned(b.culture("LC-9").CultureRow, "used_up"); !ok || !strings.Contains(c.Text, "40 mL more") {
			t.Errorf("drawn below nothing: %+v", c)
		}
	})
}

func TestCultureLineIsKnown(t *testing.T) {
	onBoth(t, func(b *bench) {
		b.cultureLine()
		v := b.culture("LC-9")
		if v.Generation == nil || *v.Generation != 1 || v.Strain != "A1" || v.ParentName != "M-1" {
			t.Errorf("generation %v, strain %q, from %q", v.Generation, v.Strain, v.ParentName)
		}
		if len(v.Line) != 2 || v.Line[0].Name != "M-1" {
			t.Errorf("the line is %v", v.Line)
		}
		if len(v.Made) != 1 || len(v.Made[0].Numbers) != 12 || v.Made[0].Open != 12 {
			t.Errorf("made from it: %+v", v.Made)
		}
		if v.Back != "" {
			t.Errorf("go back to %s, which is nowhere stored", v.Back)
		}
		must(b.KeepCulture(b.ctx, app.Act{}, app.NewKeeping{Culture: "M-1", Kept: "stored", Storage: "fridge", At: "2025-12-10"}))(b)
		if v = b.culture("LC-9"); v.Back != "M-1" {
			t.Errorf("go back to %q, want the slant in the fridge", v.Back)
		}
	})
}

// A culture says when it is due, when it is past what is known, that it is
// dirty, far from the master, or was never seen to fruit; the grower's own
// limit goes before the book's.
func TestCultureCautions(t *testing.T) {
	onBoth(t, func(b *bench) {
		b.cultureLine()
		has := func(name, code string, weight figure.Weight) {
			t.Helper()
			if c, ok := warned(b.culture(name).CultureRow, code); ok != (weight != "") || c.Weight != weight {
				t.Errorf("%s, %s: %+v, want weight %q", name, code, c, weight)
			}
		}
		has("LC-9", "never_fruited", figure.Note)
		must(b.KeepCulture(b.ctx, app.Act{}, app.NewKeeping{Culture: "M-1", Kept: "fruited", Note: "9 g a jar at my friend's"}))(b)
		has("LC-9", "never_fruited", "")
		must(b.KeepCulture(b.ctx, app.Act{}, app.NewKeeping{Culture: "LC-9", Kept: "stored", Storage: "fridge", At: "2026-03-01"}))(b)
		has("LC-9", "renew", "")
		b.clock.days(65)
		has("LC-9", "renew", figure.Care)
		b.clock.days(40)
		has("LC-9", "past_limit", figure.Stop)
		b.ok(b.SetCultureLimit(b.ctx, "fridge", "200 days"))
		has("LC-9", "past_limit", "")
		b.ok(b.SetCultureLimit(b.ctx, "fridge", "-"))
		has("LC-9", "past_limit", figure.Stop)
		has("LC-9", "many_transfers", "")
		b.ok(b.SetCultureLimit(b.ctx, "warn", "1"))
		has("LC-9", "many_transfers", figure.Care)
		must(b.KeepCulture(b.ctx, app.Act{}, app.NewKeeping{Culture: "LC-9", Kept: "tested", Finding: "dirty"}))(b)
		has("LC-9", "dirty", figure.Stop)
		must(b.KeepCulture(b.ctx, app.Act{}, app.NewKeeping{Culture: "LC-9", Kept: "ended", Note: "thrown away"}))(b)
		has("LC-9", "dirty", "")
	})
}

// A jar of grain becomes a culture and stays a jar; one that carries nothing,
// or is lost, does not.
func TestJarBecomesCulture(t *testing.T) {
	onBoth(t, func(b *bench) {
		k := b.cultureLine()
		c := must(b.AddCulture(b.ctx, app.NewCulture{Name: "G-1", Form: "grain", Jar: k.Batch.String() + "·2"}))(b)
		v := b.culture("G-1")
		if c.Jar == "" || v.ParentName != "LC-9" || *v.Generation != 2 || v.JarName != k.Batch.String()+"·2" {
			t.Errorf("%+v from %s, jar %q", c, v.ParentName, v.JarName)
		}
		must(b.See(b.ctx, app.Act{}, app.SeeInput{Jars: k.Batch.String() + "·3", Fate: "lost", Reason: "fouled"}))(b)
		for name, in := range map[string]app.NewCulture{
			"lost":            {Name: "G-2", Form: "grain", Jar: k.Batch.String() + "·3"},
			"two":             {Name: "G-2", Form: "grain", Jar: k.Batch.String() + "·4-5"},
			"another parent":  {Name: "G-2", Form: "grain", Jar: k.Batch.String() + "·4", Parent: "M-1"},
			"older":           {Name: "G-2", Form: "LC", Parent: "LC-9", Made: "2026-01-01"},
			"generation":      {Name: "G-2", Form: "LC", Parent: "M-1", Generation: "7"},
			"generation text": {Name: "G-2", Form: "LC", Generation: "some"},
			"volume":          {Name: "G-2", Form: "LC", Volume: "-5 mL"},
			"volume in grams": {Name: "G-2", Form: "LC", Volume: "5 g"},
			"took":            {Name: "G-2", Form: "LC", Parent: "LC-9", Took: "0 mL"},
			"took from none":  {Name: "G-2", Form: "LC", Took: "1 mL"},
			"medium":          {Name: "G-2", Form: "LC", Medium: "no such recipe"},
		} {
			_, err := b.AddCulture(b.ctx, in)
			if p, ok := lab.AsProblem(err); !ok || p.Field == "" && !lab.IsKind(err, lab.NotFound) {
				t.Errorf("%s: %v", name, err)
			}
		}
		if _, err := b.CultureView(b.ctx, "G-2"); !lab.IsKind(err, lab.NotFound) {
			t.Errorf("a refused culture was kept: %v", err)
		}
	})
}

// An LC that was never tested is due for a test from its fourth day, once a
// day shows anything, until it is tested, ended or old.
func TestAnLCIsToBeTested(t *testing.T) {
	onBoth(t, func(b *bench) {
		b.supplies()
		due := func(name string) bool {
			for _, task := range must(b.Today(b.ctx))(b).Due {
				if task.What == "Test "+name && task.Kind == "culture" {
					return true
				}
			}
			return false
		}
		day := b.Now().Format("2006-01-02")
		must(b.AddCulture(b.ctx, app.NewCulture{Name: "LC-20", Form: "LC", Made: day}))(b)
		must(b.AddCulture(b.ctx, app.NewCulture{Name: "P-20", Form: "plate", Made: day}))(b)
		if due("LC-20") {
			t.Error("it is due on the day it was made")
		}
		b.clock.days(5)
		if !due("LC-20") || due("P-20") {
			t.Errorf("after five days: LC %v, plate %v", due("LC-20"), due("P-20"))
		}
		must(b.KeepCulture(b.ctx, app.Act{}, app.NewKeeping{Culture: "LC-20", Kept: "tested", Finding: "clean"}))(b)
		if due("LC-20") {
			t.Error("it is due though it was tested")
		}
	})
}
