package lab

import (
	"strconv"
	"strings"
)

// Batch is jars made together from one plan.
type Batch struct {
	ID      BatchID
	Number  int    // 12 is shown as B12; never reused
	Name    string // the grower's own, "" if none; unique
	Made    When   // the make day
	Closing Day    // after it, a jar with no fruit is barren; zero if not set
	Trial   TrialID
	Note    string
}

// String returns what pages call the batch: "B12".
func (b Batch) String() string { return BatchName(b.Number) }

// Title returns the batch with its own name: "B12 Spring rye".
func (b Batch) Title() string { return strings.TrimSpace(b.String() + " " + b.Name) }

// BatchName returns the name of batch n: "B12".
func BatchName(n int) string { return "B" + strconv.Itoa(n) }

// BatchNumber reads "B12" or "b12".
func BatchNumber(s string) (int, bool) {
	s = strings.TrimSpace(s)
	if len(s) < 2 || (s[0] != 'B' && s[0] != 'b') {
		return 0, false
	}
	n, err := strconv.Atoi(s[1:])
	return n, err == nil && n > 0 && n < 1e8
}
