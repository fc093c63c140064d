package app

import (
	"context"
	"slices"
	"strings"

	"pinset/internal/lab"
	"pinset/internal/store"
)

// ShelfCount is how many jars are at work on one shelf; "" is not said.
type ShelfCount = store.ShelfCount

// ShelfPage is some shelves in walking order, and how many there are.
type ShelfPage struct {
	Shelves []ShelfView
	All     []ShelfCount // in walking order
	From    int          // the first of Shelves in All
	Next    int          // the first behind Shelves, 0 if there is none
	Jars    int          // on all shelves
	Cut     int          // jars of the last of Shelves that are not on the page
}

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

// Shelf returns the jars that are still at work, by shelf and batch: a page of
// shelves that begins with the one that from counts to, the first is 0, and
// ends before there are more than most jars on it. A shelf of more is alone on
// its page, with its first 400 jars.
func (f *Farm) Shelf(ctx context.Context, from, most int) (ShelfPage, error) {
	var p ShelfPage
	err := f.store.Read(ctx, func(r store.Reader) (err error) {
		p, err = f.shelfPage(ctx, r, from, min(most, pageOfJars))
		return err
	})
	return p, err
}

func (f *Farm) shelfPage(ctx context.Context, r store.Reader, from, most int) (ShelfPage, error) {
	all, err := f.shelfCounts(ctx, r)
	p := ShelfPage{All: all}
	if err != nil || len(all) == 0 {
		return p, err
	}
	for _, c := range all {
		p.Jars += c.Jars
	}
	p.From = min(max(from, 0), len(all)-1)
	end, jars := p.From, 0
	var names []string
	for end < len(all) && (end == p.From || jars+all[end].Jars <= most) {
		names, jars = append(names, all[end].Name), jars+all[end].Jars
		end++
	}
	if end < len(all) {
		p.Next = end
	}
	rows, err := r.Jars(ctx, store.JarFilter{Shelves: names, Open: true, On: f.today(), Limit: pageOfJars})
	if err != nil {
		return p, err
	}
	p.Cut = jars - len(rows)
	batches, err := batchesOf(ctx, r, rows)
	if err != nil {
		return p, err
	}
	walk, err := r.Setting(ctx, settingWalk)
	if err != nil {
		return p, err
	}
	p.Shelves = f.layOut(rows, batches)
	inWalkingOrder(p.Shelves, func(s ShelfView) string { return s.Name }, walk)
	return p, nil
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
		func() (Found, error) { return f.findShelf(ctx, r, text) },
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
	return f.findShelf(ctx, r, name)
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
func (f *Farm) findShelf(ctx context.Context, r store.Reader, text string) (Found, error) {
	names, err := f.shelfNames(ctx, r)
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
