package web

import (
	"fmt"
	"net/http"

	"pinset/internal/app"
	"pinset/internal/lab"
)

// shelfPage shows where the jars at work stand, a page of shelves at a time.
type shelfPage struct {
	frame
	app.ShelfPage
	Shelves []shelfView
}

// shelfView is one shelf as drawn.
type shelfView struct {
	Name string
	Rows []shelfRow
	Jars int
}

type shelfRow struct {
	app.ShelfRow
	Picture *drawing
	Hidden  string // numbers of the jars that are not drawn, "" if all are
}

// drawnJars bounds the jars that the shelf page draws; the others are named.
const drawnJars = 75

func (shelfPage) template() string { return "watch/shelf" }

// getShelf serves GET /shelf.
func (s *server) getShelf(w http.ResponseWriter, r *http.Request) error {
	v, err := s.farm.Shelf(r.Context(), formOf(r).int("from", 1)-1, drawnJars)
	if err != nil {
		return err
	}
	p := &shelfPage{frame: frame{Title: "Shelf", Section: "/shelf"}, ShelfPage: v}
	left := drawnJars
	for i, shelf := range v.Shelves {
		v := shelfView{Name: shelf.Name}
		for k, row := range shelf.Rows {
			x := drawRow(fmt.Sprintf("s%d-%d", i, k), shelf.Name, row, left)
			x.Picture = x.Picture.on(r)
			left -= min(left, len(row.Jars))
			v.Rows, v.Jars = append(v.Rows, x), v.Jars+len(row.Jars)
		}
		p.Shelves = append(p.Shelves, v)
	}
	return s.show(w, r, http.StatusOK, p)
}

// otherShelf is the way to a shelf that is not on the page.
type otherShelf struct {
	Name, Path string
	Jars       int
}

// Others are the shelves that are not on the page.
func (p *shelfPage) Others() []otherShelf {
	end := p.Next
	if end == 0 {
		end = len(p.All)
	}
	var out []otherShelf
	for i, c := range p.All {
		if i < p.From || i >= end {
			out = append(out, otherShelf{c.Name, shelfFrom(i), c.Jars})
		}
	}
	return out
}

// NextPath is the way to the shelves behind those on the page, "" at the end.
func (p *shelfPage) NextPath() string {
	if p.Next == 0 {
		return ""
	}
	return shelfFrom(p.Next)
}

func shelfFrom(i int) string { return fmt.Sprintf("/shelf?from=%d", i+1) }

// Here says which of the shelves are on the page: "3 to 5 of 64".
func (p *shelfPage) Here() string {
	end := p.Next
	if end == 0 {
		end = len(p.All)
	}
	if p.From+1 == end {
		return fmt.Sprintf("%d of %d", end, len(p.All))
	}
	return fmt.Sprintf("%d to %d of %d", p.From+1, end, len(p.All))
}

// drawRow draws the jars of a row, at most so many, and names the others.
func drawRow(id, shelf string, row app.ShelfRow, most int) shelfRow {
	x := shelfRow{ShelfRow: row}
	drawn := row.Jars[:min(most, len(row.Jars))]
	if len(drawn) > 0 {
		x.Picture = boardDrawing(id, "Shelf "+shelf+", "+row.Batch.String(), row.Batch.String(), drawn)
	}
	var hidden []int
	for _, j := range row.Jars[len(drawn):] {
		hidden = append(hidden, j.Number)
	}
	if len(hidden) > 0 {
		x.Hidden = row.Batch.String() + "·" + lab.ShowNumbers(hidden)
	}
	return x
}
