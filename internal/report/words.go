package report

import (
	"fmt"
	"math"
	"strconv"
	"strings"
	"unicode/utf8"

	"pinset/internal/figure"
	"pinset/internal/units"
)

// fieldsKeeping parts text at spaces, but keeps a number with its unit.
func fieldsKeeping(text string) []string {
	var out []string
	for _, w := range strings.Fields(text) {
		if n := len(out); n > 0 && isUnit(w) && endsInDigit(out[n-1]) {
			out[n-1] += " " + w
			continue
		}
		out = append(out, w)
	}
	return out
}

func isUnit(w string) bool {
	switch strings.TrimRight(w, ".,;:)") {
	case "g", "kg", "mg", "mL", "L", "mm", "%", "°C", "°F", "oz", "lb", "min", "h", "jars", "jar":
		return true
	}
	return false
}

func endsInDigit(w string) bool {
	return w != "" && w[len(w)-1] >= '0' && w[len(w)-1] <= '9'
}

// grams prints a mass to what a scale of that step shows.
func grams(g, step units.Gram) string {
	decimals := 0
	switch {
	case step < 0.0095:
		decimals = 3
	case step < 0.095:
		decimals = 2
	case step < 0.95:
		decimals = 1
	}
	return strconv.FormatFloat(float64(g), 'f', decimals, 64) + " g"
}

// mass prints what is to be weighed: to the step of the scale, or in pounds
// and ounces.
func (o Options) mass(g, step units.Gram) string {
	if o.Units != US {
		return grams(g, step)
	}
	const ounce = 453.59237 / 16 // g; NIST SP 811 (2008), B.8
	oz := float64(g) / ounce
	if oz < 16 {
		return strconv.FormatFloat(oz, 'f', 2, 64) + " oz"
	}
	hundredths := math.Round(oz * 100)
	lb, rest := math.Floor(hundredths/1600), math.Mod(hundredths, 1600)/100
	return fmt.Sprintf("%.0f lb %.2f oz", lb, rest)
}

// volume prints a volume: fluid ounces to a hundredth, which measuring cups
// and syringes show, or quarts and those.
func (o Options) volume(v units.Millilitre) string {
	if o.Units != US {
		return v.String()
	}
	const fluidOunce = 29.5735295625 // mL; NIST SP 811 (2008), B.8
	oz := float64(v) / fluidOunce
	if oz < 32 {
		return strconv.FormatFloat(oz, 'f', 2, 64) + " fl oz"
	}
	tenths := math.Round(oz * 10)
	qt, rest := math.Floor(tenths/320), math.Mod(tenths, 320)/10
	return fmt.Sprintf("%.0f qt %.1f fl oz", qt, rest)
}

// amount prints what goes into a vessel: as typed, and converted where that
// is of the other units.
func (o Options) amount(typed string) string {
	q, err := units.Parse(typed)
	if err != nil || o.Units != US {
		return typed
	}
	switch q.Dim {
	case units.Mass:
		if strings.Contains("oz lb", q.Unit) {
			return typed
		}
		return o.mass(units.Gram(q.Value), 1)
	case units.Volume:
		switch q.Unit {
		case "cup", "tbsp", "tsp", "fl oz", "pt", "qt", "gal":
			return typed
		}
		return o.volume(units.Millilitre(q.Value))
	}
	return typed
}

func count(n int, noun string) string { return figure.Counted(n, noun) }

func capital(s string) string {
	first, size := utf8.DecodeRuneInString(s)
	return strings.ToUpper(string(first)) + s[size:]
}

// known prints a figure, or says that it is not known.
func known(x *float64, decimals int, unit string) string {
	if x == nil {
		return "not known"
	}
	text := strconv.FormatFloat(*x, 'f', decimals, 64)
	if strings.Trim(text, "-0.") == "" {
		text = strings.TrimPrefix(text, "-")
	}
	return strings.TrimSpace(strings.Replace(text, "-", "−", 1) + " " + unit)
}

// Chance prints a chance under pure luck; what rounds to nothing is still one.
func Chance(x *float64) string {
	if x != nil && *x < 0.001 {
		return "below 0.001"
	}
	return known(x, 3, "")
}
