package lab

import "testing"

func window(species string, reached Stage, own StageLimits) (StageWindow, bool) {
	p, _ := ProfileOf(species)
	return p.NextWindow(reached, own)
}

// Published spans: Stamets 2000, ch. 21: Pleurotus ostreatus runs 12 to 21
// days, pins 3 to 5 after it and is picked 4 to 7 after these; Lentinula runs
// 35 to 70. For Cordyceps militaris common practice, no source.
func TestNextWindow(t *testing.T) {
	type want struct {
		stage, after   Stage
		from, to, late int
	}
	for _, c := range []struct {
		species string
		reached Stage
		want    want
	}{
		{"Pleurotus ostreatus", "", want{Cover, "", 12, 21, 22}},
		{"Pleurotus ostreatus", Cover, want{Pins, Cover, 3, 5, 6}},
		{"Pleurotus ostreatus", Pins, want{Ready, Pins, 4, 7, 8}},
		{"Pleurotus eryngii, king oyster", Growth, want{Cover, "", 12, 16, 17}},
		{"Lentinula edodes", "", want{Cover, "", 35, 70, 71}},
		{"Cordyceps militaris", Growth, want{Cover, "", 7, 14, 22}},
		{"cordyceps", Light, want{Pins, Light, 7, 14, 22}},
		{"cordyceps", Colour, want{Pins, Light, 7, 14, 22}},
	} {
		w, ok := window(c.species, c.reached, nil)
		if got := (want{w.Stage, w.After, w.From, w.To, w.Late}); !ok || got != c.want || w.Source == "" {
			t.Errorf("%s at %q: %+v, %v; want %+v", c.species, c.reached, w, ok, c.want)
		}
	}
	for _, c := range []struct {
		species string
		reached Stage
	}{{"Cordyceps militaris", Cover}, {"Cordyceps militaris", Ready}, {"a bolete", ""}, {"", Pins}} {
		if w, ok := window(c.species, c.reached, nil); ok {
			t.Errorf("%s at %q expects %+v", c.species, c.reached, w)
		}
	}
}

// Spans that follow each other are added up; the sources are those of
// TestNextWindow.
func TestPublished(t *testing.T) {
	published := func(species string, after, stage Stage) ([2]int, string, bool) {
		p, _ := ProfileOf(species)
		return p.Published(after, stage)
	}
	for _, c := range []struct {
		species      string
		after, stage Stage
		want         [2]int
	}{
		{"Pleurotus ostreatus", "", Cover, [2]int{12, 21}},
		{"Pleurotus ostreatus", "", Pins, [2]int{15, 26}},
		{"Pleurotus ostreatus", "", Ready, [2]int{19, 33}},
		{"Pleurotus ostreatus", Cover, Pins, [2]int{3, 5}},
		{"Pleurotus ostreatus", Cover, Ready, [2]int{7, 12}},
		{"Pleurotus ostreatus", Pins, Ready, [2]int{4, 7}},
		{"cordyceps", "", Growth, [2]int{2, 4}},
		{"cordyceps", Light, Colour, [2]int{3, 7}},
		{"cordyceps", "", Colour, [2]int{10, 21}},
	} {
		if got, source, ok := published(c.species, c.after, c.stage); !ok || got != c.want || source == "" {
			t.Errorf("%s from %q to %s: %v, %q, %v; want %v", c.species, c.after, c.stage, got, source, ok, c.want)
		}
	}
	for _, c := range []struct {
		species      string
		after, stage Stage
	}{{"a bolete", "", Cover}, {"Pleurotus ostreatus", "", Growth}, {"Pleurotus ostreatus", Cover, Colour}, {"cordyceps", Pins, Cover}, {"cordyceps", "", ""}, {"cordyceps", Cover, Light}} {
		if got, _, ok := published(c.species, c.after, c.stage); ok {
			t.Errorf("%s from %q to %s: %v", c.species, c.after, c.stage, got)
		}
	}
}

// TestOwnLimitsGoFirst: those of the grower, for an unknown species too.
func TestOwnLimitsGoFirst(t *testing.T) {
	own, err := ParseStageLimits("Cover 22\n\n pins 29\ncolour 11 \nair 3")
	if err != nil || len(own) != 4 || own.String() != "cover 22\ncolour 11\npins 29\nair 3" {
		t.Fatalf("limits are %q, %v", own, err)
	}
	if w, ok := window("a bolete", "", own); !ok || w.Late != 22 || w.From != 21 || w.Source != byHand {
		t.Errorf("a species that is not known: %+v, %v", w, ok)
	}
	if w, _ := window("cordyceps", Light, own); w.Stage != Colour || w.Late != 11 {
		t.Errorf("with a limit for colour: %+v", w)
	}
	if w, _ := window("cordyceps", Colour, own); w.Late != 29 || w.From != 7 {
		t.Errorf("pins: %+v", w)
	}
	for _, typed := range []string{"pins", "29", "pins soon", "pins 0", "pins 401", "light 3", "pins 2 9"} {
		if got, err := ParseStageLimits(typed); !IsKind(err, Invalid) {
			t.Errorf("%q gives %v, %v", typed, got, err)
		}
	}
}

func FuzzStageLimits(f *testing.F) {
	for _, s := range []string{"", "cover 22\npins 29", "pins -1", "air\t3\r\n", "\x00 1"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		limits, err := ParseStageLimits(s)
		if err != nil {
			return
		}
		again, err := ParseStageLimits(limits.String())
		if err != nil || again.String() != limits.String() {
			t.Errorf("%q comes back as %q, %v", s, again, err)
		}
	})
}
