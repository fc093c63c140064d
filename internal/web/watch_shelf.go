package web

import (
	"cmp"
	"net/http"
	"slices"

	"pinset/internal/app"
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
	Cells []cell
}

func (shelfPage) template() string { return "watch/shelf" }

// getShelf serves GET /shelf.
func (s *server) getShelf(w http.ResponseWriter, r *http.Request) error {
	shelves, cut, err := s.farm.Shelf(r.Context())
	if err != nil {
		return err
	}
	p := &shelfPage{frame: frame{Title: "Shelf", Section: "/shelf"}, Cut: cut}
	for _, shelf := range shelves {
		v := shelfView{Name: shelf.Name}
		for _, row := range shelf.Rows {
			x := shelfRow{ShelfRow: row}
			for _, j := range row.Jars {
				x.Cells = append(x.Cells, newCell(j.Jar, j.Standing, -1))
			}
			v.Rows, v.Jars = append(v.Rows, x), v.Jars+len(x.Cells)
		}
		p.Shelves, p.Jars = append(p.Shelves, v), p.Jars+v.Jars
	}
	slices.SortStableFunc(p.Shelves, func(a, b shelfView) int { // jars whose shelf is not said stand last
		return cmp.Compare(b2i(a.Name == ""), b2i(b.Name == ""))
	})
	return s.show(w, r, http.StatusOK, p)
}

func b2i(b bool) int {
	if b {
		return 1
	}
	return 0
}
