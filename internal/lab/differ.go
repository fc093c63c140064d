package lab

import (
	"slices"
	"time"
)

// Difference is two entries of different people on one jar, on the same day,
// that can hardly both hold. Both are kept; somebody has to say.
type Difference struct {
	Jar           JarID
	First, Second Entry     // in the order that they were entered
	Says          [2]string // what each wrote, in a few words
	Weighed       bool      // they are two weights of one flush
}

// aRound is the time within which two people who look at one jar see the
// same. Own choice: half a day.
const aRound = 12 * time.Hour

// looks are signs that two people can not both see on one surface at the
// same time, and so on: one group a row.
var looks = [][]Sign{
	{"clean", "green", "grey fluff", "black dots", "orange powder", "slime"},
	{"drops", "dry"},
}

// Differences finds what different people entered on one jar and can hardly
// both hold, in the order that it was entered. An entry that names another one
// is an answer already, and is not asked about.
func Differences(seen []Seen, picks []Pick) []Difference {
	var out []Difference
	seen, picks = Current(seen), Current(picks)
	for i, a := range seen {
		for _, b := range seen[i+1:] {
			if differ(a.Entry, b.Entry) && contradicts(a, b) {
				out = append(out, difference(a.Jar, a.Entry, b.Entry, a.About(), b.About()))
			}
		}
		for _, p := range picks {
			if a.Fate == Barren && p.Grams > 0 && differ(a.Entry, p.Entry) {
				out = append(out, difference(a.Jar, a.Entry, p.Entry, a.About(), "picked "+p.Grams.String()))
			}
		}
	}
	for i, a := range picks {
		for _, b := range picks[i+1:] {
			if a.Flush == b.Flush && differ(a.Entry, b.Entry) {
				d := difference(a.Jar, a.Entry, b.Entry, "picked "+a.Grams.String(), "picked "+b.Grams.String())
				d.Weighed = true
				out = append(out, d)
			}
		}
	}
	slices.SortStableFunc(out, func(a, b Difference) int { return a.Second.Entered.Compare(b.Second.Entered) })
	return out
}

func difference(jar JarID, a, b Entry, saysA, saysB string) Difference {
	if b.Entered.Before(a.Entered) {
		a, b, saysA, saysB = b, a, saysB, saysA
	}
	return Difference{Jar: jar, First: a, Second: b, Says: [2]string{saysA, saysB}}
}

// differ reports whether two people speak of the same day.
func differ(a, b Entry) bool {
	if a.By == b.By || a.Corrects != "" || b.Corrects != "" || a.At.Exactness == Unknown || b.At.Exactness == Unknown {
		return false
	}
	if a.At.Exactness == Exact && b.At.Exactness == Exact {
		return a.At.Time.Sub(b.At.Time).Abs() < aRound
	}
	return a.At.Time.UTC().Format(time.DateOnly) == b.At.Time.UTC().Format(time.DateOnly)
}

// contradicts reports whether two looks at one jar can hardly both be right.
func contradicts(a, b Seen) bool {
	if a.Fate != "" && b.Fate != "" && a.Fate != b.Fate {
		return true
	}
	return a.Sign != b.Sign && slices.ContainsFunc(looks, func(group []Sign) bool {
		return slices.Contains(group, a.Sign) && slices.Contains(group, b.Sign)
	})
}
