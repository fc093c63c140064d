package figure

import (
	"strconv"
	"strings"
)

// Count writes a number with what it counts: "1 jar", "24 jars", "0 jars".
func Count(n int, one, many string) string {
	if n == 1 {
		return "1 " + one
	}
	return strconv.Itoa(n) + " " + many
}

// Counted is Count for a noun with a usual plural: "1 batch", "3 batches".
func Counted(n int, noun string) string { return Count(n, noun, Many(noun)) }

// Many is the plural of a noun, as far as those of this trade go: jars, batches,
// shelves. "more" stays as it is.
func Many(noun string) string {
	if stem, ok := strings.CutSuffix(noun, "lf"); ok {
		return stem + "lves"
	}
	switch {
	case noun == "more":
		return noun
	case strings.HasSuffix(noun, "ch"), strings.HasSuffix(noun, "s"):
		return noun + "es"
	}
	return noun + "s"
}

// Of says of how many things something is true: "1 of 24 jars is", "3 of 24 jars
// are". One and many are the verb.
func Of(k, n int, noun, one, many string) string {
	verb := many
	if k == 1 {
		verb = one
	}
	return strconv.Itoa(k) + " of " + Counted(n, noun) + " " + verb
}
