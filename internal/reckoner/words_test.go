package reckoner_test

import (
	"testing"

	"pinset/internal/reckoner"
)

func TestLabels(t *testing.T) {
	for key, want := range map[string][2]string{
		"longest_min":            {"longest", "min"},
		"come_up_min":            {"come up", "min"},
		"saturation_c":           {"saturation", "°C"},
		"saturation_f":           {"saturation", "°F"},
		"gauge_psi":              {"gauge", "psi"},
		"gauge_kpa":              {"gauge", "kPa"},
		"lethal_rate_per_min":    {"lethal rate", "per min"},
		"measured_loss_ml_per_h": {"measured loss", "mL/h"},
		"u_w_m2k":                {"heat transfer", "W/(m²·K)"},
		"lc_ml_per_kg":           {"LC", "mL per kg"},
		"dry_g":                  {"dry", "g"},
		"needed_l":               {"needed", "L"},
		"altitude_m":             {"altitude", "m"},
		"f0_total_min":           {"F0 total", "min"},
		"ash_pct_of_dry":         {"ash", "% of dry"},
		"moisture_pct":           {"moisture", "%"},
		"cn":                     {"C:N", ""},
		"ml_per_g":               {"water per g of grain", "mL"},
		"g_per_inoculated":       {"per jar inoculated", "g"},
		"mean_inoculated":        {"mean per jar inoculated", "g"},
		"sd_picked":              {"spread if picked", "g"},
		"celsius":                {"temperature", "°C"},
		"heat_off":               {"heat off", ""},
		"min":                    {"min", ""},
		"valid":                  {"valid", ""},
		"malt extract":           {"malt extract", ""},
		"":                       {"", ""},
	} {
		if words, unit := reckoner.Label(key); words != want[0] || unit != want[1] {
			t.Errorf("Label(%q) = %q, %q, want %q", key, words, unit, want)
		}
	}
}
