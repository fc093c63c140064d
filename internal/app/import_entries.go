package app

import (
	"context"

	"pinset/internal/lab"
	"pinset/internal/store"
)

// past is what is entered on the jars of a batch already.
type past struct {
	inoculations map[lab.JarID][]lab.Inoculation
	seen         map[lab.JarID][]lab.Seen
	picks        map[lab.JarID][]lab.Pick
}

func pastEntries(ctx context.Context, r store.Reader, rows []store.JarRow) (past, error) {
	e, err := entriesOf(ctx, r, idsOf(rows))
	return past{
		groupBy(lab.Current(e.inoculations), func(i lab.Inoculation) lab.JarID { return i.Jar }),
		groupBy(lab.Current(e.seen), func(s lab.Seen) lab.JarID { return s.Jar }),
		groupBy(lab.Current(e.picks), func(p lab.Pick) lab.JarID { return p.Jar }),
	}, err
}

// entries gathers what row says of j: new entries, corrections of those that
// differ, and nothing for those that are there already.
func (im *importing) entries(ctx context.Context, w store.Writer, j lab.Jar, row SheetRow, p past) error {
	if err := im.inoculation(ctx, w, j, row, p.inoculations[j.ID]); err != nil {
		return err
	}
	for _, s := range sheetSeen(row, j) {
		im.seen(s, p.seen[j.ID])
	}
	for _, x := range row.Picks {
		pick := lab.Pick{Jar: j.ID, Flush: x.Flush, Grams: x.Grams, Typed: x.Typed}
		pick.At = im.whenOf(x.At)
		if _, err := pick.Check(); err != nil {
			if err = im.refuse(row, "pick", x.Typed, err); err != nil {
				return err
			}
			continue
		}
		im.pick(pick, p.picks[j.ID])
	}
	return nil
}

// whenOf returns w, or that the time is not known.
func (im *importing) whenOf(w lab.When) lab.When {
	if w.IsZero() {
		return lab.Sometime(im.deed.Entered)
	}
	return w
}

// same reports whether two times of a sheet say the same. Unknown times do.
func same(a, b lab.When) bool {
	if a.Exactness == lab.Unknown && b.Exactness == lab.Unknown {
		return true
	}
	return a.Exactness == b.Exactness && a.Time.Equal(b.Time)
}

// stamp makes e an entry of this import that corrects old, "" if none.
func (im *importing) stamp(at lab.When, old lab.EntryID) lab.Entry {
	e := entryOf(im.deed, at)
	e.Corrects = old
	if old != "" {
		im.report.Mended++
	} else {
		im.report.Entries++
	}
	return e
}

// inoculation takes in that j was inoculated. A jar that grew, was picked or
// is lost was, even if the sheet leaves out when.
func (im *importing) inoculation(ctx context.Context, w store.Writer, j lab.Jar, row SheetRow, before []lab.Inoculation) error {
	implied := len(row.Stages) > 0 || len(row.Picks) > 0 || row.Barren || row.Spent || row.Lost || !row.Inoculated.IsZero() || row.Arm != ""
	if j.Blank || !implied {
		return nil
	}
	culture, err := im.carried(ctx, w, j, row)
	if err != nil {
		return err
	}
	at := im.whenOf(row.Inoculated)
	in := lab.Inoculation{Jar: j.ID, Culture: culture, Means: lab.ByLC, Amount: row.Amount}
	var corrects lab.EntryID
	if len(before) > 0 {
		old := before[0]
		if same(old.At, at) && old.Culture == culture && old.Amount == row.Amount {
			im.report.Same++
			return nil
		}
		corrects = old.ID
	}
	in.Entry = im.stamp(at, corrects)
	im.new.Inoculations = append(im.new.Inoculations, in)
	return nil
}

// carried returns the culture that j got; one that the sheet does not name is
// kept as such.
func (im *importing) carried(ctx context.Context, w store.Writer, j lab.Jar, row SheetRow) (lab.CultureID, error) {
	name := row.Culture
	if name == "" && j.Culture != "" {
		return j.Culture, nil
	}
	if name == "" {
		name = "not said"
	}
	return named(im.cultures, name, func() (lab.CultureID, error) { return im.culture(ctx, w, name) })
}

// sheetSeen returns what row says was seen on j.
func sheetSeen(row SheetRow, j lab.Jar) []lab.Seen {
	var out []lab.Seen
	for _, s := range row.Stages {
		out = append(out, lab.Seen{Entry: lab.Entry{At: s.At}, Stage: s.Stage})
	}
	switch {
	case row.Lost:
		out = append(out, lab.Seen{Entry: lab.Entry{At: row.LostAt}, Fate: lab.Lost, Reason: firstOf(row.Reason, "not said")})
	case row.Barren:
		out = append(out, lab.Seen{Fate: lab.Barren})
	case row.Spent:
		out = append(out, lab.Seen{Fate: lab.Spent})
	}
	if row.Note != "" {
		out = append(out, lab.Seen{Note: row.Note})
	}
	for i := range out {
		out[i].Jar = j.ID
	}
	return out
}

// seen takes in s unless it is there: a stage or a fate that is there with
// another time or reason is corrected.
func (im *importing) seen(s lab.Seen, before []lab.Seen) {
	s.At = im.whenOf(s.At)
	for _, old := range before {
		if old.Stage != s.Stage || (old.Fate != "") != (s.Fate != "") || s.Stage == "" && s.Fate == "" && old.Note != s.Note {
			continue
		}
		if same(old.At, s.At) && old.Fate == s.Fate && old.Reason == s.Reason && old.Note == s.Note {
			im.report.Same++
			return
		}
		s.Entry = im.stamp(s.At, old.ID)
		im.new.Seen = append(im.new.Seen, s)
		return
	}
	s.Entry = im.stamp(s.At, "")
	im.new.Seen = append(im.new.Seen, s)
}

// pick takes in p unless it is there: a flush that is there with another
// weight or time is corrected.
func (im *importing) pick(p lab.Pick, before []lab.Pick) {
	for _, old := range before {
		if old.Flush != p.Flush {
			continue
		}
		if old.Grams == p.Grams && same(old.At, p.At) {
			im.report.Same++
			return
		}
		p.Entry = im.stamp(p.At, old.ID)
		im.new.Picks = append(im.new.Picks, p)
		return
	}
	p.Entry = im.stamp(p.At, "")
	im.new.Picks = append(im.new.Picks, p)
}
