package app

import (
	"context"
	"fmt"
	"strconv"
	"strings"
	"time"

	"pinset/internal/calc/thermal"
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
		deed, err := f.deed(a, "", "%s: record of the %s, %d readings", c, rec.Place, len(rec.Readings))
		if err != nil {
			return err
		}
		if fresh, err := w.AddDeed(ctx, deed); err != nil || !fresh {
			return err
		}
		rec.Entry, rec.Cook = entryOf(deed, lab.At(rec.Readings[0].At)), c.ID
		return w.AddCookRecords(ctx, []lab.CookRecord{rec})
	})
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

// RecordView is a record with what it is worth.
type RecordView struct {
	lab.CookRecord `json:"-"`

	Lay      string           `json:"place"` // where the logger lay
	Name     string           `json:"file"`
	F0       string           `json:"f0_min"` // two digits, "" if it can not be said
	PeakC    float64          `json:"peak_c"`
	Cautions []figure.Caution `json:"cautions"`
}

// addRecords integrates the lethality of each record exactly, straight lines
// between its readings.
func (c cookFacts) addRecords(out *CookCore) error {
	for _, r := range c.records {
		v := RecordView{CookRecord: r, Lay: r.Place, Name: r.File, Cautions: []figure.Caution{}}
		in := thermal.LethalityInput{}
		for _, x := range r.Readings {
			in.TimesMin = append(in.TimesMin, x.At.Sub(r.Readings[0].At).Minutes())
			in.Celsius = append(in.Celsius, x.Celsius)
		}
		answer, err := thermal.Lethality(in)
		if err != nil {
			return fmt.Errorf("record %s of %s: %w", r.File, c.cook, err)
		}
		v.F0, v.PeakC, v.Cautions = twoDigits(answer.Result.FMin), answer.Result.PeakC, answer.Cautions
		out.Records = append(out.Records, v)
	}
	return nil
}
