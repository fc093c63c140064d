package web

import (
	"math"
	"regexp"
	"strconv"
	"strings"
	"testing"
)

// TestContrast reads the colours from the sheet and holds every pair in use,
// in every theme, to the contrast that WCAG 2.2 asks for (1.4.3: 4.5 for
// text; 1.4.11: 3 for borders of controls, drawn marks and the focus ring).
func TestContrast(t *testing.T) {
	css, err := staticFiles.ReadFile("static/css/01-tokens.css")
	if err != nil {
		t.Fatal(err)
	}
	themes := readThemes(t, string(css))
	const words, drawn = 4.5, 3
	for _, pair := range []struct {
		ink, ground string
		least       float64
	}{
		{"ink", "bg", words},
		{"ink", "surface", words},
		{"ink", "sunken", words},
		{"ink", "due-soft", words},
		{"ink", "stop-soft", words},
		{"ink", "go-soft", words},
		{"soft", "bg", words},
		{"soft", "surface", words},
		{"soft", "sunken", words},
		{"soft", "go-soft", words},
		{"link", "bg", words},
		{"link", "surface", words},
		{"link", "sunken", words},
		{"on-go", "go", words},
		{"due", "due-soft", words},
		{"due", "bg", words},
		{"stop", "stop-soft", words},
		{"stop", "bg", words},
		{"stop", "surface", words},
		{"edge", "bg", drawn},
		{"edge", "surface", drawn},
		{"edge", "sunken", drawn},
		{"due-mark", "bg", drawn},
		{"due-mark", "due-soft", drawn},
		{"focus", "bg", drawn},
		{"focus", "surface", drawn},
		{"focus", "sunken", drawn},
		{"glass", "surface", drawn},
		{"glass", "bg", drawn},
		{"crop", "surface", drawn},
		{"arm-a", "surface", drawn},
		{"arm-b", "surface", drawn},
		{"arm-c", "surface", drawn},
		{"arm-d", "surface", drawn},
		{"arm-e", "surface", drawn},
		{"arm-f", "surface", drawn},
		{"arm-a", "bg", drawn},
		{"arm-b", "bg", drawn},
		{"arm-c", "bg", drawn},
		{"arm-d", "bg", drawn},
		{"arm-e", "bg", drawn},
		{"arm-f", "bg", drawn},
	} {
		for name, theme := range themes {
			ink, ok1 := theme[pair.ink]
			ground, ok2 := theme[pair.ground]
			if !ok1 || !ok2 {
				t.Errorf("%s: --%s or --%s is not in the sheet", name, pair.ink, pair.ground)
				continue
			}
			if got := contrast(t, ink, ground); got < pair.least {
				t.Errorf("%s: --%s %s on --%s %s: contrast %.2f, want %.1f", name, pair.ink, ink, pair.ground, ground, got, pair.least)
			}
		}
	}
}

var (
	twoTone = regexp.MustCompile(`--([a-z-]+): light-dark\((#[0-9a-f]{6}), (#[0-9a-f]{6})\)`)
	oneTone = regexp.MustCompile(`--([a-z-]+): (#[0-9a-f]{6})`)
)

// readThemes returns the colours of each theme by the name of their token.
func readThemes(t *testing.T, css string) map[string]map[string]string {
	t.Helper()
	themes := map[string]map[string]string{"light": {}, "dark": {}, "dim": {}, "old": {}}
	for _, m := range twoTone.FindAllStringSubmatch(css, -1) {
		themes["light"][m[1]], themes["dark"][m[1]] = m[2], m[3]
	}
	_, rest, _ := strings.Cut(css, `[data-theme="dim"] {`)
	dim, rest, _ := strings.Cut(rest, "}")
	_, old, _ := strings.Cut(rest, "@supports not")
	for name, block := range map[string]string{"dim": dim, "old": old} {
		for _, m := range oneTone.FindAllStringSubmatch(block, -1) {
			themes[name][m[1]] = m[2]
		}
	}
	for token, want := range themes["light"] {
		if themes["old"][token] != want {
			t.Errorf("--%s is %q for old browsers, %q in the light theme", token, themes["old"][token], want)
		}
	}
	return themes
}

// contrast returns the contrast ratio of two colours. Source: WCAG 2.2,
// definitions of contrast ratio and relative luminance.
func contrast(t *testing.T, a, b string) float64 {
	t.Helper()
	x, y := luminance(t, a), luminance(t, b)
	return (max(x, y) + .05) / (min(x, y) + .05)
}

func luminance(t *testing.T, hex string) float64 {
	t.Helper()
	sum := 0.0
	for i, weight := range []float64{.2126, .7152, .0722} {
		n, err := strconv.ParseUint(hex[1+2*i:3+2*i], 16, 8)
		if err != nil {
			t.Fatal(err)
		}
		c := float64(n) / 255
		if c <= .04045 {
			c /= 12.92
		} else {
			c = math.Pow((c+.055)/1.055, 2.4)
		}
		sum += weight * c
	}
	return sum
}

// TestContrastFormula checks the formula against the two ends that WCAG 2.2
// names: black on white is 21, a colour on itself is 1.
func TestContrastFormula(t *testing.T) {
	if got := contrast(t, "#000000", "#ffffff"); math.Abs(got-21) > 1e-9 {
		t.Errorf("black on white: %v, want 21", got)
	}
	if got := contrast(t, "#2f7f71", "#2f7f71"); got != 1 {
		t.Errorf("a colour on itself: %v, want 1", got)
	}
}

// TestTargets holds the sizes of what is pressed.
func TestTargets(t *testing.T) {
	css, err := staticFiles.ReadFile("static/css/01-tokens.css")
	if err != nil {
		t.Fatal(err)
	}
	for token, least := range map[string]int{"tap": 44, "tap-big": 44, "tap-glove": 72} {
		m := regexp.MustCompile(`--` + token + `: (\d+)px`).FindSubmatch(css)
		if m == nil {
			t.Errorf("--%s is not in the sheet", token)
			continue
		}
		if n, _ := strconv.Atoi(string(m[1])); n < least {
			t.Errorf("--%s is %d px, want %d", token, n, least)
		}
	}
}
