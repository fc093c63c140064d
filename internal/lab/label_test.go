package lab

import (
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// The characters that a QR symbol keeps in its alphanumeric mode.
// Source: ISO/IEC 18004, table of the alphanumeric mode.
const compact = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ $%*+-./:"

func TestLabelPathIsReadBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		kind := rapid.SampledFrom(LabelKinds).Draw(t, "kind")
		name := rapid.StringN(1, 30, -1).Draw(t, "name")
		path := LabelPath(kind, name)
		if strings.Trim(path, compact) != "" {
			t.Fatalf("LabelPath(%q) = %q, which has characters outside the compact mode", name, path)
		}
		for _, scanned := range []string{path, "/" + path, "HTTP://192.168.1.20:8470/" + path, "http://farm.example/" + strings.ToLower(path) + "/"} {
			k, n, ok := LabelOf(scanned)
			if !ok || k != kind || NameKey(n) != NameKey(name) {
				t.Fatalf("LabelOf(%q) = %q, %q, %v, want %q and the name %q", scanned, k, n, ok, kind, name)
			}
		}
	})
}

func TestLabelOf(t *testing.T) {
	for _, c := range []struct {
		scanned string
		kind    LabelKind
		name    string
		ok      bool
	}{
		{"HTTP://192.168.1.20:8470/J/K73QF", JarLabel, "K73QF", true},
		{"https://pinset.example/j/k73qf?x=1#y", JarLabel, "k73qf", true},
		{" J/K73QF\n", JarLabel, "K73QF", true},
		{"HTTP://[FD00::1]:8470/C/LC-3", CultureLabel, "LC-3", true},
		{"S/SHELF%201", ShelfLabel, "SHELF 1", true},
		{"K73QF", "", "", false},
		{"http://farm.example", "", "", false},
		{"http://farm.example/batches/B12", "", "", false},
		{"J/", "", "", false},
		{"J/A/B", "", "", false},
		{"J/%4", "", "", false},
		{"J/%ZZ", "", "", false},
		{"", "", "", false},
	} {
		kind, name, ok := LabelOf(c.scanned)
		if ok != c.ok || ok && (kind != c.kind || name != c.name) {
			t.Errorf("LabelOf(%q) = %q, %q, %v, want %q, %q, %v", c.scanned, kind, name, ok, c.kind, c.name, c.ok)
		}
	}
}

func FuzzLabelOf(f *testing.F) {
	for _, s := range []string{"HTTP://A/J/K73QF", "C/%C3%A9", "://", "J/%", "%/J/2"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		kind, name, ok := LabelOf(s)
		if !ok {
			return
		}
		k, n, again := LabelOf(LabelPath(kind, name))
		if !again || k != kind || !strings.EqualFold(n, name) && NameKey(n) != NameKey(name) {
			t.Errorf("%q is read as %q %q, whose own label reads as %q %q %v", s, kind, name, k, n, again)
		}
	})
}
