package lab

import (
	"math"
	"strings"
	"testing"
)

// Every profile is whole: known quantities within their bounds, a source for
// each, and windows for all stages; its figures are typed back as they show.
func TestProfilesAreWhole(t *testing.T) {
	if n := len(Profiles()); n < 12 {
		t.Errorf("%d species are profiled, not 12", n)
	}
	for _, p := range Profiles() {
		for _, phase := range Phases[:3] {
			for _, q := range []Quantity{Temperature, Humidity, Days, Lux} {
				if _, ok := p.Target(phase, q); !ok && !(phase == Run && q == Lux) {
					t.Errorf("%s says nothing of %s in %s", p.Species, q, phase)
				}
			}
		}
		for _, q := range []Quantity{Efficiency, Moisture, CarbonNitrogen, DryMatter, Flushes} {
			if _, ok := p.Target(Crop, q); !ok {
				t.Errorf("%s says nothing of %s", p.Species, q)
			}
		}
		for _, target := range p.Targets {
			back, err := ParseTarget(target.Key(), target.Span())
			if err != nil || back.From != target.From || back.To != target.To {
				t.Errorf("%s %s %q is read as %+v, %v", p.Species, target.Key(), target.Span(), back, err)
			}
			if target.Source == "" {
				t.Errorf("%s %s has no source", p.Species, target.Key())
			}
		}
		if q, ok := ProfileOf("our " + strings.ToUpper(p.Key)); !ok || q.Key != p.Key {
			t.Errorf("%s is not found by its key", p.Key)
		}
	}
	if p, _ := ProfileOf("King Oyster"); p.Key != "pleurotus-eryngii" {
		t.Errorf("king oyster is %s", p.Key)
	}
}

// What was published, looked at again from the other side: Stamets 2000, ch.
// 21, and SR28 for the water of what is picked.
func TestPublishedTargets(t *testing.T) {
	for _, c := range []struct{ species, key, want string }{
		{"shiitake", "run.co2", "from 10000 ppm"},
		{"shiitake", "crop.moisture", "55 %"},
		{"oyster", "pins.co2", "up to 1000 ppm"},
		{"oyster", "crop.dry-matter", "10.82 %"},
		{"enoki", "pins.temperature", "7–10 °C"},
		{"reishi", "pins.fresh-air", "up to 1 per hour"},
		{"Cordyceps militaris", "run.light", "none"},
		{"Cordyceps militaris", "fruit.light-hours", "12 h a day"},
		{"lion's mane", "crop.efficiency", "26–92.3 %"},
	} {
		p, _ := ProfileOf(c.species)
		phase, what, _ := strings.Cut(c.key, ".")
		if got, ok := p.Target(Phase(phase), Quantity(what)); !ok || got.String() != c.want {
			t.Errorf("%s %s is %q, want %q", c.species, c.key, got, c.want)
		}
	}
}

// A figure of the grower's own goes before the book's, which stays beside it;
// the day from which a stage is late moves with a span of the grower's own.
func TestOwnTargetsGoFirst(t *testing.T) {
	p, _ := ProfileOf("militaris")
	own, err := ParseTarget("run.days", "30 to 34")
	if err != nil {
		t.Fatal(err)
	}
	p = p.With([]Target{own})
	first, _ := p.Target(Run, Days)
	if others := p.Others(first); first.String() != "30–34 d" || len(others) != 1 || others[0].String() != "7–14 d" {
		t.Errorf("the run takes %s, also %v", first, others)
	}
	if w, ok := p.NextWindow("", nil); !ok || w.From != 30 || w.To != 34 || w.Late != 35 {
		t.Errorf("the run is expected %+v", w)
	}
	if w, _ := p.NextWindow(Light, nil); w.Late != 22 {
		t.Errorf("pins are late from day %d", w.Late)
	}
	if q, _ := ProfileOf("militaris"); q.Targets[0].Own {
		t.Error("the book itself was changed")
	}
}

func FuzzParseTarget(f *testing.F) {
	for _, s := range []string{"20-23", "22", "up to 2000", ">5000", "none", "1,5 – 2", "-", "--", "1e309", "NaN"} {
		f.Add("run.temperature", s)
		f.Add("pins.days", s)
	}
	f.Fuzz(func(t *testing.T, key, typed string) {
		got, err := ParseTarget(key, typed)
		if err != nil {
			if !IsKind(err, Invalid) {
				t.Errorf("%q: %v", typed, err)
			}
			return
		}
		again, err := ParseTarget(got.Key(), got.Span())
		if err != nil || again != got || math.IsNaN(got.From+got.To) {
			t.Errorf("%q reads as %q, then %q, %v", typed, got.Span(), again.Span(), err)
		}
	})
}
