package web

import (
	"fmt"
	"net/http"
	"slices"

	"pinset/internal/app"
	"pinset/internal/lab"
)

// todayPage shows what waits, what runs and what was entered last: of each
// list its beginning, or one list from where the last page of it ended.
type todayPage struct {
	frame
	app.Today
	List  string     // the one that is shown alone: late, due, early or way; "" shows the beginning of all
	From  int        // of List, from 0
	Stops []tourStop // of the tour, none if there is none
}

func (todayPage) template() string { return "watch/today" }

// How many of each list stand on the page of all of them, and on one of its own.
const (
	firstTasks = 12
	firstWay   = 8
	moreTasks  = 40
)

// getToday serves GET /, with list= and from= for more of one list.
func (s *server) getToday(w http.ResponseWriter, r *http.Request) error {
	today, err := s.farm.Today(r.Context())
	if err != nil {
		return err
	}
	steps, err := s.farm.Tour(r.Context())
	if err != nil {
		return err
	}
	f := formOf(r)
	p := &todayPage{frame: frame{Title: "Today", Section: "/"}, Today: today, Stops: tourStops(steps)}
	if slices.Contains([]string{"late", "due", "early", "way"}, f.Get("list")) {
		p.List, p.From, p.Stops = f.Get("list"), max(0, f.int("from", 0)), nil
	}
	return s.show(w, r, http.StatusOK, p)
}

// todayPart is a part of a list, and the way to what comes after it.
type todayPart[T any] struct {
	Name, Title string
	Items       []T
	All, Left   int
	More        string // "" if nothing comes after
}

// part cuts what the page shows out of a list.
func part[T any](p *todayPage, name, title string, all []T, most int) todayPart[T] {
	x := todayPart[T]{Name: name, Title: title, All: len(all)}
	from := 0
	switch p.List {
	case "":
	case name:
		from, most = min(p.From, len(all)), moreTasks
	default:
		return x
	}
	end := min(from+most, len(all))
	x.Items, x.Left = all[from:end], len(all)-end
	if x.Left > 0 {
		x.More = fmt.Sprintf("/?list=%s&from=%d", name, end)
	}
	return x
}

func (p *todayPage) tasks(name, title string, all []app.Task) todayPart[taskView] {
	cut := part(p, name, title, all, firstTasks)
	return todayPart[taskView]{cut.Name, cut.Title, viewTasks(cut.Items), cut.All, cut.Left, cut.More}
}

// LateTasks are what is late.
func (p *todayPage) LateTasks() todayPart[taskView] { return p.tasks("late", "Late", p.Late) }

// DueTasks are what is due.
func (p *todayPage) DueTasks() todayPart[taskView] { return p.tasks("due", "To do", p.Due) }

// EarlyTasks are what comes within seven days.
func (p *todayPage) EarlyTasks() todayPart[taskView] {
	return p.tasks("early", "Next seven days", p.Early)
}

// UnderWay are batches that are not done.
func (p *todayPage) UnderWay() todayPart[app.BatchRow] {
	return part(p, "way", "Under way", p.Way, firstWay)
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
