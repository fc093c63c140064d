package reckoner_test

import (
	"encoding/json"
	"fmt"
	"strings"
	"testing"

	"pinset/internal/lab"
	"pinset/internal/reckoner"
)

func calculate(t *testing.T, name, in string) (map[string]any, error) {
	t.Helper()
	c, err := reckoner.Named(name)
	if err != nil {
		t.Fatal(err)
	}
	out, err := c.Calculate([]byte(in))
	if err != nil {
		return nil, err
	}
	raw, err := json.Marshal(out)
	if err != nil {
		t.Fatalf("%s can not be written as JSON: %v", name, err)
	}
	var tree map[string]any
	if err := json.Unmarshal(raw, &tree); err != nil {
		t.Fatal(err)
	}
	return tree, nil
}

func TestCalculatorsKeepTheContract(t *testing.T) {
	got, err := calculate(t, "held", `{"hold_min": 90, "marks": [{"at":"04:00","event":"reached"},{"at":"04:47","event":"lost"},{"at":"05:00","event":"back"},{"at":"06:36","event":"heat_off"}]}`)
	if err != nil {
		t.Fatal(err)
	}
	for _, key := range []string{"result", "cautions", "working"} {
		if got[key] == nil {
			t.Errorf("the answer has no %s", key)
		}
	}
	if result := got["result"].(map[string]any); result["longest_min"] != 96.0 || result["valid"] != true {
		t.Errorf("47 min, a dip and 96 min for a rule of 90: %v", result)
	}
}

func TestBadInputToCalculatorsIsNamed(t *testing.T) {
	for in, want := range map[string]string{
		``:                              "empty",
		`[1]`:                           "not a JSON object",
		`{"hold_min": 60`:               "not JSON",
		`{"hold_min": 60} {}`:           "follows",
		`{"hold_mins": 60}`:             "did you mean hold_min?",
		`{"hold_min": "60"}`:            "without quotes",
		`{"hold_min": 60, "marks": 3}`:  "list",
		`{"marks": [{"att": "16:00"}]}`: "did you mean at?",
		`{"hold_min": 60, "marks": [{"at":"25:00","event":"reached"}]}`: "25:00",
	} {
		_, err := calculate(t, "held", in)
		p, ok := lab.AsProblem(err)
		if !ok || p.Kind != lab.Invalid || !strings.Contains(p.Error(), want) {
			t.Errorf("input %q: %v, want a Problem about %q", in, err, want)
		}
	}
	if _, err := reckoner.Named("hedl"); !strings.Contains(fmt.Sprint(err), "held") {
		t.Errorf("an unknown calculator: %v", err)
	}
}

func TestFlagsAndTablesSayTheSameAsJSON(t *testing.T) {
	c, err := reckoner.Named("compare")
	if err != nil {
		t.Fatal(err)
	}
	base, err := c.FromFlags(map[string]string{"arms_differ_in": "recipe", "matters_pct": "15"})
	if err != nil {
		t.Fatal(err)
	}
	in, err := c.FromCSV(strings.NewReader("jar,arm,fate,value\n1,A,picked,12.5\n2,A,lost,\n3,B,picked,14\n"), base)
	if err != nil {
		t.Fatal(err)
	}
	var got map[string]any
	if err := json.Unmarshal(in, &got); err != nil {
		t.Fatal(err)
	}
	if rows := got["rows"].([]any); len(rows) != 3 || got["matters_pct"] != 15.0 {
		t.Errorf("read as %s", in)
	}
	if _, err := c.Calculate(in); err != nil {
		t.Error(err)
	}
	lethality, err := reckoner.Named("lethality")
	if err != nil {
		t.Fatal(err)
	}
	in, err = lethality.FromCSV(strings.NewReader("times_min,celsius\n0,120\n10,121.1\n"), []byte(`{"reference_c":121.1,"z_c":10}`))
	if err != nil {
		t.Fatal(err)
	}
	if _, err := lethality.Calculate(in); err != nil {
		t.Errorf("%s: %v", in, err)
	}
	if _, err := c.FromCSV(strings.NewReader("jar,arm,fat\n1,A,picked\n"), nil); !strings.Contains(fmt.Sprint(err), "fate") {
		t.Errorf("a misspelt column: %v", err)
	}
}

// Every calculator describes what it takes, in keys that end in their unit.
func TestEveryCalculatorHasASchema(t *testing.T) {
	for _, c := range reckoner.All() {
		s, err := c.Schema()
		if err != nil {
			t.Errorf("%s: %v", c.Name, err)
			continue
		}
		if len(s.Properties) == 0 || len(s.Properties) != len(c.Keys()) {
			t.Errorf("%s: %d properties, %d keys", c.Name, len(s.Properties), len(c.Keys()))
		}
		for key := range s.Properties {
			if key != strings.ToLower(key) || strings.ContainsAny(key, " -") {
				t.Errorf("%s: the key %q is not snake_case", c.Name, key)
			}
		}
	}
}

func FuzzCalculate(f *testing.F) {
	f.Add("held", `{"hold_min": 60, "marks": [{"at":"16:00","event":"reached"}]}`)
	f.Add("compare", `{"rows": [{"jar": 1, "arm": "A", "fate": "picked", "value": 3}]}`)
	f.Add("steam", `{"altitude_m": 500, "gauge_psi": 15}`)
	f.Add("cool", `{"readings": [{"at":"16:40","celsius":95},{"at":"18:40","celsius":60}], "room_c":22, "target_c":27}`)
	f.Add("load", `{"jars": {"pint": 20}, "cycle_min": 150, "day_min": 600, "cookers": [{"name":"a","capacity":{"pint":7},"layers":{"pint":2}}]}`)
	f.Fuzz(func(t *testing.T, name, in string) {
		c, err := reckoner.Named(name)
		if err != nil || len(in) > 2000 {
			return
		}
		out, err := c.Calculate([]byte(in))
		if err != nil {
			if _, ok := lab.AsProblem(err); !ok {
				t.Fatalf("%s of %s: %v is no Problem", name, in, err)
			}
			return
		}
		if _, err := json.Marshal(out); err != nil {
			t.Fatalf("%s of %s: %v", name, in, err)
		}
	})
}
