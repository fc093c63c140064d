package picture

import "testing"

// A page has 60 kB in all: a shelf of 100 jars must leave room for the rest.
func TestShelfIsLight(t *testing.T) {
	if n := len(shelf(50).Draw(358).SVG("a")); n > 48_000 {
		t.Errorf("100 jars have %d bytes", n)
	}
}
