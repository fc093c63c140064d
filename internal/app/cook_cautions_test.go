package app_test

import (
	"strings"
	"testing"

	"pinset/internal/app"
	"pinset/internal/calc/steam"
	"pinset/internal/calc/thermal"
	"pinset/internal/figure"
	"pinset/internal/lab"
)

func ptr(v float64) *float64 { return &v }

// jarCook is a pint jar of wet grain cooked as a careless beginner would.
func jarCook(t *testing.T) []figure.Caution {
	t.Helper()
	base := thermal.CookInput{
		AltitudeM: ptr(1500), GaugePsi: 15, ComeUpMin: 20, HoldMin: 180, Cool: "fast", Lid: "tight",
		Container: thermal.Container{BoreMM: 76, FillMM: 60, Material: "polypropylene", Count: 14}, Substrate: thermal.Substrate{MoisturePct: ptr(55)},
	}
	long, err := thermal.Cook(base)
	if err != nil {
		t.Fatal(err)
	}
	base.HoldMin, base.GaugePsi = 20, 10
	short, err := thermal.Cook(base)
	if err != nil {
		t.Fatal(err)
	}
	return append(long.Cautions, short.Cautions...)
}

func answered[R any](t *testing.T) func(figure.Answer[R], error) []figure.Caution {
	return func(a figure.Answer[R], err error) []figure.Caution {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
		return a.Cautions
	}
}

// TestEveryCautionHasItsPlace lists what a tool for cooks must warn of, and
// where it does: in a calculator, by the code of a caution, or on the way
// through a cook, by its words.
//
// The cautions are those of canning and retort practice (USDA, Complete Guide
// to Home Canning, 2015, and its extension services) and of the trade.
func TestEveryCautionHasItsPlace(t *testing.T) {
	cook := jarCook(t)
	hold := answered[thermal.HoldResult](t)(thermal.Hold(thermal.HoldInput{RuleHoldMin: 90, RuleGaugePsi: 15, GaugePsi: 10, AltitudeM: ptr(1500)}))
	water := answered[thermal.WaterResult](t)(thermal.Water(thermal.WaterInput{WaterL: 0.3, HoldMin: 150, GaugePsi: 15, MeasuredLossMlPerH: ptr(240)}))
	cool := answered[thermal.CoolResult](t)(thermal.Cool(thermal.CoolInput{
		Readings: []thermal.CoolReading{{At: "16:40", Celsius: 95}, {At: "18:40", Celsius: 60}}, RoomC: 22, TargetC: 35,
	}))
	air := answered[steam.SteamResult](t)(steam.Steam(steam.SteamInput{AltitudeM: ptr(0), GaugePsi: ptr(15), AirFraction: 0.5}))
	worn := answered[steam.SteamResult](t)(steam.Steam(steam.SteamInput{AltitudeM: ptr(0), GaugePsi: ptr(15), GaugeReadsHighPsi: 2.5}))

	var way strings.Builder
	onSQLite(t, func(b *bench) {
		must(b.AddCook(b.ctx, app.NewCook{Hold: "90 min", Gauge: "15 psi"}))(b)
		for _, s := range must(b.CookRun(b.ctx, "1"))(b).Steps {
			way.WriteString(s.What + ". " + s.Caution + "\n")
		}
		v := must(b.CookView(b.ctx, "1"))(b)
		if v.Next[0] != lab.Reached {
			t.Errorf("the first mark is %s", v.Next[0])
		}
		has(t, v.Cautions, "pressure")
	})
	for _, w := range []struct {
		about string
		where []figure.Caution
		code  string // of a caution in where
		words string // on the way through a cook
	}{
		{"the maker's manual first", hold, "manual_first", "maker's manual"},
		{"air that was not purged", air, "trapped_air", "blow steadily for 10 min"},
		{"altitude", hold, "altitude", ""},
		{"an error of the gauge", worn, "replace_gauge", ""},
		{"a run at 10 psi", hold, "target_not_reached", ""},
		{"lethality from below 118 °C", hold, "below_118", ""},
		{"the water", water, "runs_dry", "Water in"},
		{"never dry, never refilled under pressure", water, "never_dry", ""},
		{"the lag of the core", cook, "core_lags", ""},
		{"a cooling that is not credited", cook, "fast_cooling", "do not vent it fast"},
		{"opening", cook, "opening", "Wait 10 min"},
		{"jars that are sealed tight", cook, "tight_lid", "never tight"},
		{"thermal shock", nil, "", "No hot glass on a cold bench"},
		{"plastics", cook, "plastic", "polypropylene"},
		{"too full a load", cook, "do_not_overload", "jars not touching"},
		{"dry pockets", cook, "wet_heat_only", "dry heat"},
		{"a long soak, an interruption", nil, "", "12 to 24 h"},
		{"the temperature to inoculate at", cool, "too_warm_to_inoculate", "below 30 °C"},
		{"cooking too long", cook, "long_heat", ""},
		{"the word sterile: ranges, loggers, strips, blanks", cook, "estimate", ""},
		{"food", cook, "estimate", "fit to eat"},
		{"gas through lids", nil, "", "never face down"},
		{"CO2 and spores in rooms", nil, "", "allergen"},
		{"burns and gas hobs", nil, "", "children away"},
		{"what a model is", cook, "model", ""},
	} {
		if w.code == "" && w.words == "" {
			t.Errorf("%s has no place", w.about)
		}
		if w.code != "" && !strings.Contains(" "+codes(w.where)+" ", " "+w.code+" ") {
			t.Errorf("%s: no caution %s among %s", w.about, w.code, codes(w.where))
		}
		if !strings.Contains(way.String(), w.words) {
			t.Errorf("%s: the way through a cook does not say %q", w.about, w.words)
		}
	}
	if strings.Contains(strings.ToLower(way.String()), "sterile") {
		t.Error("the way through a cook calls something sterile")
	}
}
