package lab

import (
	"slices"
	"strings"
	"testing"
)

func TestParseCodeForgives(t *testing.T) {
	for typed, want := range map[string]Code{
		"K73QF": "K73QF", " k73qf ": "K73QF", "k73-qf": "K73QF", "K7 3QF": "K73QF", "B5SZ2": "85522",
	} {
		if got, err := ParseCode(typed); err != nil || got != want {
			t.Errorf("ParseCode(%q) = %q, %v, want %q", typed, got, err, want)
		}
	}
	for _, typed := range []string{"", "K73Q", "K73QFF", "K73Q0", "K7OQF", "K73Q!", "Ж73QF", strings.Repeat("K", 1000)} {
		if got, err := ParseCode(typed); !IsKind(err, Invalid) {
			t.Errorf("ParseCode(%q) = %q, %v, want an Invalid Problem", typed, got, err)
		}
	}
}

// No two characters that are mistaken for each other on a wet label.
func TestCodeAlphabetHasNoLookAlikes(t *testing.T) {
	for _, pair := range []string{"0O", "0Q", "1I", "1L", "8B", "5S", "2Z", "O0", "IL"} {
		if strings.ContainsRune(CodeAlphabet, rune(pair[0])) && strings.ContainsRune(CodeAlphabet, rune(pair[1])) {
			t.Errorf("the alphabet holds both of %q", pair)
		}
	}
	if n := len(CodeAlphabet); CodeCount != n*n*n*n*n {
		t.Errorf("CodeCount = %d, the alphabet has %d characters", CodeCount, n)
	}
}

func TestCodeOfIsOneToOne(t *testing.T) {
	seen := make(map[Code]uint64)
	for n := uint64(0); n < CodeCount; n += 7919 {
		c := CodeOf(n)
		if back, err := ParseCode(string(c)); err != nil || back != c {
			t.Fatalf("CodeOf(%d) = %q can not be read back: %q, %v", n, c, back, err)
		}
		if m, ok := seen[c]; ok {
			t.Fatalf("codes %d and %d are both %q", m, n, c)
		}
		seen[c] = n
	}
}

func TestParseSpan(t *testing.T) {
	for typed, want := range map[string]string{
		"B12·13–24":          "B12·13–24",
		"b12.13-15,20":       "B12·13–15, 20",
		"B12:3":              "B12·3",
		"B12/1 to 3":         "B12·1–3",
		"B12":                "B12",
		"B12·5,4,3,3":        "B12·3–5",
		"Spring rye·1–2":     "Spring rye·1–2",
		"K73QF":              "K73QF",
		"K73QF, M2XAC":       "K73QF, M2XAC",
		"K73QF\nM2XAC":       "K73QF, M2XAC",
		" B7 · 1 – 3 ; 9":    "B7·1–3, 9",
		"B7·J13–J24":         "B7·13–24",
		"B7·jars 1 to 3, #5": "B7·1–3, 5",
		"B7·j 2, Jar 4":      "B7·2, 4",
	} {
		got, err := ParseSpan(typed)
		if err != nil || !strings.EqualFold(got.String(), want) {
			t.Errorf("ParseSpan(%q) = %q, %v, want %q", typed, got, err, want)
		}
	}
	for _, typed := range []string{"", "B12·", "B12·0", "B12·24–13", "B12·x", "B12·1–999999999", "no such thing", "B12·-3", "B12·J", "B12·jj3", "B12·J-3"} {
		if got, err := ParseSpan(typed); !IsKind(err, Invalid) {
			t.Errorf("ParseSpan(%q) = %q, %v, want an Invalid Problem", typed, got, err)
		}
	}
}

func FuzzParseSpan(f *testing.F) {
	for _, s := range []string{"B12·13–24", "B12·1,3,5-7", "K73QF M2XAC", "B12", "·", "B12·1-100001"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		span, err := ParseSpan(s)
		if err != nil {
			if !IsKind(err, Invalid) {
				t.Fatalf("ParseSpan(%q): %v is no Invalid Problem", s, err)
			}
			return
		}
		if !slices.IsSorted(span.Numbers) || len(span.Numbers) > 2*maxSpan+1 && len(s) < 100 {
			t.Fatalf("ParseSpan(%q) numbers are not as said: %d", s, len(span.Numbers))
		}
		again, err := ParseSpan(span.String())
		if err != nil || again.String() != span.String() {
			t.Fatalf("ParseSpan(%q) prints as %q, which reads as %q, %v", s, span, again, err)
		}
	})
}

func FuzzParseCode(f *testing.F) {
	f.Add("K73QF")
	f.Add("b5 sz-2")
	f.Fuzz(func(t *testing.T, s string) {
		if c, err := ParseCode(s); err == nil {
			if again, err := ParseCode(string(c)); err != nil || again != c {
				t.Fatalf("ParseCode(%q) = %q, which reads as %q, %v", s, c, again, err)
			}
		}
	})
}
