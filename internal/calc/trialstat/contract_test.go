package trialstat

import (
	"encoding/json"
	"strings"
	"testing"
)

// The keys by which the calculators are known outside, as "path" or "path[]"
// into a result in JSON.
func TestResultKeys(t *testing.T) {
	rows := table(t, "trialA_balanced.csv")
	loss := 10.0
	compared, err := Compare(CompareInput{Rows: rows})
	if err != nil {
		t.Fatal(err)
	}
	summed := yields(t, YieldsInput{Arms: []YieldArm{{Name: "A", Inoculated: 6, Picked: 6, FreshG: g(60)}, {Name: "B", Inoculated: 6, Picked: 6, FreshG: g(70)}}})
	powered, err := Power(PowerInput{Arms: 2, JarsPerArm: 6, CVPct: 25, LossPct: &loss})
	if err != nil {
		t.Fatal(err)
	}
	hold := func(name string, answer any, paths string) {
		text, err := json.Marshal(answer)
		if err != nil {
			t.Fatal(err)
		}
		var tree any
		if err := json.Unmarshal(text, &tree); err != nil {
			t.Fatal(err)
		}
		for _, path := range strings.Fields(paths) {
			at := tree
			for _, key := range strings.Split(path, ".") {
				if list, ok := at.([]any); ok && len(list) > 0 {
					at = list[0]
				}
				m, _ := at.(map[string]any)
				next, known := m[key]
				if !known {
					t.Errorf("%s: no key %s", name, path)
					break
				}
				at = next
			}
		}
	}
	hold("compare", compared, `result.arms.name result.arms.inoculated result.arms.lost result.arms.barren result.arms.picked result.arms.growing
		result.arms.mean_inoculated result.arms.mean_picked result.arms.sd result.arms.cv_pct
		result.comparisons.arms result.comparisons.per result.comparisons.difference.value result.comparisons.difference.low
		result.comparisons.difference.high result.comparisons.difference.pct result.comparisons.difference.p_randomisation
		result.comparisons.difference.p_welch result.comparisons.percent.value result.comparisons.percent.low result.comparisons.percent.high
		result.comparisons.ratio.value result.comparisons.ratio.low result.comparisons.ratio.high result.comparisons.ratio.p
		result.efficiency result.aliased result.ending result.sentence result.jars_to_settle
		cautions.code cautions.title cautions.text cautions.weight working.step working.formula working.value working.unit working.source`)
	hold("yields", summed, `result.arms.name result.arms.g_per_inoculated result.arms.g_per_picked result.arms.picked_share.value
		result.arms.picked_share.low result.arms.picked_share.high result.arms.be_pct result.share_difference.value result.share_difference.low
		result.share_difference.high result.gram_ratio cautions.code`)
	hold("power", powered, `result.power result.detectable_pct result.detectable_down_pct result.jars_for_effect result.start_jars working.step`)
}

// A sheet may hold numbers where names are meant.
func TestRowsInJSON(t *testing.T) {
	var in CompareInput
	err := json.Unmarshal([]byte(`{"control": 2, "rows": [
		{"jar": 1, "arm": 2, "fate": "picked", "value": 10.5, "cook": 12, "layer": " top "},
		{"jar": "2", "arm": "10", "fate": "lost", "value": null, "shelf": null}]}`), &in)
	if err != nil {
		t.Fatal(err)
	}
	if r := in.Rows[0]; r.Jar != "1" || r.Arm != "2" || r.Cook != "12" || r.Layer != "top" || *r.Value != 10.5 || in.Control != "2" {
		t.Errorf("row is %+v", r)
	}
	if r := in.Rows[1]; r.Value != nil || r.Shelf != "" {
		t.Errorf("row is %+v", r)
	}
	for _, bad := range []string{`{"rows":[{"jar":true}]}`, `{"rows":[{"arm":["A"]}]}`} {
		if json.Unmarshal([]byte(bad), &in) == nil {
			t.Errorf("%s was taken", bad)
		}
	}
}
