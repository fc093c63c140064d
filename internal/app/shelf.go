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
	Kind string `json:"kind"` // jar, batch, cook, culture or trial
	Name string `json:"name"` // a code, "B12", a number or a name
}

// Find returns what text names: a jar's code or batch and number, a batch, a
// cook, a trial or a culture.
func (f *Farm) Find(ctx context.Context, text string) (Found, error) {
	text = strings.TrimSpace(text)
	if text == "" {
		return Found{}, lab.Invalidf("q", "write a code such as K73QF, B12·13, B12, cook 7 or a name", "nothing to look for")
	}
	var found Found
	err := f.store.Read(ctx, func(r store.Reader) (err error) {
		found, err = find(ctx, r, text)
		return err
	})
	return found, err
}

func find(ctx context.Context, r store.Reader, text string) (Found, error) {
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
