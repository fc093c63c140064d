package figure_test

import (
	"encoding/json"
	"testing"

	"pinset/internal/figure"
)

func TestClip(t *testing.T) {
	for _, c := range []struct {
		in   string
		most int
		want string
	}{
		{"", 3, ""},
		{"jar", 3, "jar"},
		{"jars", 3, "jar…"},
		{"äöüß", 3, "äöü…"},
		{"jar", 0, "…"},
	} {
		if got := figure.Clip(c.in, c.most); got != c.want {
			t.Errorf("Clip(%q, %d) = %q, want %q", c.in, c.most, got, c.want)
		}
	}
}

func TestLabelIsTextOrNumber(t *testing.T) {
	for in, want := range map[string]figure.Label{`" B2 "`: "B2", `7`: "7", `1.50`: "1.50", `null`: "", `""`: ""} {
		l := figure.Label("before")
		if err := json.Unmarshal([]byte(in), &l); err != nil || l != want {
			t.Errorf("%s is read as %q, %v, want %q", in, l, err, want)
		}
	}
	var l figure.Label
	for _, in := range []string{`true`, `{}`, `[1]`} {
		if err := json.Unmarshal([]byte(in), &l); err == nil {
			t.Errorf("%s is read as %q, want an error", in, l)
		}
	}
}

func TestFaultSaysWhatToDo(t *testing.T) {
	f := figure.Fault{What: "the depth is 0 mm"}
	if got := f.Error(); got != "the depth is 0 mm" {
		t.Errorf("without a mend: %q", got)
	}
	f.Mend = "measure the cake"
	if got := f.Error(); got != "the depth is 0 mm; measure the cake" {
		t.Errorf("with a mend: %q", got)
	}
}
