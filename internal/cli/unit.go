package cli

import "strings"

// unitEndings are how keys end that say a unit, the longer ones first, and
// the unit as people write it.
var unitEndings = []struct{ ending, unit string }{
	{"_g_per_g_dry", "g per g dry"},
	{"_pct_of_dry", "% of dry"},
	{"_g_per_l", "g/L"},
	{"_mmol_per_l", "mmol/L"},
	{"_mosm_l", "mOsm/L"},
	{"_ml_per_h", "mL/h"},
	{"_per_min", "a minute"},
	{"_per_kg", "per kg"},
	{"_per_h", "an hour"},
	{"_kj_kgk", "kJ/(kg·K)"},
	{"_w_m2k", "W/(m²·K)"},
	{"_w_mk", "W/(m·K)"},
	{"_kg_m3", "kg/m³"},
	{"_m2_s", "m²/s"},
	{"_m3_s", "m³/s"},
	{"_g_kg", "g/kg"},
	{"_mg_h", "mg/h"},
	{"_g_ml", "g/mL"},
	{"_cm2", "cm²"},
	{"_kwh", "kWh"},
	{"_kpa", "kPa"},
	{"_psi", "psi"},
	{"_min", "min"},
	{"_ppm", "ppm"},
	{"_pct", "%"},
	{"_kg", "kg"},
	{"_kj", "kJ"},
	{"_ml", "mL"},
	{"_mm", "mm"},
	{"_pa", "Pa"},
	{"_g", "g"},
	{"_l", "L"},
	{"_m", "m"},
	{"_c", "°C"},
	{"_f", "°F"},
	{"_w", "W"},
}

// unitOfKey are keys whose unit is not at their end, or that are words of a
// trade, with what people read.
var unitOfKey = map[string]struct{ label, unit string }{
	"celsius":                        {"temperature", "°C"},
	"lux":                            {"light", "lux"},
	"percent":                        {"in per cent", "%"},
	"pct":                            {"in per cent", "%"},
	"cn":                             {"C:N", ""},
	"cn_low":                         {"C:N, low", ""},
	"cn_high":                        {"C:N, high", ""},
	"ml_per_g":                       {"water per g of grain", "mL"},
	"batch":                          {"batch", "g"},
	"hours":                          {"time", "h"},
	"hours_to_target":                {"to the target", "h"},
	"hours_to_30c":                   {"to 30 °C", "h"},
	"hours_to_30c_from_heat_off":     {"to 30 °C from heat off", "h"},
	"hours_to_30c_band":              {"to 30 °C, range", "h"},
	"minutes":                        {"time", "min"},
	"days":                           {"days", ""},
	"n_g":                            {"nitrogen", "g"},
	"c_g":                            {"carbon", "g"},
	"n_pct_of_dry":                   {"nitrogen", "% of dry"},
	"c_pct_of_dry":                   {"carbon", "% of dry"},
	"gauge_psi_for_rule_temperature": {"gauge for the rule's temperature", "psi"},
	"p":                              {"p", ""},
	"p_welch":                        {"p by Welch's t", ""},
	"p_randomisation":                {"p by randomisation", ""},
	"mean_inoculated":                {"g per jar inoculated", ""},
	"mean_picked":                    {"g per jar picked", ""},
	"sd":                             {"spread", "g"},
	"sd_picked":                      {"spread if picked", "g"},
	"cv_pct":                         {"spread", "%"},
	"cv_picked_pct":                  {"spread if picked", "%"},
	"be_pct":                         {"biological efficiency", "%"},
	"rmse_c":                         {"misfit", "°C"},
	"f_h_min":                        {"f_h", "min"},
	"j_h":                            {"j_h", ""},
	"z_c":                            {"z", "K"},
}

// labelOf returns what people read instead of a key, and the unit of its
// figure, "" if the key says none.
func labelOf(key string) (label, unit string) {
	if known, ok := unitOfKey[key]; ok {
		return known.label, known.unit
	}
	for _, e := range unitEndings {
		if rest, ok := strings.CutSuffix(key, e.ending); ok && rest != "" {
			return spaced(rest), e.unit
		}
	}
	return spaced(key), ""
}

// spaced returns the words of a key. F values are written with a capital.
func spaced(key string) string {
	words := strings.Split(key, "_")
	for i, w := range words {
		if w == "f" || w == "f0" {
			words[i] = strings.ToUpper(w)
		}
	}
	return strings.Join(words, " ")
}

// unitAfter returns unit as it follows a number.
func unitAfter(unit string) string {
	if unit == "" {
		return ""
	}
	return " " + unit
}
