package cli

import (
	"context"
	"fmt"
	"io"

	"pinset/internal/app"
	"pinset/internal/lab"
)

type todayCmd struct{ records }

func (c *todayCmd) Run(r *run) error {
	return r.onFarm(c.records, func(f *app.Farm) error {
		t, err := f.Today(r.ctx)
		if err != nil {
			return err
		}
		out := struct {
			Day     *string    `json:"day"`
			Late    []app.Task `json:"late"`
			Due     []app.Task `json:"due"`
			Early   []app.Task `json:"early"`
			Running []cookView `json:"running"`
		}{Day: viewWhen(t.Day), Late: append([]app.Task{}, t.Late...), Due: append([]app.Task{}, t.Due...), Early: append([]app.Task{}, t.Early...), Running: []cookView{}}
		for _, c := range t.Running {
			out.Running = append(out.Running, viewCook(c))
		}
		return r.print(out, func(w io.Writer) {
			fmt.Fprintln(w, t.Day.Show(f.Zone(r.ctx)))
			for _, c := range out.Running {
				fmt.Fprintf(w, "running  cook %d: %s\n", c.Cook, c.Sentence)
			}
			for _, x := range out.Late {
				wrap(w, "late     ", x.What+": "+x.Why)
			}
			for _, x := range out.Due {
				wrap(w, "due      ", x.What+": "+x.Why)
			}
			for _, x := range out.Early {
				wrap(w, "early    ", x.What+": "+x.Why)
			}
			if len(out.Late)+len(out.Due)+len(out.Running) == 0 {
				fmt.Fprintln(w, "nothing waits")
			}
		})
	})
}

type findCmd struct {
	records
	Text string `arg:"" help:"A code, B12·13, B12, cook 7 or a name."`
}

func (c *findCmd) Run(r *run) error {
	return r.onFarm(c.records, func(f *app.Farm) error {
		found, err := f.Find(r.ctx, c.Text)
		if err != nil {
			return err
		}
		return r.print(found, func(w io.Writer) { fmt.Fprintln(w, found.Kind, found.Name) })
	})
}

type shelfCmds struct {
	List shelfListCmd `cmd:"" help:"List the jars that are at work, by shelf."`
}

type shelfListCmd struct{ records }

func (c *shelfListCmd) Run(r *run) error {
	return r.onFarm(c.records, func(f *app.Farm) error {
		shelves, cut, err := allShelves(r.ctx, f)
		if err != nil {
			return err
		}
		type row struct {
			Shelf   string     `json:"shelf"`
			Batch   string     `json:"batch"`
			Numbers string     `json:"numbers"`
			Codes   []lab.Code `json:"codes"`
		}
		out := struct {
			Rows []row `json:"rows"`
			Cut  bool  `json:"cut"`
		}{Rows: []row{}, Cut: cut}
		for _, s := range shelves {
			for _, x := range s.Rows {
				line := row{Shelf: s.Name, Batch: x.Batch.String(), Numbers: x.Numbers}
				for _, j := range x.Jars {
					line.Codes = append(line.Codes, j.Code)
				}
				out.Rows = append(out.Rows, line)
			}
		}
		return r.print(out, func(w io.Writer) {
			t := newTable("shelf", "jars")
			for _, x := range out.Rows {
				t.row(x.Shelf, x.Batch+"·"+x.Numbers)
			}
			t.write(w)
		})
	})
}

// allShelves reads one page of shelves after the other.
func allShelves(ctx context.Context, f *app.Farm) (all []app.ShelfView, cut bool, err error) {
	const jarsOfPage = 400
	for from, last := 0, false; !last; {
		p, err := f.Shelf(ctx, from, jarsOfPage)
		if err != nil {
			return nil, false, err
		}
		all, cut = append(all, p.Shelves...), cut || p.Cut > 0
		from, last = p.Next, p.Next == 0
	}
	return all, cut, nil
}

type cropCmds struct {
	List cropListCmd `cmd:"" help:"List what the batches gave."`
}

type cropListCmd struct {
	records
	Below int `help:"Only those with lower numbers; a list ends after 200." placeholder:"N"`
}

func (c *cropListCmd) Run(r *run) error {
	return r.onFarm(c.records, func(f *app.Farm) error {
		v, err := f.Crop(r.ctx, c.Below)
		if err != nil {
			return err
		}
		type row struct {
			Batch  string   `json:"batch"`
			Picked int      `json:"picked"`
			Grams  float64  `json:"fresh_g"`
			PerJar *float64 `json:"g_per_inoculated"`
			BE     *float64 `json:"be_pct"`
		}
		out := []row{}
		for _, x := range v.Rows {
			out = append(out, row{x.Batch.Title(), x.Tally.Picked, x.Tally.Grams, x.GramsPerInoculated, x.Efficiency})
		}
		return r.print(out, func(w io.Writer) {
			t := newTable("batch", "picked", "fresh g", "g per jar", "efficiency %")
			for _, x := range out {
				t.row(x.Batch, x.Picked, fmt.Sprintf("%.1f", x.Grams), decimals(x.PerJar, 1), decimals(x.BE, 0))
			}
			t.write(w)
			fmt.Fprintln(w, "\ng per jar inoculated; biological efficiency: fresh g for 100 g of dry substrate")
		})
	})
}
