package app

import (
	"context"

	"pinset/internal/lab"
	"pinset/internal/store"
)

// Undo takes back all that a deed entered. Nothing is erased: each entry is
// corrected by one that withdraws it. What made jars, batches or cooks is not
// undone, and neither is an entry that later ones rest on.
func (f *Farm) Undo(ctx context.Context, a Act, id lab.DeedID) (Done, error) {
	var done Done
	err := f.store.Write(ctx, func(w store.Writer) error {
		undone, err := w.Deed(ctx, id)
		if err != nil {
			return err
		}
		deed, err := f.deed(a, undone.Batch, "undone: %s", undone.What)
		if err != nil {
			return err
		}
		deed.Undoes = id
		done = Done{Deed: deed.ID, What: deed.What}
		if by, err := w.Undoing(ctx, id); err == nil {
			done.Deed, done.Repeat = by.ID, true
			return nil
		} else if !lab.IsKind(err, lab.NotFound) {
			return err
		}
		entries, err := w.DeedEntries(ctx, id)
		if err != nil {
			return err
		}
		if undone.Undoes != "" || isEmpty(entries) {
			return lab.Conflictf("enter what is right as a new entry", "%q can not be undone", undone.What)
		}
		if fresh, err := w.AddDeed(ctx, deed); err != nil || !fresh {
			done.Repeat = !fresh
			return err
		}
		return f.withdraw(ctx, w, deed, entries)
	})
	return done, err
}

func isEmpty(e store.Entries) bool {
	return len(e.Figures)+len(e.Lots)+len(e.Lids)+len(e.Keepings)+len(e.Makings)+len(e.Marks)+len(e.Cookers)+len(e.Steps)+len(e.Records)+len(e.Calibrations)+len(e.Items)+len(e.Inoculations)+len(e.Seen)+len(e.Picks)+len(e.Photos)+len(e.Guests) == 0
}

// withdrawal returns the entry that takes back e.
func withdrawal(d lab.Deed, e lab.Entry) lab.Entry {
	w := entryOf(d, e.At)
	w.Corrects, w.Withdrawn = e.ID, true
	return w
}

func (f *Farm) withdraw(ctx context.Context, w store.Writer, d lab.Deed, e store.Entries) error {
	var touched []lab.JarID
	for i := range e.Figures {
		e.Figures[i].Entry = withdrawal(d, e.Figures[i].Entry)
	}
	for i := range e.Lots {
		e.Lots[i].Entry = withdrawal(d, e.Lots[i].Entry)
	}
	for i := range e.Keepings {
		e.Keepings[i].Entry = withdrawal(d, e.Keepings[i].Entry)
	}
	for i := range e.Makings {
		e.Makings[i].Entry = withdrawal(d, e.Makings[i].Entry)
	}
	for i := range e.Marks {
		e.Marks[i].Entry = withdrawal(d, e.Marks[i].Entry)
	}
	withdrawCooking(d, e)
	for i := range e.Inoculations {
		e.Inoculations[i].Entry = withdrawal(d, e.Inoculations[i].Entry)
		touched = append(touched, e.Inoculations[i].Jar)
	}
	for _, s := range e.Seen {
		touched = append(touched, s.Jar)
	}
	for _, p := range e.Picks {
		touched = append(touched, p.Jar)
	}
	on, err := entriesOf(ctx, w, touched)
	if err != nil {
		return err
	}
	e.Seen, e.Picks = takeBackSeen(d, e.Seen, on.seen), takeBackPicks(d, e.Picks, on.picks)
	photos, err := takenBack(ctx, w, d, e.Photos)
	if err != nil {
		return err
	}
	e.Photos = photos
	if e.Guests, err = takeBackGuests(ctx, w, d, e.Guests); err != nil {
		return err
	}
	if err := addEntries(ctx, w, e); err != nil {
		return err
	}
	if err := f.recheckCooks(ctx, w, e.Marks); err != nil {
		return err
	}
	if len(touched) == 0 {
		return nil
	}
	if err := restand(ctx, w, touched); err != nil {
		return err
	}
	return recheckJars(ctx, w, touched)
}

// withdrawCooking withdraws what was entered about cookers and around holds.
func withdrawCooking(d lab.Deed, e store.Entries) {
	for i := range e.Cookers {
		e.Cookers[i].Entry = withdrawal(d, e.Cookers[i].Entry)
	}
	for i := range e.Steps {
		e.Steps[i].Entry = withdrawal(d, e.Steps[i].Entry)
	}
	for i := range e.Records {
		e.Records[i].Entry = withdrawal(d, e.Records[i].Entry)
		e.Records[i].Readings, e.Records[i].Refused = nil, nil // the entry that it takes back keeps them
	}
	for i := range e.Calibrations {
		e.Calibrations[i].Entry = withdrawal(d, e.Calibrations[i].Entry)
	}
	for i := range e.Lids {
		e.Lids[i].Entry = withdrawal(d, e.Lids[i].Entry)
	}
	for i := range e.Items {
		e.Items[i].Entry = withdrawal(d, e.Items[i].Entry)
	}
}

func addEntries(ctx context.Context, w store.Writer, e store.Entries) error {
	if err := w.AddIngredientFigures(ctx, e.Figures); err != nil {
		return err
	}
	if err := w.AddIngredientLots(ctx, e.Lots); err != nil {
		return err
	}
	if err := w.AddContainerLids(ctx, e.Lids); err != nil {
		return err
	}
	if err := w.AddKeepings(ctx, e.Keepings); err != nil {
		return err
	}
	if err := w.AddMakings(ctx, e.Makings); err != nil {
		return err
	}
	if err := w.AddCookMarks(ctx, e.Marks); err != nil {
		return err
	}
	if err := w.AddCookers(ctx, e.Cookers); err != nil {
		return err
	}
	if err := w.AddCookSteps(ctx, e.Steps); err != nil {
		return err
	}
	if err := w.AddCookRecords(ctx, e.Records); err != nil {
		return err
	}
	if err := w.AddCalibrations(ctx, e.Calibrations); err != nil {
		return err
	}
	if err := w.AddCookItems(ctx, e.Items); err != nil {
		return err
	}
	if err := w.AddInoculations(ctx, e.Inoculations); err != nil {
		return err
	}
	if err := w.AddSeen(ctx, e.Seen); err != nil {
		return err
	}
	if err := w.AddPicks(ctx, e.Picks); err != nil {
		return err
	}
	if err := w.AddGuests(ctx, e.Guests); err != nil {
		return err
	}
	return w.AddPhotos(ctx, e.Photos)
}

// recheckCooks refuses to leave a cook with marks that contradict each other.
func (f *Farm) recheckCooks(ctx context.Context, r store.Reader, marks []lab.CookMark) error {
	for _, m := range marks {
		c, err := r.Cook(ctx, m.Cook)
		if err != nil {
			return err
		}
		all, err := r.CookMarks(ctx, c.ID)
		if err != nil {
			return err
		}
		if _, err := standCook(c, all, f.now()); err != nil {
			return lab.Conflictf("undo the later marks first", "later marks of %s rest on this one", c)
		}
	}
	return nil
}

// recheckJars refuses to leave a jar that shows growth without carrying anything.
func recheckJars(ctx context.Context, r store.Reader, ids []lab.JarID) error {
	rows, err := r.Jars(ctx, store.JarFilter{IDs: ids})
	if err != nil {
		return err
	}
	for _, j := range rows {
		if j.Inoculated.IsZero() && (j.Stage != "" || j.Picks > 0) {
			return lab.Conflictf("undo what was seen and picked since, the newest first", "jar %d was seen or picked since it was inoculated", j.Number)
		}
	}
	return nil
}

// Deeds returns the last acts of entry, newest first, of one batch or of all
// if batch is "".
func (f *Farm) Deeds(ctx context.Context, batch string, limit int) ([]lab.Deed, error) {
	if limit < 1 || limit > 1000 {
		return nil, lab.Invalidf("limit", "ask for 1 to 1000", "%d acts can not be listed", limit)
	}
	var deeds []lab.Deed
	err := f.store.Read(ctx, func(r store.Reader) error {
		var id lab.BatchID
		if batch != "" {
			b, err := r.BatchByName(ctx, batch)
			if err != nil {
				return err
			}
			id = b.ID
		}
		var err error
		deeds, err = r.Deeds(ctx, id, limit)
		return err
	})
	return deeds, err
}
