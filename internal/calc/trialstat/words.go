package trialstat

import (
	"fmt"
	"math"
	"strconv"
	"strings"
	"unicode"

	"pinset/internal/figure"
)

// maxName is how much of a name a sentence shows.
const maxName = 40

// brief shortens a name for a sentence and takes out what would break a line.
func brief(name string) string {
	runes := []rune(strings.Map(func(r rune) rune {
		if unicode.IsControl(r) {
			return ' '
		}
		return r
	}, name))
	if len(runes) > maxName {
		return string(runes[:maxName-1]) + "…"
	}
	return string(runes)
}

func short(names []string) []string {
	out := make([]string, len(names))
	for i, n := range names {
		out[i] = brief(n)
	}
	return out
}

// listed joins words: "a", "a and b", "a, b and c".
func listed(words []string) string {
	if len(words) < 2 {
		return strings.Join(words, "")
	}
	return strings.Join(words[:len(words)-1], ", ") + " and " + words[len(words)-1]
}

// someOf is listed, but of no more than three words.
func someOf(words []string) string {
	if len(words) > 3 {
		words = append(append([]string(nil), words[:3]...), whole(len(words)-3)+" more")
	}
	return listed(words)
}

func whole(n int) string { return strconv.Itoa(n) }

// jars returns "1 jar", "2 jars".
func jars(n int) string { return figure.Count(n, "jar", "jars") }

// number writes x with so many decimals and a true minus sign; it never writes
// −0.
func number(x float64, decimals int) string {
	text := strconv.FormatFloat(math.Abs(x), 'f', decimals, 64)
	if x < 0 && strings.Trim(text, "0.") != "" {
		return "−" + text
	}
	return text
}

// decimalsFor returns how many decimals to print values with that lie this far
// apart: three digits of the distance, but tenths under a thousand, which is
// what scales show. If one of the values is not 0 but would
// be printed so, there are more, so that a sentence can not contradict its own
// figures.
func decimalsFor(apart float64, values ...float64) int {
	d := 0
	if apart > 0 {
		d = min(max(2-int(math.Floor(math.Log10(apart))), 0), 9)
		if apart < 1000 {
			d = max(d, 1)
		}
	}
	return clearOfZero(d, values...)
}

// clearOfZero raises decimals until no value but 0 is printed as 0.
func clearOfZero(decimals int, values ...float64) int {
	for _, v := range values {
		for v != 0 && decimals < 9 && strings.Trim(strconv.FormatFloat(v, 'f', decimals, 64), "-0.") == "" {
			decimals++
		}
	}
	return decimals
}

// span writes "2.3 to 45.2".
func span(low, high float64, decimals int) string {
	return number(low, decimals) + " to " + number(high, decimals)
}

// percent writes x in whole per cent, or finer where that would print 0.
func percent(x float64) string { return number(x, clearOfZero(0, x)) + " %" }

// percentSpan writes "2 to 48 %".
func percentSpan(low, high float64) string {
	return span(low, high, clearOfZero(0, low, high)) + " %"
}

// plain writes a number that was put in, as short as it can be.
func plain(x float64) string {
	return strings.Replace(strconv.FormatFloat(x, 'g', -1, 64), "-", "−", 1)
}

func rowField(i int, key string) string { return fmt.Sprintf("rows[%d].%s", i, key) }

// maybe returns a pointer to x if it is finite, else nil.
func maybe(x float64) *float64 {
	if math.IsNaN(x) || math.IsInf(x, 0) {
		return nil
	}
	return &x
}
