package app

import (
	"context"
	"strings"

	"pinset/internal/lab"
	"pinset/internal/store"
)

// NewCulture is a culture as typed.
type NewCulture struct {
	ID      lab.CultureID
	Name    string
	Form    string
	Strain  string
	Species string
	Parent  string // name of the culture it was taken from, "" if from outside
	Made    string // day, as lab.ParseWhen reads it
	Note    string
}

// AddCulture keeps a culture.
func (f *Farm) AddCulture(ctx context.Context, n NewCulture) (lab.Culture, error) {
	c := lab.Culture{
		ID: n.ID, Name: n.Name, Form: lab.Form(n.Form),
		Strain: strings.TrimSpace(n.Strain), Species: strings.TrimSpace(n.Species), Note: n.Note,
	}
	if c.ID == "" {
		c.ID = newID[lab.CultureID]()
	}
	err := f.store.Write(ctx, func(w store.Writer) error {
		var err error
		if c.Made, err = f.when(ctx, w, "made", n.Made); err != nil {
			return err
		}
		if p := strings.TrimSpace(n.Parent); p != "" {
			parent, err := w.CultureByName(ctx, p)
			if err != nil {
				return atField("parent", err)
			}
			c.Parent = parent.ID
		}
		if c, err = c.Check(); err != nil {
			return err
		}
		return w.AddCulture(ctx, c)
	})
	return c, err
}

// CultureRow is a culture with its parent's name and what was made from it.
type CultureRow struct {
	lab.Culture
	ParentName string
	Children   []string // names of cultures taken from it
}

// Cultures returns all cultures, newest first.
func (f *Farm) Cultures(ctx context.Context) ([]CultureRow, error) {
	var all []lab.Culture
	err := f.store.Read(ctx, func(r store.Reader) (err error) { all, err = r.Cultures(ctx); return err })
	if err != nil {
		return nil, err
	}
	names := make(map[lab.CultureID]string, len(all))
	children := make(map[lab.CultureID][]string)
	for _, c := range all {
		names[c.ID] = c.Name
	}
	for _, c := range all {
		if c.Parent != "" {
			children[c.Parent] = append(children[c.Parent], c.Name)
		}
	}
	rows := make([]CultureRow, len(all))
	for i, c := range all {
		rows[i] = CultureRow{c, names[c.Parent], children[c.ID]}
	}
	return rows, nil
}
