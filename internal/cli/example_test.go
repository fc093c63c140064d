package cli

import (
	"encoding/json"
	"strings"
	"testing"

	"pinset/internal/reckoner"
)

// The help of every calculator shows an input that it can compute, within the
// width of the page.
func TestEveryCalculatorHasAnExample(t *testing.T) {
	for _, c := range reckoner.All() {
		example := c.Example()
		if example == "" {
			t.Errorf("the help of calc %s shows no example: add one to the examples of reckoner", c.Name)
			continue
		}
		if _, err := c.Calculate([]byte(example)); err != nil {
			t.Errorf("the example of calc %s: %v", c.Name, err)
		}
		for line := range strings.Lines(example) {
			if letters(strings.TrimRight(line, "\n")) > width-2 {
				t.Errorf("the example of calc %s has a line of %d columns: %s", c.Name, letters(line), line)
			}
		}
	}
}

// What a calculator gives can be read by people: every figure of the JSON is
// in the text, or said to be not known, and no line is too long.
func TestAnswersReadWell(t *testing.T) {
	for _, c := range reckoner.All() {
		if c.Example() == "" {
			continue // the test above says so
		}
		answer, err := c.Calculate([]byte(c.Example()))
		if err != nil {
			t.Fatal(err)
		}
		var b strings.Builder
		r := &run{House: House{Out: &b}}
		if err := r.printAnswer(answer, true); err != nil {
			t.Fatal(err)
		}
		for line := range strings.Lines(b.String()) {
			if n := letters(strings.TrimRight(line, "\n")); n > tableWidth {
				t.Errorf("calc %s prints a line of %d columns: %s", c.Name, n, line)
			}
		}
		for _, bad := range []string{"NaN", "Inf", "<nil>", "map["} {
			if strings.Contains(b.String(), bad) {
				t.Errorf("calc %s prints %q:\n%s", c.Name, bad, b.String())
			}
		}
		raw, err := json.Marshal(answer)
		if err != nil {
			t.Fatal(err)
		}
		var a struct{ Result map[string]any }
		if err := json.Unmarshal(raw, &a); err != nil {
			t.Fatal(err)
		}
		for key := range a.Result {
			if label, _ := reckoner.Label(key); key != "sentence" && !strings.Contains(strings.Join(strings.Fields(b.String()), " "), label) {
				t.Errorf("calc %s does not print %s (%s):\n%s", c.Name, key, label, b.String())
			}
		}
	}
}
