package reckoner_test

import (
	"encoding/json"
	"fmt"
	"slices"
	"strings"
	"testing"

	"github.com/google/jsonschema-go/jsonschema"

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

// eachProperty calls check with the schema of every key, nested ones too.
func eachProperty(s *jsonschema.Schema, above string, check func(path string, s *jsonschema.Schema)) {
	if s == nil {
		return
	}
	for key, p := range s.Properties {
		check(above+key, p)
		eachProperty(p, above+key+".", check)
	}
	eachProperty(s.Items, above, check)
	eachProperty(s.AdditionalProperties, above, check)
}

func TestEveryKeyIsDescribed(t *testing.T) {
	for _, c := range reckoner.All() {
		s, err := c.Schema()
		if err != nil {
			t.Fatal(err)
		}
		eachProperty(s, "", func(path string, p *jsonschema.Schema) {
			if len(p.Description) < 8 || len(p.Description) > 130 || strings.HasSuffix(p.Description, ".") {
				t.Errorf("%s: %s is described as %q, want one line without a full stop", c.Name, path, p.Description)
			}
		})
	}
}

// An unknown word must be refused at every key that takes fixed words, and
// the refusal names them: so the words of the schema are those that are read.
func TestChoicesAreTheWordsThatAreRead(t *testing.T) {
	for _, c := range []struct{ name, key, in string }{
		{"cook", "cool", cookWith(`"cool":%s`)},
		{"cook", "lid", cookWith(`"cool":"fast","lid":%s`)},
		{"cook", "mode", cookWith(`"cool":"fast","mode":%s`)},
		{"held", "marks.event", `{"hold_min":60,"marks":[{"at":"10:00","event":%s}]}`},
		{"compare", "primary", `{"primary":%s,"rows":[{"jar":1,"arm":"A","fate":"picked","value":3},{"jar":2,"arm":"B","fate":"picked","value":3}]}`},
		{"compare", "arms_differ_in", `{"arms_differ_in":[%s],"rows":[{"jar":1,"arm":"A","fate":"picked","value":3},{"jar":2,"arm":"B","fate":"picked","value":3}]}`},
		{"compare", "rows.fate", `{"rows":[{"jar":1,"arm":"A","fate":%s},{"jar":2,"arm":"B","fate":"lost"}]}`},
		{"power", "scale", `{"arms":2,"jars_per_arm":8,"cv_pct":20,"scale":%s}`},
		{"substrate", "container.shape", `{"jars":1,"recipe":{"mixes":[{"name":"grain","lines":[{"ingredient":"rye","amount":"40 g"}]}]},"container":{"bore_mm":80,"shape":%s}}`},
		{"substrate", "recipe.mixes.percent_of", `{"jars":1,"recipe":{"mixes":[{"name":"grain","percent_of":%s,"lines":[{"ingredient":"rye","amount":"40 g"}]}]}}`},
		{"solve", "for", `{"jars":1,"change":"water","for":%s,"target":50,"recipe":{"mixes":[{"name":"grain","lines":[{"ingredient":"rye","amount":"40 g"},{"ingredient":"water","amount":"40 g"}]}]}}`},
	} {
		words := enumOf(t, c.name, c.key)
		_, err := calculate(t, c.name, fmt.Sprintf(c.in, `"none of them"`))
		for _, w := range words {
			if err == nil || !strings.Contains(err.Error(), w) {
				t.Errorf("%s with an unknown %s: %v does not offer %s", c.name, c.key, err, w)
			}
			if c.key == "for" || c.key == "marks.event" {
				continue // what else is right depends on the word
			}
			if _, err := calculate(t, c.name, fmt.Sprintf(c.in, `"`+w+`"`)); err != nil && strings.Contains(err.Error(), w) {
				t.Errorf("%s does not take %s for %s: %v", c.name, w, c.key, err)
			}
		}
	}
}

func cookWith(more string) string {
	return `{"altitude_m":0,"gauge_psi":15,"come_up_min":20,"hold_min":60,"container":{"bore_mm":75,"fill_mm":80},"substrate":{"moisture_pct":90},` + more + `}`
}

// enumOf returns the fixed words of a key, of which there must be some.
func enumOf(t *testing.T, name, key string) []string {
	t.Helper()
	c, err := reckoner.Named(name)
	if err != nil {
		t.Fatal(err)
	}
	s, err := c.Schema()
	if err != nil {
		t.Fatal(err)
	}
	var words []string
	eachProperty(s, "", func(path string, p *jsonschema.Schema) {
		if p.Items != nil {
			p = p.Items
		}
		for _, w := range p.Enum {
			if path == key {
				words = append(words, w.(string))
			}
		}
	})
	if len(words) == 0 {
		t.Errorf("%s offers no words for %s", name, key)
	}
	return words
}

// Keys that the contract lets one leave out are not required, and the others are.
func TestRequiredKeysAreThoseThatMustBeThere(t *testing.T) {
	for name, want := range map[string]string{
		"steam": "", "lethality": "celsius times_min", "held": "hold_min marks", "cool": "readings room_c target_c", "yields": "arms", "compare": "",
		"power": "arms cv_pct jars_per_arm", "substrate": "jars recipe", "load": "cookers cycle_min day_min jars", "soak": "drained_g grain_g grain_moisture_pct",
		"hold": "altitude_m gauge_psi rule_gauge_psi rule_hold_min", "cook": "altitude_m come_up_min container cool gauge_psi hold_min substrate",
		"water": "gauge_psi hold_min load_kg room_c vent_min water_l", "calibrate": "chamber_c container core_c substrate times_min",
		"solve": "change for jars recipe target", "scale": "recipe", "audit": "claims recipe", "cheapest": "ingredients",
	} {
		c, err := reckoner.Named(name)
		if err != nil {
			t.Fatal(err)
		}
		s, err := c.Schema()
		if err != nil {
			t.Fatal(err)
		}
		slices.Sort(s.Required)
		if got := strings.Join(s.Required, " "); got != want {
			t.Errorf("%s requires %s, want %s", name, got, want)
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
