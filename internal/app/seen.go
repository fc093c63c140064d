package app

import (
	"context"
	"fmt"
	"strconv"
	"strings"
	"time"

	"pinset/internal/figure"
	"pinset/internal/lab"
	"pinset/internal/store"
	"pinset/internal/units"
)

// SeeInput is what was seen on one jar or many, as typed.
type SeeInput struct {
	Jars   string // a span: "B12·13–24", or codes
	Stage  string
	Sign   string
	Fate   string
	Reason string // why it is lost
	Count  string // of pins or aborts, "" if not counted
	Cover  string // per cent of the surface, "" if not read
	Note   string
	At     string // as lab.ParseWhen reads it
}

// See logs one thing seen on all jars of a span.
func (f *Farm) See(ctx context.Context, a Act, in SeeInput) (Done, error) {
	span, err := lab.ParseSpan(in.Jars)
	if err != nil {
		return Done{}, err
	}
	count, err := readCount(in.Count)
	if err != nil {
		return Done{}, err
	}
	covered, err := readCover(in.Cover)
	if err != nil {
		return Done{}, err
	}
	what, err := lab.Seen{
		Stage: lab.Stage(in.Stage), Sign: lab.Sign(in.Sign), Fate: lab.Fate(in.Fate),
		Reason: in.Reason, Count: count, Covered: covered, Note: in.Note,
	}.Check()
	if err != nil {
		return Done{}, err
	}
	var batch lab.BatchID
	done, err := f.onJars(ctx, a, span, in.At, what.About(), func(w store.Writer, d lab.Deed, at lab.When, rows []store.JarRow) error {
		batch = d.Batch
		farm, err := readSettings(ctx, w)
		if err != nil {
			return err
		}
		seen := make([]lab.Seen, len(rows))
		for i, j := range rows {
			if err := seenFits(j, what, at, farm.Zone); err != nil {
				return err
			}
			seen[i] = what
			seen[i].Entry, seen[i].Jar = entryOf(d, at), j.Jar.ID
		}
		return w.AddSeen(ctx, seen)
	})
	if err != nil || what.Stage == "" {
		return done, err
	}
	return done, f.keepForecasts(ctx, batch)
}

// readCount reads a count as typed; "" is 0, not counted.
func readCount(typed string) (int, error) {
	typed = strings.TrimSpace(typed)
	if typed == "" {
		return 0, nil
	}
	n, err := strconv.Atoi(typed)
	if err != nil || n < 1 {
		return 0, lab.Invalidf("count", "write a whole number, or leave it blank", "%q is no count", figure.Clip(typed, 20))
	}
	return n, nil
}

// readCover reads a cover as typed, "40" or "40 %"; "" is 0, not read.
func readCover(typed string) (int, error) {
	typed = strings.TrimSpace(strings.TrimSuffix(strings.TrimSpace(typed), "%"))
	if typed == "" {
		return 0, nil
	}
	n, err := strconv.Atoi(typed)
	if err != nil || n < 1 || n > 100 {
		return 0, lab.Invalidf("cover", "write per cent of the surface, 1 to 100", "%q is no cover", figure.Clip(typed, 20))
	}
	return n, nil
}

// seenFits refuses what can not have been seen on j: a stage on a jar that
// carries nothing, or before it was inoculated.
func seenFits(j store.JarRow, s lab.Seen, at lab.When, zone *time.Location) error {
	grows := s.Stage != "" || s.Fate == lab.Growing || s.Fate == lab.Barren || s.Fate == lab.Spent
	switch {
	case !grows:
		return nil
	case j.Blank:
		return lab.Conflictf("leave the blanks out, or log the sign clean, green or another on them", "jar %d is a blank: it can not show %s", j.Number, s.About())
	case j.Inoculated.IsZero():
		return lab.Conflictf("log the inoculation first", "jar %d is not inoculated: it can not show %s", j.Number, s.About())
	case at.Before(j.Inoculated, zone):
		return lab.Conflictf("check both times", "jar %d can not show %s on %s, before it was inoculated on %s", j.Number, s.About(), at.Show(zone), j.Inoculated.Show(zone))
	}
	return nil
}

// onJars runs one act on all jars of a span and derives their standings anew.
func (f *Farm) onJars(ctx context.Context, a Act, span lab.Span, typedAt, about string, act func(store.Writer, lab.Deed, lab.When, []store.JarRow) error) (Done, error) {
	var done Done
	err := f.store.Write(ctx, func(w store.Writer) error {
		at, err := f.when(ctx, w, "at", typedAt)
		if err != nil {
			return err
		}
		rows, err := jarsOf(ctx, w, span)
		if err != nil {
			return err
		}
		names, all, err := nameJars(ctx, w, rows)
		if err != nil {
			return err
		}
		deed, err := f.deed(a, commonBatch(rows), "%s: %s", all, about)
		if err != nil {
			return err
		}
		done = Done{Deed: deed.ID, What: deed.What, Jars: names}
		fresh, err := w.AddDeed(ctx, deed)
		if err != nil || !fresh {
			done.Repeat = !fresh
			return err
		}
		if err := act(w, deed, at, rows); err != nil {
			return err
		}
		return restand(ctx, w, idsOf(rows))
	})
	return done, err
}

// PickInput is what was weighed, jar by jar, as typed.
type PickInput struct {
	Picks []TypedPick
	Flush int // 0 is 1
	At    string
}

// TypedPick is one weight as typed. A bare number is grams; a blank one is
// left out.
type TypedPick struct {
	Jar   string // "B12·13" or a code
	Grams string
}

// PickJars keeps the weights of one flush, all or none.
func (f *Farm) PickJars(ctx context.Context, a Act, in PickInput) (Done, error) {
	if in.Flush == 0 {
		in.Flush = 1
	}
	var done Done
	err := f.store.Write(ctx, func(w store.Writer) error {
		at, err := f.when(ctx, w, "at", in.At)
		if err != nil {
			return err
		}
		picks, rows, err := f.readPicks(ctx, w, in)
		if err != nil {
			return err
		}
		names, all, err := nameJars(ctx, w, rows)
		if err != nil {
			return err
		}
		total := units.Gram(0)
		for _, p := range picks {
			total += p.Grams
		}
		deed, err := f.deed(a, commonBatch(rows), "%s: picked %s, flush %d", all, total, in.Flush)
		if err != nil {
			return err
		}
		done = Done{Deed: deed.ID, What: deed.What, Jars: names}
		fresh, err := w.AddDeed(ctx, deed)
		if err != nil || !fresh {
			done.Repeat = !fresh
			return err
		}
		for i := range picks {
			picks[i].Entry = entryOf(deed, at)
		}
		if err := w.AddPicks(ctx, picks); err != nil {
			return err
		}
		return restand(ctx, w, idsOf(rows))
	})
	return done, err
}

// readPicks finds the jar of each weight and checks it.
func (f *Farm) readPicks(ctx context.Context, r store.Reader, in PickInput) ([]lab.Pick, []store.JarRow, error) {
	var weighed []TypedPick
	var names []string
	for _, t := range in.Picks {
		if strings.TrimSpace(t.Grams) != "" {
			weighed, names = append(weighed, t), append(names, t.Jar)
		}
	}
	if len(weighed) == 0 {
		return nil, nil, lab.Invalidf("picks", "write at least one weight in grams", "nothing was weighed")
	}
	rows, err := findJars(ctx, r, names)
	if err != nil {
		return nil, nil, err
	}
	picks := make([]lab.Pick, len(rows))
	taken := make(map[lab.JarID]bool)
	for i, j := range rows {
		if taken[j.Jar.ID] {
			return nil, nil, lab.Invalidf("picks", "add the two weights up, or log the other as the next flush", "%s is weighed twice", names[i])
		}
		taken[j.Jar.ID] = true
		if picks[i], err = readPick(j, weighed[i], in.Flush); err != nil {
			return nil, nil, err
		}
	}
	return picks, rows, nil
}

func readPick(j store.JarRow, t TypedPick, flush int) (lab.Pick, error) {
	field := "g" + fmt.Sprint(j.Number)
	q, err := units.ParseIn(t.Grams, "g")
	if err != nil {
		return lab.Pick{}, atField(field, err)
	}
	switch {
	case j.Blank:
		return lab.Pick{}, lab.Conflictf("check the number on the label", "jar %d is a blank: nothing can be picked from it", j.Number)
	case j.Inoculated.IsZero():
		return lab.Pick{}, lab.Conflictf("log the inoculation first", "jar %d is not inoculated: nothing can be picked from it", j.Number)
	}
	p, err := lab.Pick{Jar: j.Jar.ID, Flush: flush, Grams: units.Gram(q.Value), Typed: t.Grams}.Check()
	return p, atField(field, err)
}
