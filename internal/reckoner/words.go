package reckoner

import "strings"

// unitEndings are how keys end that say a unit, and the unit as people write
// it. Longer endings come before shorter ones that they end in.
var unitEndings = []struct{ ending, unit string }{
	{"_g_per_g_dry", "g per g dry"},
	{"_pct_of_dry", "% of dry"},
	{"_ml_per_kg_dry", "mL per kg dry"},
	{"_ml_per_kg", "mL per kg"},
	{"_mmol_per_l", "mmol/L"},
	{"_ml_per_h", "mL/h"},
	{"_mosm_l", "mOsm/L"},
	{"_g_per_l", "g/L"},
	{"_per_min", "per min"},
	{"_per_kg", "per kg"},
	{"_per_h", "per h"},
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
	{"_h", "h"},
	{"_l", "L"},
	{"_m", "m"},
	{"_c", "°C"},
	{"_f", "°F"},
	{"_w", "W"},
}

type keyWords struct{ words, unit string }

// ownWords are keys whose unit is not at their end, or that people call by
// other words.
var ownWords = map[string]keyWords{
	"celsius":                        {"temperature", "°C"},
	"lux":                            {"light", "lux"},
	"percent":                        {"in per cent", "%"},
	"lc_ml":                          {"LC in the vessel", "mL"},
	"keep_ml":                        {"kept back", "mL"},
	"loss_pct":                       {"lost", "%"},
	"short":                          {"jars that go without", ""},
	"max_per_jar_ml":                 {"most for each jar", "mL"},
	"child_generation":               {"transfers of what is made from it", ""},
	"generation":                     {"transfers since the master", ""},
	"ml_per_kg_dry":                  {"dose per kg dry", "mL"},
	"transfer_by":                    {"begin the LC by", ""},
	"grown_in_them_ml":               {"LC grown in them", "mL"},
	"fill_at_most_ml":                {"fill each to at most", "mL"},
	"from":                           {"last visit without it", "day"},
	"to":                             {"first visit with it", "day"},
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
	"n_g":                            {"nitrogen", "g"},
	"c_g":                            {"carbon", "g"},
	"n_pct_of_dry":                   {"nitrogen", "% of dry"},
	"c_pct_of_dry":                   {"carbon", "% of dry"},
	"n_low_pct_of_dry":               {"nitrogen, low", "% of dry"},
	"n_high_pct_of_dry":              {"nitrogen, high", "% of dry"},
	"gauge_psi_for_rule_temperature": {"gauge for the rule's temperature", "psi"},
	"u_w_m2k":                        {"heat transfer", "W/(m²·K)"},
	"mean_inoculated":                {"mean per jar inoculated", "g"},
	"mean_picked":                    {"mean per jar picked", "g"},
	"g_per_inoculated":               {"per jar inoculated", "g"},
	"g_per_picked":                   {"per jar picked", "g"},
	"p_welch":                        {"p by Welch's t", ""},
	"p_randomisation":                {"p by randomisation", ""},
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

// capitals are parts of keys that are written in capitals.
var capitals = map[string]string{"f": "F", "f0": "F0", "lc": "LC"}

// Label returns what people read instead of a calculator's key, in small
// letters, and the unit of its figure, "" if the key says none.
func Label(key string) (words, unit string) {
	if own, ok := ownWords[key]; ok {
		return own.words, own.unit
	}
	for _, e := range unitEndings {
		if rest, ok := strings.CutSuffix(key, e.ending); ok && rest != "" {
			return Spaced(rest), e.unit
		}
	}
	return Spaced(key), ""
}

// Spaced returns a key, or a fixed word such as "heat_off", as separate words.
func Spaced(key string) string {
	words := strings.Split(key, "_")
	for i, w := range words {
		if written, ok := capitals[w]; ok {
			words[i] = written
		}
	}
	return strings.Join(words, " ")
}
