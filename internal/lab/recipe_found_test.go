package lab

import (
	"fmt"
	"strings"
	"testing"
)

func (f Found) brief() string {
	var out []string
	for _, l := range f.Lines {
		out = append(out, l.Amount+"|"+l.Ingredient)
	}
	for _, c := range f.Claims {
		out = append(out, fmt.Sprintf("%s=%g", c.Of, c.Value))
	}
	for _, u := range f.Unread {
		out = append(out, "?"+u)
	}
	return strings.Join(out, "; ")
}

// How growers write recipes down. Common practice, no source.
func TestParseFound(t *testing.T) {
	for text, want := range map[string]string{
		"2 cups oats, 1 tbsp gypsum, 60 % moisture":                    "2 cups|oats; 1 tbsp|gypsum; moisture_pct=60",
		"- 2 cups of oats\n- 1 tbsp of gypsum":                         "2 cups|oats; 1 tbsp|gypsum",
		"50 g rice, brown, 60 mL water":                                "50 g|rice, brown; 60 mL|water",
		"oats: 500 g\nwater = 1/2 L":                                   "500 g|oats; 1/2 L|water",
		"1,5 kg rye; 10 lb 11 oz millet":                               "1,5 kg|rye; 10 lb 11 oz|millet",
		"78 % sawdust, 20 % wheat bran, 1 % gypsum, 1 % sugar, C:N 70": "78 %|sawdust; 20 %|wheat bran; 1 %|gypsum; 1 %|sugar; cn=70",
		"5 parts sawdust\n1 part bran\nmoisture: 62,5 %":               "5 parts|sawdust; 1 part|bran; moisture_pct=62.5",
		"2 large eggs\nC/N of 30:1\n1.2 mL per g":                      "2 large|eggs; cn=30; ml_per_g=1.2",
		"pH 6.5, about 60% moisture":                                   "ph=6.5; moisture_pct=60",
		"The best jars ever!\n50 g oats":                               "50 g|oats; ?The best jars ever!",
		"a pinch of salt":                                              "?a pinch of salt",
		"1. 50 g oats\n2) 60 g water":                                  "50 g|oats; 60 g|water",
		"nitrogen 1.4 % of dry matter":                                 "n_pct_of_dry=1.4",
		"":                                                             "",
	} {
		f, err := ParseFound(text)
		if err != nil {
			t.Errorf("ParseFound(%q): %v", text, err)
		} else if got := f.brief(); got != want {
			t.Errorf("ParseFound(%q)\n  = %s\nwant %s", text, got, want)
		}
	}
}

func TestParseFoundRefuses(t *testing.T) {
	for name, text := range map[string]string{
		"10 000 lines":         strings.Repeat("5 g oats\n", 10000),
		"10 000 lines of talk": strings.Repeat("what a day\n", 10000),
		"more than a megabyte": strings.Repeat("x", 1<<20+1),
	} {
		if _, err := ParseFound(text); !IsKind(err, Invalid) {
			t.Errorf("%s: %v, want a Problem", name, err)
		}
	}
}

// Nothing is lost, whatever is pasted: every letter stands in a line, a claim
// or what was not read.
func FuzzParseFound(f *testing.F) {
	for _, s := range []string{"2 cups oats, 60 % moisture", "rice, brown: 1 lb\n\npH 6", "½ tsp; ,, 1:1.2", "- 12) 3 g", "30:1 c:n", "=5 g", "x =-5 g"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, text string) {
		got, err := ParseFound(text)
		if err != nil {
			if p, ok := AsProblem(err); !ok || p.Mend == "" {
				t.Fatalf("%v can not be mended", err)
			}
			return
		}
		for _, l := range got.Lines {
			if l.Ingredient == "" || l.Amount == "" {
				t.Fatalf("%q gives the line %+v", text, l)
			}
		}
		words := strings.ContainsFunc(text, func(r rune) bool { return r >= 'a' && r <= 'z' })
		if words && len(got.Lines)+len(got.Claims)+len(got.Unread) == 0 {
			t.Fatalf("all of %q is lost", text)
		}
	})
}

func BenchmarkParseFound(b *testing.B) {
	text := strings.Repeat("2 1/2 cups brown rice, 1 tbsp gypsum, 60 g water\n", 60) + "60 % moisture\n"
	b.SetBytes(int64(len(text)))
	for b.Loop() {
		if _, err := ParseFound(text); err != nil {
			b.Fatal(err)
		}
	}
}
