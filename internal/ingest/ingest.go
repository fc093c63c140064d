// Package ingest reads files that growers already have and turns them into
// what the use cases take in: so far their own sheets of jars as CSV.
//
// Reading is pure: bytes in, rows out, nothing stored. Nothing vanishes on
// the way: every row of a file is read, or refused with what is wrong and
// what to do, or passed over with a caution; and a column whose heading is
// not understood goes to the note of its jar. A doubt is asked about or
// said, never settled by a guess.
package ingest

import (
	"time"

	"pinset/internal/figure"
	"pinset/internal/lab"
)

// What is read at most. Real sheets stay far below; the bounds keep a wrong
// file from filling the memory.
const (
	maxBytes   = 64 << 20  // of a file
	maxField   = 10_000    // bytes of one cell
	maxRows    = 1_000_000 // of a file, blank ones counted
	maxColumns = 500
)

// Options say how to read what a file itself leaves open.
type Options struct {
	// DayFirst says how 3/4/2026 is read: true is 3 April. Nil refuses such
	// days, unless another row of the column shows which comes first.
	DayFirst *bool
	Headings Aliases        // of headings whose own words do not say what they hold
	Zone     *time.Location // of times without a zone; nil is UTC
	Now      time.Time      // days more than one day later are refused; the zero time refuses none
}

func (o Options) zone() *time.Location {
	if o.Zone == nil {
		return time.UTC
	}
	return o.Zone
}

// unknown is a time that is not known, entered now.
func (o Options) unknown() lab.When { return lab.Sometime(o.Now) }

// fault is what is wrong with one cell or row, and what to do.
type fault struct{ what, mend string }

// clip cuts s for a message.
func clip(s string) string { return figure.Clip(s, 40) }
