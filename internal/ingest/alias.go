package ingest

import (
	"maps"
	"slices"
	"strings"

	"pinset/internal/figure"
	"pinset/internal/lab"
)

// Aliases say which of HeadingsOf a grower's own heading stands for, by
// HeadingKey. They go before the words of the heading.
type Aliases map[string]string

// Jars is the noun of sheets with one row for each jar, which ReadJars reads.
const Jars = "jars"

// HeadingsOf returns what a column of a sheet of noun can be told to be, in
// the order of pages.
func HeadingsOf(noun string) []string {
	if noun == Jars {
		return jarHeadings
	}
	var out []string
	for _, f := range recordFields[noun] {
		first, _, _ := strings.Cut(f.words, ";")
		out = append(out, first)
	}
	return out
}

var jarHeadings = []string{
	"jar", "mark", "code", "batch", "arm", "recipe", "culture", "amount", "container", "cook", "layer", "shelf", "making", "filled", "inoculated",
	"first growth", "full cover", "% covered", "light", "colour", "pins", "ready",
	"weight", "flush 1 weight", "flush 2 weight", "flush 3 weight", "date picked", "flush 1 date", "flush 2 date", "flush 3 date", "flush",
	"dry substrate", "lost", "reason", "fate", "blank", "note",
}

// HeadingKey is a heading as it is remembered: case and spaces do not count.
func HeadingKey(text string) string {
	return figure.Clip(strings.ToLower(strings.Join(strings.Fields(text), " ")), 120)
}

// Remembered returns what was said before of headings, without what means
// nothing in a sheet of noun.
func Remembered(noun string, said map[string]string) Aliases {
	out := make(Aliases, len(said))
	for heading, word := range said {
		if slices.Contains(HeadingsOf(noun), word) {
			out[HeadingKey(heading)] = word
		}
	}
	return out
}

// ParseAliases reads pairs of a heading and what it stands for in a sheet of
// noun. A blank word leaves the heading to its own words. It returns an
// Invalid Problem for a word that is none of HeadingsOf.
func ParseAliases(noun string, pairs map[string]string) (Aliases, error) {
	out := make(Aliases)
	for _, heading := range slices.Sorted(maps.Keys(pairs)) {
		key, word := HeadingKey(heading), strings.ToLower(strings.Join(strings.Fields(pairs[heading]), " "))
		switch {
		case key == "":
			return nil, lab.Invalidf("as", "write the heading of the sheet before it", "%q has no heading", clip(pairs[heading]))
		case word != "" && !slices.Contains(HeadingsOf(noun), word):
			return nil, lab.Invalidf("as", "choose one of "+strings.Join(HeadingsOf(noun), ", "), "%q is nothing that a column of %s can be", clip(word), noun)
		}
		out[key] = word
	}
	return out, nil
}

// read returns what the column headed by text holds: what it was told to be,
// else what its words say. The unit in the heading counts either way.
func (a Aliases) read(text string) column {
	word := a[HeadingKey(text)]
	own := readHeader(text)
	if word == "" {
		return own
	}
	c := readHeader(word)
	c.header, c.as = own.header, word
	c.slashes, c.dots = own.slashes, own.dots
	if h := takeApart(text); h.unit != "" && c.means != isNote {
		c.takeUnit(h.unit)
	}
	return c
}
