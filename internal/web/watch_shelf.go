package web

import (
	"cmp"
	"fmt"
	"net/http"
	"slices"

	"pinset/internal/app"
	"pinset/internal/lab"
)

// shelfPage shows where the jars at work stand.
type shelfPage struct {
	frame
	Shelves []shelfView
	Cut     bool
	Jars    int
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
const drawnJars = 100

func (shelfPage) template() string { return "watch/shelf" }

// getShelf serves GET /shelf.
func (s *server) getShelf(w http.ResponseWriter, r *http.Request) error {
	shelves, cut, err := s.farm.Shelf(r.Context())
	if err != nil {
		return err
	}
	p := &shelfPage{frame: frame{Title: "Shelf", Section: "/shelf"}, Cut: cut}
	left := drawnJars
	for i, shelf := range shelves {
		v := shelfView{Name: shelf.Name}
		for k, row := range shelf.Rows {
			x := drawRow(fmt.Sprintf("s%d-%d", i, k), shelf.Name, row, left)
			left -= min(left, len(row.Jars))
			v.Rows, v.Jars = append(v.Rows, x), v.Jars+len(row.Jars)
		}
		p.Shelves, p.Jars = append(p.Shelves, v), p.Jars+v.Jars
	}
	slices.SortStableFunc(p.Shelves, func(a, b shelfView) int { // jars whose shelf is not said stand last
		return cmp.Compare(b2i(a.Name == ""), b2i(b.Name == ""))
	})
	return s.show(w, r, http.StatusOK, p)
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

func b2i(b bool) int {
	if b {
		return 1
	}
	return 0
}
