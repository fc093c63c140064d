package app

import (
	"context"
	"slices"
	"strconv"
	"strings"
	"time"

	"pinset/internal/figure"
	"pinset/internal/lab"
	"pinset/internal/store"
)

// NewCookRecord is a logger's file as it was read.
type NewCookRecord struct {
	Place    string // "chamber" or "core"
	File     string
	Original string
	Shift    string // minutes to add to the logger's clock, such as "60" or "-5"; "" is 0
	Readings []lab.Reading
	Refused  []lab.RefusedLine
}

// AddCookRecord keeps a logger's file with the cook called name.
func (f *Farm) AddCookRecord(ctx context.Context, a Act, name string, n NewCookRecord) (lab.CookRecord, error) {
	shift, err := parseShift(n.Shift)
	if err != nil {
		return lab.CookRecord{}, err
	}
	rec := lab.CookRecord{Place: n.Place, File: n.File, Original: n.Original, ShiftMin: shift, Refused: n.Refused}
	for _, x := range n.Readings {
		x.At = x.At.Add(time.Duration(shift * float64(time.Minute)))
		rec.Readings = append(rec.Readings, x)
	}
	if rec, err = rec.Check(); err != nil {
		return rec, err
	}
	return rec, f.store.Write(ctx, func(w store.Writer) error {
		c, err := w.CookByName(ctx, name)
		if err != nil {
			return err
		}
		deed, err := f.deed(a, "", "%s: record of the %s, %s", c, rec.Place, figure.Counted(len(rec.Readings), "reading"))
		if err != nil {
			return err
		}
		if fresh, err := w.AddDeed(ctx, deed); err != nil || !fresh {
			return err
		}
		if err := refuseTwin(ctx, w, c, rec); err != nil {
			return err
		}
		rec.Entry, rec.Cook = entryOf(deed, lab.At(rec.Readings[0].At)), c.ID
		return w.AddCookRecords(ctx, []lab.CookRecord{rec})
	})
}

// refuseTwin refuses readings that are in the cook already.
func refuseTwin(ctx context.Context, w store.Writer, c lab.Cook, rec lab.CookRecord) error {
	before, err := w.CookRecords(ctx, c.ID)
	if err != nil {
		return err
	}
	for _, b := range lab.Current(before) {
		if b.Place == rec.Place && slices.EqualFunc(b.Readings, rec.Readings, lab.Reading.Equal) {
			return lab.Conflictf("nothing is left to do; take the record back first if it is to be read otherwise", "these readings of the %s are in %s already, from %s", b.Place, c, b.File)
		}
	}
	return nil
}

func parseShift(typed string) (float64, error) {
	t := strings.TrimSpace(strings.TrimSuffix(strings.TrimSpace(strings.ReplaceAll(typed, "−", "-")), "min"))
	if t == "" {
		return 0, nil
	}
	v, err := strconv.ParseFloat(t, 64)
	if err != nil {
		return 0, lab.Invalidf("shift", "write the minutes that the logger's clock is behind, such as 60 or -5", "%q is not a number of minutes", typed)
	}
	return v, nil
}

// CookRecordText returns the file of a record as it came.
func (f *Farm) CookRecordText(ctx context.Context, id lab.EntryID) (text string, err error) {
	err = f.store.Read(ctx, func(r store.Reader) error { text, err = r.CookRecordText(ctx, id); return err })
	return text, err
}
