package reckoner

import (
	"bytes"
	"encoding/json"
	"fmt"
)

// Example is an input that c can compute. The figures in it are invented.
func (c Calculator) Example() string { return examples[c.Name] }

// Usual are the keys of the example, "container.bore_mm" for one within
// another: what is asked of everybody, and the rest of a few.
func (c Calculator) Usual() (map[string]bool, error) {
	var in map[string]json.RawMessage
	if err := json.Unmarshal([]byte(c.Example()), &in); err != nil {
		return nil, fmt.Errorf("reckoner: example of %s: %w", c.Name, err)
	}
	out := make(map[string]bool)
	return out, nameKeys(in, "", out)
}

func nameKeys(in map[string]json.RawMessage, prefix string, out map[string]bool) error {
	for key, raw := range in {
		out[prefix+key] = true
		if !bytes.HasPrefix(raw, []byte("{")) {
			continue
		}
		var inner map[string]json.RawMessage
		if err := json.Unmarshal(raw, &inner); err != nil {
			return err
		}
		if err := nameKeys(inner, prefix+key+".", out); err != nil {
			return err
		}
	}
	return nil
}

// examples are the examples by name of the calculator.
var examples = map[string]string{
	"substrate": `{"jars": 24, "reserve_pct": 5, "recipe": {
  "mixes": [
    {"name": "grain", "lines": [{"ingredient": "oats", "amount": "40 g"}]},
    {"name": "broth", "make_up_to": "1 L",
     "lines": [{"ingredient": "yeast extract", "amount": "3 g"}]}],
  "fill": {"grain": "40 g", "broth": "48 mL"}}}`,
	"solve": `{"jars": 24, "change": "water", "for": "moisture_pct", "target": 62,
 "recipe": {
  "mixes": [{"name": "cake", "lines": [
    {"ingredient": "oats", "amount": "40 g"},
    {"ingredient": "water", "amount": "40 mL"}]}],
  "fill": {"cake": "80 g"}}}`,
	"scale": `{"have_g": {"oats": 1000}, "volume_ml": {"broth": 1000}, "recipe": {
  "mixes": [
    {"name": "grain", "lines": [{"ingredient": "oats", "amount": "40 g"}]},
    {"name": "broth", "make_up_to": "1 L",
     "lines": [{"ingredient": "yeast extract", "amount": "3 g"}]}],
  "fill": {"grain": "40 g", "broth": "48 mL"}}}`,
	"soak": `{"grain_g": 1000, "grain_moisture_pct": 12, "drained_g": 1820}`,
	"audit": `{"claims": {"moisture_pct": 60}, "recipe": {
  "mixes": [{"name": "cake", "lines": [
    {"ingredient": "oats", "amount": "1 cup"},
    {"ingredient": "water", "amount": "1 cup"}]}],
  "fill": {"cake": "200 g"}}}`,
	"cheapest": `{"cn_low": 30, "cn_high": 50, "ingredients": [
  {"ingredient": "oat straw", "price_per_kg": 0.4},
  {"ingredient": "wheat bran", "price_per_kg": 0.9, "max_pct": 30}]}`,
	"cook": `{"altitude_m": 420, "gauge_psi": 15, "come_up_min": 30, "hold_min": 90,
 "cool": "natural", "container": {"bore_mm": 80, "fill_mm": 70},
 "substrate": {"moisture_pct": 60}}`,
	"calibrate": `{"container": {"bore_mm": 80, "fill_mm": 70}, "lid": "vented",
 "mode": "cake", "substrate": {"moisture_pct": 60},
 "times_min": [0, 20, 40, 60, 80, 100, 120],
 "chamber_c": [20, 100, 121, 121, 121, 121, 121],
 "core_c": [20, 28, 68, 99, 112, 117.5, 119.6]}`,
	"water": `{"altitude_m": 420, "gauge_psi": 15, "vent_min": 10, "hold_min": 90,
 "room_c": 20, "burner_w": 2200, "efficiency": 0.5, "water_l": 3,
 "load_kg": 7,
 "pot": {"kg": 6, "kj_kgk": 0.9, "diameter_mm": 320, "height_mm": 300}}`,
	"dose": `{"lc_ml": 600, "keep_ml": 10, "loss_pct": 5, "per_jar_ml": 2,
 "jars": 240, "generation": 1, "dry_g_per_jar": 36}`,
	"power": `{"arms": 2, "jars_per_arm": 12, "cv_pct": 25}`,
	"yields": `{"arms": [
  {"name": "oats", "inoculated": 12, "discarded": 1, "barren": 1,
   "picked": 10, "fresh_g": 104},
  {"name": "millet", "inoculated": 12, "discarded": 3, "barren": 0,
   "picked": 9, "fresh_g": 112}]}`,
	"forecast": `{"book_low": 18, "book_high": 26, "source": "a grower's manual",
 "recipe": "oats", "inoculated": "2026-05-30", "passed_days": 12,
 "batches": [
  {"recipe": "oats", "from": 19, "to": 21},
  {"recipe": "oats", "from": 20, "to": 23},
  {"recipe": "millet", "from": 23, "to": 26}]}`,
	"grow": `{"rows": [
  {"jar": 1, "arm": "A", "day": 5, "cover_pct": 5},
  {"jar": 1, "arm": "A", "day": 8, "cover_pct": 20},
  {"jar": 1, "arm": "A", "day": 10, "cover_pct": 40},
  {"jar": 1, "arm": "A", "day": 12, "cover_pct": 55},
  {"jar": 1, "arm": "A", "day": 15, "cover_pct": 80},
  {"jar": 1, "arm": "A", "day": 19, "cover_pct": 95},
  {"jar": 2, "arm": "B", "day": 5, "cover_pct": 15},
  {"jar": 2, "arm": "B", "day": 8, "cover_pct": 40},
  {"jar": 2, "arm": "B", "day": 10, "cover_pct": 60},
  {"jar": 2, "arm": "B", "day": 12, "cover_pct": 75},
  {"jar": 2, "arm": "B", "day": 15, "cover_pct": 90}]}`,
	"pool": `{"scale": "ratio", "trials": [
  {"name": "spring", "estimate": 1.23, "low": 1.03, "high": 1.46},
  {"name": "summer", "estimate": 1.08, "low": 0.88, "high": 1.33},
  {"name": "a friend's", "estimate": 1.31, "se": 0.12, "imported": true}]}`,
	"stages": `{"rows": [
  {"jar": 1, "arm": "A", "from": 15, "to": 18},
  {"jar": 2, "arm": "A", "from": 18, "to": 21},
  {"jar": 3, "arm": "A", "from": 21, "to": 23},
  {"jar": 4, "arm": "A", "from": 12, "lost": true},
  {"jar": 5, "arm": "A", "from": 17, "to": 20},
  {"jar": 6, "arm": "B", "from": 12, "to": 14},
  {"jar": 7, "arm": "B", "from": 14, "to": 17},
  {"jar": 8, "arm": "B", "from": 15, "to": 18},
  {"jar": 9, "arm": "B", "from": 17, "to": 19},
  {"jar": 10, "arm": "B", "from": 18, "to": null}]}`,
	"fouled": `{"rows": [
  {"jar": 1, "bad": true, "cook": 4, "lc": "LC-3", "layer": 1},
  {"jar": 2, "bad": true, "cook": 4, "lc": "LC-3", "layer": 2},
  {"jar": 3, "bad": true, "cook": 5, "lc": "LC-3", "layer": 1},
  {"jar": 4, "bad": true, "cook": 5, "lc": "LC-3", "layer": 2},
  {"jar": 5, "bad": false, "cook": 4, "lc": "LC-2", "layer": 1},
  {"jar": 6, "bad": false, "cook": 4, "lc": "LC-2", "layer": 2},
  {"jar": 7, "bad": false, "cook": 5, "lc": "LC-2", "layer": 1},
  {"jar": 8, "bad": false, "cook": 5, "lc": "LC-2", "layer": 2},
  {"jar": 9, "bad": false, "blank": true, "cook": 4}]}`,
	"steam": `{"altitude_m": 420, "gauge_psi": 15}`,
	"lethality": `{"times_min": [0, 20, 80], "celsius": [100, 121, 121],
 "reference_c": 121.1, "z_c": 10}`,
	"hold": `{"rule_hold_min": 90, "rule_gauge_psi": 15, "gauge_psi": 12,
 "altitude_m": 420}`,
	"held": `{"hold_min": 90, "marks": [
  {"at": "16:00", "event": "reached"}, {"at": "16:47", "event": "lost"},
  {"at": "16:55", "event": "back"}, {"at": "18:31", "event": "heat_off"}]}`,
	"cool": `{"room_c": 22, "target_c": 27, "readings": [
  {"at": "16:40", "celsius": 95}, {"at": "18:40", "celsius": 60}]}`,
	"load": `{"cookers": [{"name": "tall", "capacity": {"pint": 7},
 "layers": {"pint": 2}}], "jars": {"pint": 20},
 "cycle_min": 150, "day_min": 600}`,
	"compare": `{"arms_differ_in": ["recipe"], "rows": [
  {"jar": 1, "arm": "oats", "fate": "picked", "value": 10.4, "cook": 1},
  {"jar": 2, "arm": "millet", "fate": "picked", "value": 12.1, "cook": 1},
  {"jar": 3, "arm": "oats", "fate": "barren", "cook": 1},
  {"jar": 4, "arm": "millet", "fate": "lost", "cook": 1}]}`,
}
