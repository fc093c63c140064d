package web

import (
	"encoding/json"
	"fmt"
	"net/http"
	"slices"
	"strings"

	"pinset/internal/app"
	"pinset/internal/picture"
)

// dayBegins is when a timetable lets the working day begin.
const dayBegins = 8 * 60

// dayPage lays cooks over the farm's own cookers and a working day.
type dayPage struct {
	frame
	Form  form
	Day   *app.CookDay // nil before anything is typed
	Clock *drawing
}

func (dayPage) template() string { return "plan/day" }

// getPlanDay serves GET /plan/day. The address carries what was typed.
func (s *server) getPlanDay(w http.ResponseWriter, r *http.Request) error {
	f := formOf(r)
	p := &dayPage{frame: frame{Title: "Cooks over a day", Section: "/plan"}, Form: f}
	if !f.Has("jars") {
		return s.show(w, r, http.StatusOK, p)
	}
	day, err := s.farm.CookDay(r.Context(), app.CookDayInput{
		Jars: f.Get("jars"), Cycle: f.Get("cycle"), Hold: f.Get("hold"), Day: f.Get("day"), Mixed: f.Get("mixed") == "yes",
	})
	if err != nil {
		if p.Form, err = f.with(err); err != nil {
			return err
		}
		return s.show(w, r, http.StatusUnprocessableEntity, p)
	}
	p.Day = &day
	raw, err := json.Marshal(day.Result)
	if err != nil {
		return err
	}
	if p.Clock, err = timetableDrawing(raw, day.CycleMin, day.DayMin); err != nil {
		return err
	}
	return s.show(w, r, http.StatusOK, p)
}

// timetableDrawing draws the result of the calculator load, nil if there is
// no cook.
func timetableDrawing(result []byte, cycleMin, dayMin float64) (*drawing, error) {
	var r struct {
		Cooks []struct {
			Day      int     `json:"day"`
			StartMin float64 `json:"start_min"`
			Cooker   string  `json:"cooker"`
			Jars     int     `json:"jars"`
			Places   int     `json:"places"`
			Load     []struct {
				Container string `json:"container"`
				Jars      int    `json:"jars"`
			} `json:"load"`
		} `json:"cooks"`
	}
	if err := json.Unmarshal(result, &r); err != nil {
		return nil, fmt.Errorf("web: timetable: %w", err)
	}
	if len(r.Cooks) == 0 {
		return nil, nil
	}
	t := picture.Timetable{Name: "Cooks over the day", Begin: dayBegins, DayMin: dayMin}
	for _, c := range r.Cooks {
		if !slices.Contains(t.Cookers, c.Cooker) {
			t.Cookers = append(t.Cookers, c.Cooker)
		}
	}
	slices.Sort(t.Cookers)
	for _, c := range r.Cooks {
		var says []string
		for _, l := range c.Load {
			says = append(says, fmt.Sprintf("%d %s", l.Jars, l.Container))
		}
		t.Bars = append(t.Bars, picture.TimetableBar{
			Day: c.Day, Cooker: slices.Index(t.Cookers, c.Cooker), From: c.StartMin, Min: cycleMin,
			Jars: c.Jars, Places: c.Places, Says: strings.Join(says, ", "),
		})
	}
	return newDrawing("day", deskWide, t.Draw), nil
}

// loadDrawingOf draws the timetable of the calculator load, from what it took
// and what it gave.
func loadDrawingOf(in, result []byte) (*drawing, error) {
	var asked struct {
		CycleMin float64 `json:"cycle_min"`
		DayMin   float64 `json:"day_min"`
	}
	if err := json.Unmarshal(in, &asked); err != nil {
		return nil, fmt.Errorf("web: timetable: %w", err)
	}
	return timetableDrawing(result, asked.CycleMin, asked.DayMin)
}
