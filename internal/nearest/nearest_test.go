package nearest

import "testing"

func TestEdits(t *testing.T) {
	for _, c := range []struct {
		a, b string
		want int
	}{
		{"", "", 0}, {"", "abc", 3}, {"kitten", "sitting", 3}, {"gauge_psi", "guage_psi", 2}, {"Öl", "Ol", 1},
	} {
		if got := Edits(c.a, c.b); got != c.want {
			t.Errorf("Edits(%q, %q) = %d, want %d", c.a, c.b, got, c.want)
		}
		if back := Edits(c.b, c.a); back != c.want {
			t.Errorf("Edits(%q, %q) = %d, want %d as the other way round", c.b, c.a, back, c.want)
		}
	}
}

func TestWord(t *testing.T) {
	known := []string{"altitude_m", "gauge_psi", "gauge_kpa"}
	for _, c := range []struct {
		word, want string
		ok         bool
	}{
		{"gauge_pis", "gauge_psi", true}, {"altitude", "altitude_m", true}, {"GAUGE_PSI", "gauge_psi", true}, {"colour", "", false},
	} {
		if got, ok := Word(c.word, known); got != c.want || ok != c.ok {
			t.Errorf("Word(%q) = %q, %v, want %q, %v", c.word, got, ok, c.want, c.ok)
		}
	}
}
