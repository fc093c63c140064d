package app

import (
	"context"
	"slices"
	"strings"

	"pinset/internal/lab"
	"pinset/internal/store"
)

// shelfLimit bounds the jars that the shelf page shows.
const shelfLimit = 1200

// ShelfView is one shelf and the jars that stand on it.
type ShelfView struct {
	Name string // "" for jars whose shelf was not said
	Rows []ShelfRow
}

// ShelfRow is the jars of one batch on one shelf.
type ShelfRow struct {
	Batch   lab.Batch
	Jars    []store.JarRow // by number
	Numbers string         // "1–12, 15"
}

// Shelf returns the jars that are still at work, by shelf and batch, and
// whether some were left out because there are too many.
func (f *Farm) Shelf(ctx context.Context) (shelves []ShelfView, cut bool, err error) {
	err = f.store.Read(ctx, func(r store.Reader) (err error) {
		shelves, cut, err = f.shelves(ctx, r)
		return err
	})
	return shelves, cut, err
}

func (f *Farm) shelves(ctx context.Context, r store.Reader) (shelves []ShelfView, cut bool, err error) {
	batches, err := r.Batches(ctx, 200)
	if err != nil {
		return nil, false, err
	}
	byID := make(map[lab.BatchID]lab.Batch, len(batches))
	for _, b := range batches {
		byID[b.ID] = b
	}
	rows, err := r.Jars(ctx, store.JarFilter{Open: true, Limit: shelfLimit + 1})
	if err != nil {
		return nil, false, err
	}
	if cut = len(rows) > shelfLimit; cut {
		rows = rows[:shelfLimit]
	}
	walk, err := r.Setting(ctx, settingWalk)
	if err != nil {
		return nil, false, err
	}
	shelves = f.layOut(rows, byID)
	inWalkingOrder(shelves, walk)
	return shelves, cut, nil
}

// layOut groups rows by shelf, then batch. Jars past their batch's closing
// day are done and left out.
func (f *Farm) layOut(rows []store.JarRow, batches map[lab.BatchID]lab.Batch) []ShelfView {
	var shelves []ShelfView
	for _, j := range rows {
		b := batches[j.Batch]
		if b.Closing.Passed(f.now()) {
			continue
		}
		i := slices.IndexFunc(shelves, func(s ShelfView) bool { return s.Name == j.Shelf })
		if i < 0 {
			i = len(shelves)
			shelves = append(shelves, ShelfView{Name: j.Shelf})
		}
		s := &shelves[i]
		if n := len(s.Rows); n == 0 || s.Rows[n-1].Batch.ID != b.ID {
			s.Rows = append(s.Rows, ShelfRow{Batch: b})
		}
		row := &s.Rows[len(s.Rows)-1]
		row.Jars = append(row.Jars, j)
	}
	for i := range shelves {
		for k := range shelves[i].Rows {
			row := &shelves[i].Rows[k]
			numbers := make([]int, len(row.Jars))
			for n, j := range row.Jars {
				numbers[n] = j.Number
			}
			row.Numbers = lab.ShowNumbers(numbers)
		}
	}
	return shelves
}

// Found is what a search led to.
type Found struct {
	Kind string `json:"kind"` // jar, batch, cook, culture, trial, shelf, or ingredient for a lot of it
	Name string `json:"name"` // a code, "B12", a number or a name
}

// Find returns what text names: the address on a label, whatever its host, a
// jar's code or batch and number, a batch, a cook, a trial, a culture, an
// ingredient lot or a shelf.
func (f *Farm) Find(ctx context.Context, text string) (Found, error) {
	text = strings.TrimSpace(text)
	if text == "" {
		return Found{}, lab.Invalidf("q", "write a code such as K73QF, B12·13, B12, cook 7 or a name", "nothing to look for")
	}
	var found Found
	err := f.store.Read(ctx, func(r store.Reader) (err error) {
		found, err = f.find(ctx, r, text)
		return err
	})
	return found, err
}

func (f *Farm) find(ctx context.Context, r store.Reader, text string) (Found, error) {
	if kind, name, ok := lab.LabelOf(text); ok {
		return f.findLabelled(ctx, r, kind, name)
	}
	tries := []func() (Found, error){
		func() (Found, error) {
			b, err := r.BatchByName(ctx, text)
			return Found{"batch", b.String()}, err
		},
		func() (Found, error) {
			rows, err := findJars(ctx, r, []string{text})
			if err != nil {
				return Found{}, err
			}
			return Found{"jar", string(rows[0].Code)}, nil
		},
		func() (Found, error) {
			c, err := r.CookByName(ctx, text)
			return Found{"cook", strings.TrimPrefix(c.String(), "cook ")}, err
		},
		func() (Found, error) {
			t, err := r.TrialByName(ctx, text)
			return Found{"trial", t.Name}, err
		},
		func() (Found, error) {
			c, err := r.CultureByName(ctx, text)
			return Found{"culture", c.Name}, err
		},
		func() (Found, error) { return f.findLot(ctx, r, text) },
		func() (Found, error) { return findShelf(ctx, r, text) },
	}
	for _, try := range tries {
		found, err := try()
		if err == nil {
			return found, nil
		}
		if !lab.IsKind(err, lab.NotFound) && !lab.IsKind(err, lab.Invalid) {
			return Found{}, err
		}
	}
	return Found{}, lab.NotFoundf("write a code such as K73QF, B12·13, B12, cook 7 or a name", "nothing is called %q", text)
}

// findLabelled returns what the label of that kind and name is stuck on.
func (f *Farm) findLabelled(ctx context.Context, r store.Reader, kind lab.LabelKind, name string) (Found, error) {
	switch kind {
	case lab.JarLabel:
		rows, err := findJars(ctx, r, []string{name})
		if err != nil {
			return Found{}, err
		}
		return Found{"jar", string(rows[0].Code)}, nil
	case lab.BatchLabel:
		b, err := r.BatchByName(ctx, "B"+strings.TrimLeft(name, "Bb"))
		return Found{"batch", b.String()}, err
	case lab.CookLabel:
		c, err := r.CookByName(ctx, name)
		return Found{"cook", strings.TrimPrefix(c.String(), "cook ")}, err
	case lab.CultureLabel:
		c, err := r.CultureByName(ctx, name)
		return Found{"culture", c.Name}, err
	case lab.LotLabel:
		return f.findLot(ctx, r, "I"+strings.TrimLeft(name, "Ii"))
	}
	return findShelf(ctx, r, name)
}

// findLot returns the ingredient that a lot such as I7 is of.
func (f *Farm) findLot(ctx context.Context, r store.Reader, text string) (Found, error) {
	own, err := f.readStock(ctx, r)
	if err != nil {
		return Found{}, err
	}
	for _, row := range own.rows {
		for _, l := range row.Lots {
			if strings.EqualFold(l.String(), text) {
				return Found{"ingredient", row.Name}, nil
			}
		}
	}
	return Found{}, lab.NotFoundf("look under Supplies", "no lot is called %q", text)
}

// findShelf returns the shelf of that name on which jars are at work.
func findShelf(ctx context.Context, r store.Reader, text string) (Found, error) {
	names, err := shelfNames(ctx, r)
	if err != nil {
		return Found{}, err
	}
	for _, name := range names {
		if lab.NameKey(name) == lab.NameKey(text) {
			return Found{"shelf", name}, nil
		}
	}
	return Found{}, lab.NotFoundf("look under Shelf", "no jar is at work on a shelf called %q", text)
}
