package figure_test

import (
	"testing"

	"pinset/internal/figure"
)

func TestCount(t *testing.T) {
	for _, c := range []struct {
		n    int
		noun string
		want string
	}{{0, "jar", "0 jars"}, {1, "jar", "1 jar"}, {24, "jar", "24 jars"}, {1, "batch", "1 batch"}, {3, "batch", "3 batches"}, {2, "shelf", "2 shelves"}, {2, "loss", "2 losses"}, {7, "more", "7 more"}} {
		if got := figure.Counted(c.n, c.noun); got != c.want {
			t.Errorf("%d %s: %q, want %q", c.n, c.noun, got, c.want)
		}
	}
	for k, want := range map[int]string{0: "0 of 24 jars are", 1: "1 of 24 jars is", 3: "3 of 24 jars are"} {
		if got := figure.Of(k, 24, "jar", "is", "are"); got != want {
			t.Errorf("%q, want %q", got, want)
		}
	}
	if got := figure.Of(1, 1, "jar", "is", "are"); got != "1 of 1 jar is" {
		t.Errorf("%q", got)
	}
	if got := figure.Count(1, "jar is", "jars are"); got != "1 jar is" {
		t.Errorf("%q", got)
	}
	if got := figure.Count(2, "jar is", "jars are"); got != "2 jars are" {
		t.Errorf("%q", got)
	}
}
