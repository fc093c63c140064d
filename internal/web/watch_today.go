package web

import (
	"net/http"
	"slices"

	"pinset/internal/app"
	"pinset/internal/lab"
)

// todayPage shows what waits, what runs and what was entered last.
type todayPage struct {
	frame
	app.Today
	UnderWay []app.BatchRow
	Stops    []tourStop // of the tour, none if there is none
}

func (todayPage) template() string { return "watch/today" }

// getToday serves GET /.
func (s *server) getToday(w http.ResponseWriter, r *http.Request) error {
	today, err := s.farm.Today(r.Context())
	if err != nil {
		return err
	}
	batches, err := s.farm.Batches(r.Context())
	if err != nil {
		return err
	}
	underWay := slices.DeleteFunc(batches, func(b app.BatchRow) bool { return b.Tally.Growing == 0 && b.Tally.Inoculated > 0 })
	steps, err := s.farm.Tour(r.Context())
	if err != nil {
		return err
	}
	return s.show(w, r, http.StatusOK, &todayPage{frame{Title: "Today", Section: "/"}, today, underWay, tourStops(steps)})
}

// Date is the heading: "Thursday 12 March".
func (p *todayPage) Date() string { return p.Day.Time.Format("Monday 2 January") }

// Says counts what waits.
func (p *todayPage) Says() string {
	late, due := len(p.Late), len(p.Due)
	switch {
	case p.Empty:
		return "Nothing is planned yet."
	case late+due == 0:
		return "Nothing waits for you."
	case late == 0:
		return count(due, "thing") + " to do."
	case due == 0:
		return count(late, "thing") + " late."
	}
	return count(late, "thing") + " late, " + count(due, "more") + " to do."
}

// taskDo says where a task is done and what its button says.
type taskDo struct{ page, verb, icon string }

var taskDoes = map[string]taskDo{
	"make":      {"bench", "Open the sheet", "sheet"},
	"cook":      {"", "Log it", "cooks"},
	"inoculate": {"inoculate", "Inoculate", "drop"},
	"rounds":    {"rounds", "See them", "eye"},
	"weigh":     {"weigh", "Weigh", "weigh"},
	"verdict":   {"", "Read it", "trials"},
	"answer":    {"", "Look and say", "eye"},
}

// taskView is a task with the way to it.
type taskView struct {
	app.Task
	Path, Verb, Icon string
	Act              lab.DeedID // of the one tap
}

func viewTasks(tasks []app.Task) []taskView {
	out := make([]taskView, len(tasks))
	for i, t := range tasks {
		do, ok := taskDoes[t.Doing]
		if !ok {
			do = taskDo{"", "Open", "next"}
		}
		path := pathOf(t.Kind, t.Name)
		if do.page != "" {
			path += "/" + do.page
		}
		out[i] = taskView{t, path, do.verb, do.icon, app.NewActID()}
	}
	return out
}

// LateTasks are what is late.
func (p *todayPage) LateTasks() []taskView { return viewTasks(p.Late) }

// DueTasks are what is due.
func (p *todayPage) DueTasks() []taskView { return viewTasks(p.Due) }
