// Package lab holds the words of the trade and their rules: cultures,
// recipes, containers, batches, jars, cooks, trials and what was seen.
//
// Types here are plain values. A rule that concerns one noun is a method on
// it and returns a new value or a Problem; nothing here reads a clock, a
// file or a database. GLOSSARY.md says what each word means.
package lab

import (
	"strings"
	"time"
	"unicode"
	"unicode/utf8"

	"github.com/google/uuid"

	"pinset/internal/figure"
)

// Identifiers are UUIDv7 in text form, made where the record is made and
// never shown to a grower. The same identifier twice stores once.
type (
	CultureID       string
	IngredientID    string
	IngredientLotID string
	RecipeID        string
	RecipeVersionID string
	ContainerID     string
	BatchID         string
	JarID           string
	CookID          string
	TrialID         string
	AllotmentID     string
	AnalysisID      string
	ForecastID      string
	DeedID          string
	EntryID         string // a mark, an inoculation, a seen, a pick, a making, figures of an ingredient or a lot of it
)

// ParseID returns s as an identifier, or an Invalid Problem if it is not a UUID.
func ParseID[T ~string](s string) (T, error) {
	id, err := uuid.Parse(strings.TrimSpace(s))
	if err != nil {
		return "", Invalidf("id", "reload the page and enter it again", "%q is not an identifier that Pinset made", figure.Clip(s, 60))
	}
	return T(id.String()), nil
}

// Longest texts that are kept. Longer ones are refused, never cut.
const (
	maxName = 200   // runes of a name or mark
	maxText = 10000 // runes of a question or note
)

// Name returns s trimmed and with single spaces, or an Invalid Problem at
// field if nothing is left, if it is too long, or if it holds control
// characters.
func Name(field, s string) (string, error) {
	s = strings.Join(strings.Fields(s), " ")
	switch {
	case s == "":
		return "", Invalidf(field, "write a short name", "the %s has no name", field)
	case utf8.RuneCountInString(s) > maxName:
		return "", Invalidf(field, "shorten it", "the name of the %s has %d characters, %d are kept", field, utf8.RuneCountInString(s), maxName)
	case strings.ContainsFunc(s, unicode.IsControl):
		return "", Invalidf(field, "type it again without them", "the name of the %s holds characters that can not be printed", field)
	}
	return s, nil
}

// Text returns s trimmed, or an Invalid Problem at field if it is too long.
func Text(field, s string) (string, error) {
	s = strings.TrimSpace(s)
	if n := utf8.RuneCountInString(s); n > maxText {
		return "", Invalidf(field, "shorten it", "the %s has %d characters, %d are kept", field, n, maxText)
	}
	return s, nil
}

// NameKey returns what makes two names the same: case and runs of white
// space do not count.
func NameKey(s string) string {
	return strings.ToLower(strings.Join(strings.Fields(s), " "))
}

// Entry is what every dated entry carries.
type Entry struct {
	ID        EntryID
	Deed      DeedID    // the act of entry it was part of
	At        When      // when it happened
	Entered   time.Time // when it was entered, UTC
	By        string    // initials, "" if not said
	Corrects  EntryID   // the entry that this one replaces, "" if none
	Withdrawn bool      // with Corrects: nothing takes the place of the other
}

// Deed is one act of entry. It may touch many jars and is undone as a whole.
type Deed struct {
	ID      DeedID
	What    string // what was written, such as "B12·1–24 inoculated from LC-3"
	Entered time.Time
	By      string
	Batch   BatchID // "" if it concerns none or several
	Undoes  DeedID  // the deed that this one takes back, "" if none
}

// entry lets generic code reach what every dated entry carries.
func (e Entry) entry() Entry { return e }

// Current returns the entries that hold: those that no other one corrects,
// without those that only withdraw. The order is kept.
func Current[T interface{ entry() Entry }](entries []T) []T {
	corrected := make(map[EntryID]bool)
	for _, e := range entries {
		if c := e.entry().Corrects; c != "" {
			corrected[c] = true
		}
	}
	var out []T
	for _, e := range entries {
		if en := e.entry(); !corrected[en.ID] && !en.Withdrawn {
			out = append(out, e)
		}
	}
	return out
}
