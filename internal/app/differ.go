package app

import (
	"context"
	"fmt"
	"slices"

	"pinset/internal/lab"
	"pinset/internal/store"
)

// AnswerInput says which of two entries that differ holds.
type AnswerInput struct {
	Jar           string // its code, or batch and number
	First, Second lab.EntryID
	Holds         lab.EntryID // First or Second; "" if both do
}

// differencesOf returns what two people wrote on a jar and can hardly both
// hold.
func differencesOf(ctx context.Context, r store.Reader, j store.JarRow) ([]lab.Difference, error) {
	if !j.Differs {
		return nil, nil
	}
	e, err := entriesOf(ctx, r, []lab.JarID{j.Jar.ID})
	return lab.Differences(e.seen, e.picks), err
}

// Answer settles a difference: the entry that does not hold is taken back on
// this jar alone, by one that names it. If both hold, the second is written
// again by one that names it, and is not asked about any more.
func (f *Farm) Answer(ctx context.Context, a Act, in AnswerInput) (Done, error) {
	var done Done
	err := f.store.Write(ctx, func(w store.Writer) error {
		if a.ID != "" {
			if d, err := w.Deed(ctx, a.ID); err == nil {
				done = Done{Deed: d.ID, What: d.What, Repeat: true}
				return nil
			}
		}
		rows, err := findJars(ctx, w, []string{in.Jar})
		if err != nil {
			return err
		}
		all, err := differencesOf(ctx, w, rows[0])
		if err != nil {
			return err
		}
		i := slices.IndexFunc(all, func(d lab.Difference) bool { return d.First.ID == in.First && d.Second.ID == in.Second })
		if i < 0 {
			return lab.Conflictf("look at the page of the jar", "this was answered already, or taken back")
		}
		done, err = f.answer(ctx, w, a, rows, all[i], in.Holds)
		return err
	})
	return done, err
}

func (f *Farm) answer(ctx context.Context, w store.Writer, a Act, rows []store.JarRow, d lab.Difference, holds lab.EntryID) (Done, error) {
	gone, what := d.Second, "both hold, "+whose(d.First, d.Says[0])+" and "+whose(d.Second, d.Says[1])
	switch holds {
	case "":
	case d.First.ID:
		what = whose(d.First, d.Says[0]) + " holds, not " + whose(d.Second, d.Says[1])
	case d.Second.ID:
		gone, what = d.First, whose(d.Second, d.Says[1])+" holds, not "+whose(d.First, d.Says[0])
	default:
		return Done{}, lab.Invalidf("holds", "choose one of the two, or both", "that is neither of the two")
	}
	names, all, err := nameJars(ctx, w, rows)
	if err != nil {
		return Done{}, err
	}
	deed, err := f.deed(a, commonBatch(rows), "%s: %s", all, what)
	if err != nil {
		return Done{}, err
	}
	done := Done{Deed: deed.ID, What: deed.What, Jars: names}
	if _, err := w.AddDeed(ctx, deed); err != nil {
		return done, err
	}
	named := entryOf(deed, gone.At)
	named.Corrects, named.Withdrawn = gone.ID, holds != ""
	if err := settle(ctx, w, rows[0].Jar.ID, named); err != nil {
		return done, err
	}
	return done, restand(ctx, w, idsOf(rows))
}

// settle adds the seen or the pick that entry e corrects once more, as e.
func settle(ctx context.Context, w store.Writer, jar lab.JarID, e lab.Entry) error {
	all, err := entriesOf(ctx, w, []lab.JarID{jar})
	if err != nil {
		return err
	}
	for _, s := range all.seen {
		if s.ID == e.Corrects {
			s.Entry = e
			return w.AddSeen(ctx, []lab.Seen{s})
		}
	}
	for _, p := range all.picks {
		if p.ID == e.Corrects {
			p.Entry = e
			return w.AddPicks(ctx, []lab.Pick{p})
		}
	}
	return fmt.Errorf("settle: entry %s is none of jar %s", e.Corrects, jar)
}

// whose says who wrote something: "MO’s clean".
func whose(e lab.Entry, says string) string {
	if e.By == "" {
		return "the unsigned " + says
	}
	return e.By + "’s " + says
}

// mostAsked bounds the differences that Today asks about.
const mostAsked = 10

// differTasks asks about jars on which two people wrote what can hardly both
// hold.
func (f *Farm) differTasks(ctx context.Context, r store.Reader, t *Today) error {
	rows, err := r.Jars(ctx, store.JarFilter{Differs: true, Limit: mostAsked})
	if err != nil {
		return err
	}
	for _, j := range rows {
		all, err := differencesOf(ctx, r, j)
		if err != nil || len(all) == 0 {
			return err
		}
		_, name, err := nameJars(ctx, r, []store.JarRow{j})
		if err != nil {
			return err
		}
		d := all[0]
		t.Due = append(t.Due, Task{
			What: "Which holds on " + name + "?", Why: whose(d.First, d.Says[0]) + " and " + whose(d.Second, d.Says[1]) + " can hardly both; both are kept",
			Kind: "jar", Name: string(j.Code), Doing: "answer", Jars: name, Count: 1, Shelf: j.Shelf,
		})
	}
	return nil
}

// takeBackSeen returns what takes back the entries mine of a deed. An entry
// that named another one puts that back; one that was named since is taken
// back in its newest form.
func takeBackSeen(d lab.Deed, mine, all []lab.Seen) []lab.Seen {
	return takeBack(d, mine, all, func(s *lab.Seen) *lab.Entry { return &s.Entry })
}

func takeBackPicks(d lab.Deed, mine, all []lab.Pick) []lab.Pick {
	return takeBack(d, mine, all, func(p *lab.Pick) *lab.Entry { return &p.Entry })
}

func takeBack[T any](d lab.Deed, mine, all []T, entry func(*T) *lab.Entry) []T {
	byID, after := make(map[lab.EntryID]T), make(map[lab.EntryID]T)
	for _, x := range all {
		e := entry(&x)
		byID[e.ID] = x
		if e.Corrects != "" {
			after[e.Corrects] = x
		}
	}
	var out []T
	for _, m := range mine {
		if was, ok := byID[entry(&m).Corrects]; ok {
			e := entryOf(d, entry(&was).At)
			e.By, e.Corrects = entry(&was).By, entry(&m).ID
			*entry(&was) = e
			out = append(out, was)
			continue
		}
		for next, ok := after[entry(&m).ID]; ok; next, ok = after[entry(&m).ID] {
			m = next
		}
		if !entry(&m).Withdrawn {
			*entry(&m) = withdrawal(d, *entry(&m))
			out = append(out, m)
		}
	}
	return out
}
