package lab

import (
	"testing"
	"time"
)

func generation(n int) CultureDetails { return CultureDetails{Generation: &n} }

// A generation is told, or follows from the parent's; a line that loops and
// one whose beginning is not told are unknown.
func TestGenerations(t *testing.T) {
	all := []Culture{
		{ID: "spore", Details: generation(0)},
		{ID: "plate", Parent: "spore"},
		{ID: "lc", Parent: "plate"},
		{ID: "bought", Details: generation(4)},
		{ID: "from bought", Parent: "bought"},
		{ID: "wild"},
		{ID: "from wild", Parent: "wild"},
		{ID: "egg", Parent: "hen"},
		{ID: "hen", Parent: "egg"},
		{ID: "orphan", Parent: "gone"},
	}
	got := Generations(all)
	want := map[CultureID]int{"spore": 0, "plate": 1, "lc": 2, "bought": 4, "from bought": 5}
	for _, c := range all {
		g, known := got[c.ID]
		w, should := want[c.ID]
		if known != should || g != w {
			t.Errorf("%s: %d %v, want %d %v", c.ID, g, known, w, should)
		}
	}
}

func TestCultureFrom(t *testing.T) {
	on := func(d int) When { return OnDay(time.Date(2026, 5, d, 12, 0, 0, 0, time.UTC)) }
	parent := Culture{Name: "P", Made: on(10), Details: generation(2)}
	for _, c := range []struct {
		name  string
		child Culture
		field string
	}{
		{"younger", Culture{Name: "C", Made: on(12)}, ""},
		{"same day", Culture{Name: "C", Made: on(10)}, ""},
		{"older", Culture{Name: "C", Made: on(3)}, "made"},
		{"day not known", Culture{Name: "C", Made: Sometime(on(1).Time)}, ""},
		{"generation agrees", Culture{Name: "C", Made: on(12), Details: generation(3)}, ""},
		{"generation does not", Culture{Name: "C", Made: on(12), Details: generation(1)}, "generation"},
	} {
		err := c.child.From(parent)
		if p, _ := AsProblem(err); (err == nil) != (c.field == "") || err != nil && p.Field != c.field {
			t.Errorf("%s: %v", c.name, err)
		}
	}
}

func TestCultureStand(t *testing.T) {
	on := func(d int) When { return OnDay(time.Date(2026, 5, d, 0, 0, 0, 0, time.UTC)) }
	k := func(id EntryID, d int, kept Kept) Keeping {
		return Keeping{Entry: Entry{ID: id, At: on(d)}, Culture: "c", Kept: kept}
	}
	clean, dirty, first, second := k("1", 9, Tested), k("2", 4, Tested), k("3", 1, Drawn), k("4", 2, Drawn)
	clean.Finding, dirty.Finding = Clean, Dirty
	first.Amount, second.Amount = 5, 7
	back := second
	back.ID, back.Corrects, back.Withdrawn = "5", second.ID, true
	foreign := k("6", 3, Drawn)
	foreign.Culture, foreign.Amount = "d", 100
	s := Culture{ID: "c"}.Stand([]Keeping{clean, dirty, first, second, back, foreign})
	if s.Test.Finding != Clean || s.DrawnML != 5 || s.End.ID != "" {
		t.Errorf("test %s, drawn %g, ended %q", s.Test.Finding, float64(s.DrawnML), s.End.ID)
	}
}

// What is found in the literature is kept with it: a slant in the fridge and
// an LC beside it do not have the same limit.
func TestLimitOf(t *testing.T) {
	for _, c := range []struct {
		s    Storage
		f    Form
		days int
	}{{InFridge, Slant, 365}, {InFridge, LC, 91}, {InFreezer, Plate, 120}, {FreezeDried, Plate, 1460}, {DriedGrain, Grain, 120}, {InWater, Plate, 365}} {
		l, ok := LimitOf(c.s, c.f)
		if !ok || l.Days != c.days || l.Source == "" || l.Renew > l.Days {
			t.Errorf("%s of %s: %+v", c.f, c.s, l)
		}
	}
	if l, _ := LimitOf(InFreezer, Slant); l.Doubt == "" {
		t.Error("the conflict about -80 °C is not told")
	}
	for _, s := range Storages {
		for _, f := range Forms {
			if _, ok := LimitOf(s, f); !ok {
				t.Errorf("nothing is said of %s %s", f, s)
			}
		}
	}
}

func TestKeepingCheck(t *testing.T) {
	for field, k := range map[string]Keeping{
		"kept":    {Kept: "sold"},
		"finding": {Kept: Tested},
		"storage": {Kept: Stored, Storage: "pocket"},
		"amount":  {Kept: Drawn, Amount: -2},
	} {
		_, err := k.Check()
		if p, ok := AsProblem(err); !ok || p.Field != field {
			t.Errorf("%s: %v", field, err)
		}
	}
	k, err := Keeping{Kept: Ended, Amount: 5, Storage: InFridge, Finding: Clean, Note: " used up "}.Check()
	if err != nil || k.Amount != 0 || k.Storage != "" || k.Finding != "" || k.Note != "used up" {
		t.Errorf("%+v %v", k, err)
	}
}
