package ingest

import (
	"regexp"
	"slices"
	"strings"
	"unicode"

	"pinset/internal/figure"
	"pinset/internal/lab"
)

// heading is the text of a heading taken apart.
type heading struct {
	words []string // after sameWord, without those passed, each once, sorted
	unit  string
	units bool // names units that differ
	date  bool // says that it holds a date
	days  bool // says day or days
	flush int  // the one number from 1 to 20 in it, 0 if none
}

// readHeader returns what a column headed by text holds. Case, punctuation
// and the order of words do not count. Text in brackets counts, unless the
// heading is known only without it.
func readHeader(text string) column {
	c := readHeading(takeApart(text))
	if c.means == forNote && c.whyNoted == "" {
		if outside, ok := withoutBrackets(text); ok {
			if o := readHeading(takeApart(outside)); !o.measured() {
				c = o
			}
		}
	}
	if c.slashes == orderOpen {
		c.slashes = statedOrder(text)
	}
	c.dots = c.slashes
	c.header = figure.Clip(strings.Join(strings.Fields(text), " "), 120)
	return c
}

// measured reports whether words in brackets could change what c holds.
func (c *column) measured() bool {
	return c.means == isWeight || c.means == isDry || c.means == isShare || c.means == isPick || c.means == isFlush
}

func readHeading(h heading) column {
	c := column{unit: h.unit, units: h.units, days: h.days}
	key := strings.Join(h.words, " ")
	if stage, ok := stageOf[key]; ok && h.unit == "" {
		c.means, c.stage = isStage, stage
		return c
	}
	c.means = headings[key]
	switch {
	case c.means == isCulture && volumeUnits[h.unit]:
		c.means = isAmount
	case c.means == isJar && volumeUnits[h.unit]:
		c.means = isContainer
	case key == "" && volumeUnits[h.unit]:
		c.means = isAmount
	case key == "" && h.unit != "":
		c.means = isWeight
	case key == "" && (h.date || h.days):
		c.means = isAnyDay
	case c.means == forNote && allIn(h.words, lossWords, besideLoss):
		c.means = isLost
	case c.means == forNote:
		readPickHeading(h, &c)
	}
	if (h.date || h.days) && c.means != forNote && !c.dated() {
		c.means, c.whyNoted = forNote, "it does not say the day of what"
	}
	if !c.unitFits() {
		c.means, c.whyNoted = forNote, "a column of this kind has no unit"
	}
	if slices.Contains(h.words, "dry") && c.means == forNote && c.unit != "" {
		c.whyNoted = "a dried weight is not a fresh one"
	}
	return c
}

// unitFits reports whether a column with this meaning may have its unit.
func (c *column) unitFits() bool {
	switch c.means {
	case forNote, isNote:
		return true
	case isWeight, isDry:
		return !volumeUnits[c.unit]
	case isAmount:
		return true
	case isContainer:
		return c.unit == "" || volumeUnits[c.unit]
	}
	return c.unit == "" && !c.units
}

// readPickHeading reads the headings of weights and of days of picking.
func readPickHeading(h heading, c *column) {
	words := slices.DeleteFunc(slices.Clone(h.words), func(w string) bool {
		n, ok := digits(w, 2)
		return ok && n == h.flush && n > 0
	})
	if !allIn(words, pickWords, besidePick) {
		if c.unit == "" || !slices.Equal(words, []string{"total"}) {
			return
		}
	}
	c.flush, c.total = h.flush, slices.Contains(words, "total")
	hasWeight := c.unit != "" || c.units || slices.ContainsFunc(words, func(w string) bool { return weightWords[w] })
	switch {
	case h.date && !hasWeight:
		c.means = isPickDay
	case h.date:
		c.means = forNote // "date weighed", "fresh date": of what is not said
	case hasWeight:
		c.means = isWeight
	case slices.Contains(words, "pick") || c.flush > 0:
		c.means = isPick
	default:
		c.means = isFlush
	}
}

// allIn reports whether all words are in one of the sets and at least one is
// in the first.
func allIn(words []string, needed, beside map[string]bool) bool {
	found := false
	for _, w := range words {
		if !needed[w] && !beside[w] {
			return false
		}
		found = found || needed[w]
	}
	return found
}

// takeApart returns the words of a heading.
func takeApart(text string) heading {
	var h heading
	raw := rawWords(text)
	for i := 0; i < len(raw); i++ {
		w := raw[i]
		next := ""
		if i+1 < len(raw) {
			next = raw[i+1]
		}
		switch {
		case (w == "yes" || w == "y") && (next == "no" || next == "n"), w == "per" && sameOr(next) == "jar":
			i++
			continue
		case w == "each" || passed[w]:
			continue
		}
		h.add(w)
	}
	slices.Sort(h.words)
	return h
}

func (h *heading) add(w string) {
	if u, ok := headerUnits[w]; ok {
		h.units = h.units || h.unit != "" && h.unit != u
		h.unit = u
		return
	}
	w = sameOr(w)
	switch w {
	case "date":
		h.date = true
		return
	case "day":
		h.days = true
		return
	}
	if n, ok := digits(w, 2); ok && n >= 1 && n <= 20 {
		if h.flush = n; slices.ContainsFunc(h.words, func(o string) bool { _, ok := digits(o, 2); return ok && o != w }) {
			h.flush = 0 // two numbers: which flush is not said
		}
	}
	if !slices.Contains(h.words, w) {
		h.words = append(h.words, w)
	}
}

func sameOr(w string) string {
	if s, ok := sameWord[w]; ok {
		return s
	}
	return w
}

// rawWords cuts a heading into words in lower case: at all that is no letter
// or digit, between a letter and a digit, and where a small letter meets a
// capital one. "#" and "%" are words.
func rawWords(text string) []string {
	const most = 200 // bytes; longer ones are no headings
	if len(text) > most {
		return []string{"-"}
	}
	var words []string
	for _, run := range strings.FieldsFunc(spaceSigns.Replace(perJar.ReplaceAllString(text, " per jar ")), func(r rune) bool {
		return !unicode.IsLetter(r) && !unicode.IsDigit(r) && !strings.ContainsRune("#%&º°", r)
	}) {
		low := strings.ToLower(run)
		if headerUnits[low] != "" || sameWord[low] != "" || passed[low] {
			words = append(words, low)
			continue
		}
		words = append(words, cutRun(run)...)
	}
	return words
}

var spaceSigns = strings.NewReplacer("#", " # ", "%", " % ", "&", " & ")

// perJar finds "mL/jar".
var perJar = regexp.MustCompile(`(?i)/\s*(jar|bag|bottle|tub)\b`)

// cutRun cuts "flush1", "1st" and "InocDate".
func cutRun(run string) []string {
	var words []string
	start := 0
	runes := []rune(run)
	for i := 1; i < len(runes); i++ {
		a, b := runes[i-1], runes[i]
		if unicode.IsDigit(a) != unicode.IsDigit(b) || unicode.IsLower(a) && unicode.IsUpper(b) {
			words = append(words, strings.ToLower(string(runes[start:i])))
			start = i
		}
	}
	return append(words, strings.ToLower(string(runes[start:])))
}

// withoutBrackets returns text without what stands in brackets, and whether
// there were any.
func withoutBrackets(text string) (string, bool) {
	var b strings.Builder
	deep, found := 0, false
	for _, r := range text {
		switch {
		case strings.ContainsRune("([{", r):
			deep, found = deep+1, true
		case strings.ContainsRune(")]}", r):
			deep = max(0, deep-1)
		case deep == 0:
			b.WriteRune(r)
		}
	}
	return b.String(), found
}

// statedOrder reads forms such as dd/mm/yyyy and m/d/y in a heading.
func statedOrder(text string) dayOrder {
	low := strings.ToLower(text)
	for i := 1; i+1 < len(low); i++ {
		if !strings.ContainsRune("/.-", rune(low[i])) {
			continue
		}
		switch a, b := low[i-1], low[i+1]; {
		case a == 'd' && b == 'm':
			return dayFirst
		case a == 'm' && b == 'd':
			return monthFirst
		}
	}
	return orderOpen
}

// phrases indexes headings by their sorted words.
func phrases(table map[meaning][]string) map[string]meaning {
	out := make(map[string]meaning)
	for m, all := range table {
		for _, p := range all {
			out[sortWords(p)] = m
		}
	}
	return out
}

func sortWords(phrase string) string {
	words := strings.Fields(phrase)
	slices.Sort(words)
	return strings.Join(slices.Compact(words), " ")
}

// stageOf is stageHeadings by their sorted words.
var stageOf = func() map[string]lab.Stage {
	out := make(map[string]lab.Stage)
	for stage, all := range stageHeadings {
		for _, p := range all {
			out[sortWords(p)] = stage
		}
	}
	return out
}()
