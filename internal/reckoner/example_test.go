package reckoner

import (
	"strings"
	"testing"
)

// Each key of an example is one that its calculator knows.
func TestUsualKeysAreKnown(t *testing.T) {
	for _, c := range calculators {
		usual, err := c.Usual()
		if err != nil {
			t.Errorf("%s: %v", c.Name, err)
		}
		schema, err := c.Schema()
		if err != nil {
			t.Fatal(err)
		}
		for key := range usual {
			top, _, _ := strings.Cut(key, ".")
			if schema.Properties[top] == nil {
				t.Errorf("the example of %s has %s, which it does not take", c.Name, key)
			}
		}
	}
	cook, err := Named("cook")
	if err != nil {
		t.Fatal(err)
	}
	if usual, err := cook.Usual(); err != nil || !usual["gauge_psi"] || !usual["container.bore_mm"] || usual["air_fraction"] {
		t.Errorf("of a cook usual is %v, %v", usual, err)
	}
}
