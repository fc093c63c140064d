package web

import (
	"encoding/json"
	"fmt"
	"html/template"
	"math"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"

	"pinset/internal/figure"
	"pinset/internal/lab"
	"pinset/internal/units"
)

// templateFuncs are what templates may call besides methods of their data.
func templateFuncs(a *assets) template.FuncMap {
	return template.FuncMap{
		"asset":    a.path,
		"icon":     icon,
		"fix":      fix,
		"whole":    func(x float64) string { return fix(0, math.Floor(x)) },
		"upto":     func(minutes float64) string { return fix(0, math.Ceil(minutes-1.0/60)) }, // a hold must not shrink
		"sentence": sentence,
		"capital":  capital,
		"at":       at,
		"anchor":   anchor,
		"count":    count,
		"join":     strings.Join,
		"numbers":  lab.ShowNumbers,
		"arm":      armMark,
		"letter":   func(n int) string { return armLetter(n - 1) },
		"figure":   showFigure,
		"interval": interval,
		"tally":    tallyWords,
		"known":    known,
		"grams":    grams,
		"plus":     func(a, b int) int { return a + b },
	}
}

// fix prints x with the given decimals; the minus is a minus.
func fix(decimals int, x float64) string {
	if !(math.Abs(x) <= math.MaxFloat64) {
		return "unknown"
	}
	text := strconv.FormatFloat(x, 'f', decimals, 64)
	if strings.Trim(text, "-0.") == "" {
		text = strings.TrimPrefix(text, "-")
	}
	return strings.Replace(text, "-", "−", 1)
}

// sentence returns s with a capital and a full stop.
func sentence(s string) string {
	s = strings.TrimSpace(s)
	if s == "" {
		return ""
	}
	first, size := utf8.DecodeRuneInString(s)
	s = string(unicode.ToUpper(first)) + s[size:]
	if !strings.ContainsRune(".?!…:", lastRune(s)) {
		s += "."
	}
	return s
}

func lastRune(s string) rune {
	r, _ := utf8.DecodeLastRuneInString(s)
	return r
}

// count prints n with its noun: "1 jar", "24 jars".
func count(n int, noun string) string {
	return figure.Counted(n, noun)
}

// showFigure prints a figure of a working: numbers to four digits.
func showFigure(v any) string {
	switch x := v.(type) {
	case nil:
		return "not known"
	case string:
		return x
	case bool:
		if x {
			return "yes"
		}
		return "no"
	case float64:
		return significant(4, x)
	case *float64:
		if x == nil {
			return "not known"
		}
		return significant(4, *x)
	}
	if text, ok := showBand(v); ok {
		return text
	}
	return fmt.Sprint(v)
}

// showBand prints a figure with its ends, of whatever type, by the names they
// have in JSON: "1.03 (0.91 to 1.17)", or "0.8 to 1.6" where there is no middle.
func showBand(v any) (string, bool) {
	raw, err := json.Marshal(v)
	if err != nil {
		return "", false
	}
	var ends map[string]*float64
	if json.Unmarshal(raw, &ends) != nil {
		return "", false
	}
	low, hasLow := ends["low"]
	high, hasHigh := ends["high"]
	if !hasLow || !hasHigh {
		return "", false
	}
	text := showFigure(low) + " to " + showFigure(high)
	for _, middle := range []string{"value", "best"} {
		if x, ok := ends[middle]; ok {
			return showFigure(x) + " (" + text + ")", true
		}
	}
	return text, true
}

// interval cuts "1.03 (0.91 to 1.17)" into the figure and its interval, which
// stands below it; nil if the text is not of that kind.
func interval(text string) []string {
	figure, rest, ok := strings.Cut(text, " (")
	ends, closed := strings.CutSuffix(rest, ")")
	if !ok || !closed || !strings.Contains(ends, " to ") {
		return nil
	}
	return []string{figure, ends}
}

// significant prints x to so many digits, whole numbers whole.
func significant(digits int, x float64) string {
	if !(math.Abs(x) <= math.MaxFloat64) {
		return "not known"
	}
	a := math.Abs(x)
	switch {
	case a == 0:
		return "0"
	case a >= 1e9 || a < 1e-5:
		return scientific(x)
	}
	decimals := max(0, digits-1-int(math.Floor(math.Log10(a))))
	text := fix(decimals, x)
	if strings.Contains(text, ".") {
		text = strings.TrimRight(strings.TrimRight(text, "0"), ".")
	}
	return text
}

// scientific prints x as it is written by hand: "2.5 × 10⁻⁷".
func scientific(x float64) string {
	mantissa, exponent, _ := strings.Cut(strconv.FormatFloat(x, 'e', 2, 64), "e")
	n, _ := strconv.Atoi(exponent) // FormatFloat wrote it
	exponent = strings.NewReplacer("-", "⁻", "0", "⁰", "1", "¹", "2", "²", "3", "³", "4", "⁴", "5", "⁵", "6", "⁶", "7", "⁷", "8", "⁸", "9", "⁹").
		Replace(strconv.Itoa(n))
	return strings.Replace(mantissa, "-", "−", 1) + " × 10" + exponent
}

// capital returns s with a capital and no full stop, for headings.
func capital(s string) string { return strings.TrimSuffix(sentence(s), ".") }

// known prints x with the given decimals, or says that it is not known.
func known(decimals int, x *float64) string {
	if x == nil {
		return "not known"
	}
	return fix(decimals, *x)
}

// grams prints what is to be weighed, to a tenth of a gram.
func grams(g units.Gram) string { return fix(1, float64(g)) + " g" }
