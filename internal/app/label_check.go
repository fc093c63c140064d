package app

import (
	"context"
	"slices"
	"strconv"
	"strings"

	"pinset/internal/lab"
	"pinset/internal/store"
)

// LabelCheck says which labels of a batch were found when they were scanned.
type LabelCheck struct {
	Batch    lab.Batch
	Of       int   // jars, blanks among them
	Found    []int // ascending
	Missing  []int
	Says     string // what the last scan was, "" if nothing was scanned
	Stranger bool   // the last scan is no jar of this batch
}

// Whole reports whether every label was found.
func (c LabelCheck) Whole() bool { return len(c.Missing) == 0 }

// CheckLabels adds one scan to the labels of a batch that were found before.
// found is their numbers as a span writes them: "1–12, 15"; scanned is what a
// camera, a hand scanner or a person gives: the address on a label, a code,
// or a number. Nothing is written. A scan of something else is no error.
func (f *Farm) CheckLabels(ctx context.Context, batch, found, scanned string) (LabelCheck, error) {
	var c LabelCheck
	err := f.store.Read(ctx, func(r store.Reader) error {
		b, rows, err := batchJars(ctx, r, batch, "")
		if err != nil {
			return err
		}
		c = LabelCheck{Batch: b, Of: len(rows)}
		have := make(map[int]bool)
		if strings.TrimSpace(found) != "" {
			span, err := lab.ParseSpan(b.String() + "·" + found)
			if err != nil {
				return atField("have", err)
			}
			for _, n := range span.Numbers {
				have[n] = true
			}
		}
		if strings.TrimSpace(scanned) != "" {
			f.checkOne(ctx, r, &c, rows, have, scanned)
		}
		for _, j := range rows {
			if have[j.Number] {
				c.Found = append(c.Found, j.Number)
			} else {
				c.Missing = append(c.Missing, j.Number)
			}
		}
		return nil
	})
	return c, err
}

// checkOne looks up one scan and says what it was.
func (f *Farm) checkOne(ctx context.Context, r store.Reader, c *LabelCheck, rows []store.JarRow, have map[int]bool, scanned string) {
	number, err := strconv.Atoi(strings.TrimSpace(scanned))
	if _, isCode := lab.ParseCode(scanned); err != nil || isCode == nil { // 62238 is a code
		if _, name, ok := lab.LabelOf(scanned); ok {
			scanned = name
		}
		jars, err := findJars(ctx, r, []string{scanned})
		if err != nil {
			c.Stranger, c.Says = true, err.Error()
			return
		}
		if jars[0].Batch != c.Batch.ID {
			c.Stranger = true
			if names, _, err := nameJars(ctx, r, jars); err == nil {
				c.Says = names[0] + " does not belong here: it is of another batch"
			}
			return
		}
		number = jars[0].Number
	}
	switch {
	case !slices.ContainsFunc(rows, func(j store.JarRow) bool { return j.Number == number }):
		c.Stranger, c.Says = true, c.Batch.String()+" has no jar "+strconv.Itoa(number)
	case have[number]:
		c.Says = "jar " + strconv.Itoa(number) + " was found before"
	default:
		have[number] = true
		c.Says = "jar " + strconv.Itoa(number) + " found"
	}
}
