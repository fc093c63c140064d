package units

import (
	"slices"
	"strings"

	"pinset/internal/figure"
)

// unknownUnit names words and the units that come nearest.
func unknownUnit(words, whole string, want Dimension) error {
	low := strings.ToLower(key(words))
	if mend := unclear[low]; mend != "" {
		return figure.Faultf("", mend, "the unit “%s” of %s has no one size", clip(words), quote(whole))
	}
	if strings.HasPrefix(words, "-") || strings.HasPrefix(words, "±") {
		return figure.Faultf("", "write one number, such as "+example(want), "%s holds more than one number", quote(whole))
	}
	near := strings.Join(nearest(low, want), ", ")
	return figure.Faultf("", "write it in a unit that is known: "+near, "the unit “%s” of %s is not known", clip(words), quote(whole))
}

// nearest returns up to four units whose spelling is close to word, or else
// the first of the kind wanted.
func nearest(word string, want Dimension) []string {
	const most = 4
	if len(word) > 20 {
		word = word[:20]
	}
	type candidate struct {
		name string
		far  int
	}
	var close []candidate
	var first []string
	for _, u := range table {
		if want != "" && u.dim != want {
			continue
		}
		if len(first) < most {
			first = append(first, u.name)
		}
		far := 99
		for _, a := range u.aliases {
			far = min(far, distance(word, a))
		}
		if far <= max(1, len(word)/3) {
			close = append(close, candidate{u.name, far})
		}
	}
	if len(close) == 0 {
		return first
	}
	slices.SortStableFunc(close, func(a, b candidate) int { return a.far - b.far })
	var names []string
	for _, c := range close[:min(most, len(close))] {
		names = append(names, c.name)
	}
	return names
}

// distance counts the letters to change, add or drop to make a into b.
func distance(a, b string) int {
	row := make([]int, len(b)+1)
	for j := range row {
		row[j] = j
	}
	for i := range len(a) {
		diagonal := row[0]
		row[0] = i + 1
		for j := range len(b) {
			swap := diagonal
			if a[i] != b[j] {
				swap++
			}
			diagonal = row[j+1]
			row[j+1] = min(swap, row[j]+1, row[j+1]+1)
		}
	}
	return row[len(b)]
}
