package thermal

import (
	"fmt"
	"strings"
	"testing"

	"pinset/internal/calc/steam"
	"pinset/internal/figure"
)

// careless is a pint of grain in a plastic tub, tightly shut, filled to the
// lid, cooked at 10 psi up a mountain after a slow start and then vented.
func careless(t *testing.T) []figure.Caution {
	t.Helper()
	in := usualCook()
	in.AltitudeM, in.GaugePsi, in.ComeUpMin, in.HoldMin, in.Cool, in.Lid = ptr(1500), 10, 100, 180, "fast", "tight"
	in.AirFraction, in.Container.Material, in.Container.HeadspaceMM, in.Container.Stacked = 0.2, "PP", ptr(5), 2
	out := mustCook(t, in).Cautions
	in.Container.Material = "glass"
	return append(out, mustCook(t, in).Cautions...)
}

// Every caution that a tool for cooks owes its reader and that a calculator
// can give, with a word that must stand in it. What remains, gas through lids
// and spores in rooms, is said on the way through a cook. The table in
// doc/methods/thermal.md lists both.
func TestCautionsStand(t *testing.T) {
	cook := careless(t)
	bottle := bottleCook()
	bottle.Cool = "fast"
	liquid := mustCook(t, bottle).Cautions
	water := usualPot(2000, 0.74)
	water.HoldMin = 120
	dry := mustWater(t, water).Cautions
	hold := mustHold(t, HoldInput{RuleHoldMin: 90, RuleGaugePsi: 15, GaugePsi: 10, AltitudeM: ptr(1500)}).Cautions
	held, err := Held(HeldInput{HoldMin: 90, Marks: marks("14:00", "reached", "14:47", "lost", "14:54", "back", "16:10", "heat_off")})
	if err != nil {
		t.Fatal(err)
	}
	cool := mustCool(t, CoolInput{Readings: []CoolReading{{"16:40", 95}, {"18:40", 60}}, RoomC: 22, TargetC: 35}).Cautions
	log := mustLethality(t, LethalityInput{TimesMin: []float64{0, 160}, Celsius: []float64{116, 116}}).Cautions
	for _, w := range []struct {
		about, code, word string
		in                []figure.Caution
		weight            figure.Weight
	}{
		{"the manual first", "manual_first", "never block a weight or valve", cook, figure.Note},
		{"longer, not harder", "do_not_exceed", "nameplate", hold, figure.Stop},
		{"air not purged", "trapped_air", "Vent for 10 min", cook, figure.Stop},
		{"venting", "vent_first", "A gauge can not see air", cook, figure.Care},
		{"altitude", "altitude", "Hold longer", cook, figure.Care},
		{"the gauge", "gauge_untested", "tested once a year", cook, figure.Note},
		{"a run at 10 psi", "target_not_reached", "worth", hold, figure.Care},
		{"a run at 10 psi is optimistic", "below_118", "far too much", hold, figure.Care},
		{"water", "runs_dry", "warps", dry, figure.Stop},
		{"water of a long hold", "water", "never add water under pressure", cook, figure.Stop},
		{"full heat", "full_burner", "Turn it down", dry, figure.Care},
		{"never dry", "never_dry", "never leave the pot unattended", dry, figure.Note},
		{"the lag of the core", "core_lags", "not the time in the core", cook, figure.Care},
		{"the gauge is not the core", "gauge_is_not_core", "blank", held.Cautions, figure.Note},
		{"no credit for fast cooling", "fast_cooling", "sucks in air", cook, figure.Care},
		{"opening", "opening", "10 min later", cook, figure.Care},
		{"tight lids", "tight_lid", "foil", cook, figure.Stop},
		{"thermal shock", "glass", "40 K", cook, figure.Note},
		{"chipped jars", "glass", "chipped or cracked", cook, figure.Note},
		{"plastics", "plastic", "107 °C", cook, figure.Care},
		{"overloading", "do_not_overload", "touch", cook, figure.Note},
		{"stacks", "stacked", "racks", cook, figure.Stop},
		{"a full jar", "no_headspace", "foams", cook, figure.Care},
		{"dry pockets", "wet_heat_only", "Unhydrated kernels", cook, figure.Note},
		{"a slow start, a long soak", "slow_start", "12 to 24 h", cook, figure.Care},
		{"an interruption", "interrupted", "starts anew", held.Cautions, figure.Care},
		{"inoculating", "inoculate_cold", "30 °C", cook, figure.Note},
		{"inoculating warm", "too_warm_to_inoculate", "25 °C", cool, figure.Care},
		{"sucking in air while cooling", "touch_is_not_core", "suck in air", cool, figure.Note},
		{"too much in a record", "long_heat", "brown", log, figure.Care},
		{"judges", "estimate", "indicator strip and a blank jar", cook, figure.Note},
		{"no food", "estimate", "validates no food", cook, figure.Note},
		{"botulism", "estimate", "botulism", cook, figure.Note},
		{"gas hobs", "hob", "carbon monoxide", dry, figure.Care},
		{"children", "hob", "children away", dry, figure.Care},
		{"the model", "model", "tenfold", cook, figure.Note},
		{"boiling over", "boil_over", "shield for the face", liquid, figure.Stop},
	} {
		found := false
		for _, c := range w.in {
			if c.Code != w.code {
				continue
			}
			found = true
			if !strings.Contains(c.Title+". "+c.Text, w.word) || c.Weight != w.weight {
				t.Errorf("%s: %q is to hold %q and to weigh %q: %+v", w.about, w.code, w.word, w.weight, c)
			}
			break
		}
		if !found {
			t.Errorf("%s: no caution %s", w.about, w.code)
		}
	}
	for _, c := range append(append(append(append(cook, liquid...), dry...), hold...), cool...) {
		if strings.Contains(strings.ToLower(c.Title+c.Text), "steril") {
			t.Errorf("a caution promises too much: %+v", c)
		}
	}
}

// The figures in cautions, reckoned from what they rest on: a gauge that reads
// 2 psi too much at 15 psi; air shut into a jar at 20 °C and heated to 121 °C
// (Dalton's law, the ideal gas); and what ten minutes of venting boil off at
// net powers of 740 to 1512 W less the loss of a pot of 320 mm.
func TestFiguresOfCautions(t *testing.T) {
	said := func(list []figure.Caution, code, words string) {
		t.Helper()
		for _, c := range list {
			if c.Code == code && !strings.Contains(c.Text, words) {
				t.Errorf("%s does not say %q: %s", code, words, c.Text)
			}
		}
	}
	at := func(high float64) pot {
		p, err := newPot(potAsk{altitudeM: ptr(0), gaugePsi: 15, readsHighPsi: high})
		if err != nil {
			t.Fatal(err)
		}
		return p
	}
	right, off := at(0), at(2)
	colder, share := float64(right.temp-off.temp), steam.LethalRate(off.temp, right.temp, ReferenceZ)
	said(careless(t), "gauge_untested", fmt.Sprintf("2 psi too much at 15 psi cooks %.1f °C too cold, at %.1f of the kill", colder, share))

	wet, err := steam.TrappedAirGauge(121, 101325, 1)
	if err != nil {
		t.Fatal(err)
	}
	air, err := steam.GaugeFor(121, 101325)
	if err != nil {
		t.Fatal(err)
	}
	said(careless(t), "tight_lid", fmt.Sprintf("about %.1f bar above the pot at 121 °C", float64(wet-air)/1e5))

	var vents [2]float64
	for i, burner := range []struct{ w, share float64 }{{1000, 0.74}, {1800, 0.84}} {
		vents[i] = *mustWater(t, usualPot(burner.w, burner.share)).Result.VentL
	}
	alone := mustWater(t, WaterInput{WaterL: 3, HoldMin: 60, MeasuredLossMlPerH: ptr(240), VentMin: 10}).Cautions
	said(alone, "vent_unknown", fmt.Sprintf("take %.1f to %.1f L more", vents[0], vents[1]))
	if !hasCaution(alone, "vent_unknown") || !hasCaution(careless(t), "tight_lid") || !hasCaution(careless(t), "gauge_untested") {
		t.Error("a caution is not there")
	}
}
