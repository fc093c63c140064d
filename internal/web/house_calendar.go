package web

import (
	"bytes"
	"net/http"
	"strings"

	"pinset/internal/calendar"
	"pinset/internal/lab"
)

// feedPath begins the address of the calendar feed. What follows is secret.
const feedPath = "/calendar/"

// calendarPage says what the feed is, and shows its address once.
type calendarPage struct {
	frame
	Form    form
	Has     bool
	Address string // "" unless it was just made
	Far     bool   // the address names this machine itself, which no phone reaches
	Limits  string
}

func (calendarPage) template() string { return "house/calendar" }

// getCalendar serves GET /calendar.
func (s *server) getCalendar(w http.ResponseWriter, r *http.Request) error {
	return s.showCalendar(w, r, http.StatusOK, &calendarPage{})
}

func (s *server) showCalendar(w http.ResponseWriter, r *http.Request, status int, p *calendarPage) error {
	p.frame = frame{Title: "Due days", Section: "/all"}
	var err error
	if p.Has, err = s.farm.HasCalendar(r.Context()); err != nil {
		return err
	}
	limits, err := s.farm.StageLimits(r.Context())
	p.Limits = limits.String()
	if err != nil {
		return err
	}
	return s.show(w, r, status, p)
}

// postCalendar serves POST /calendar: a new address, shown in the answer and
// never again; or none from now on; or the grower's own limits.
func (s *server) postCalendar(w http.ResponseWriter, r *http.Request) error {
	f := formOf(r)
	switch f.Get("do") {
	case "stop":
		if err := s.farm.StopCalendar(r.Context()); err != nil {
			return err
		}
		remember(w, r, "", "The calendar feed is closed")
	case "limits":
		if err := s.farm.SetStageLimits(r.Context(), f.Get("limits")); err != nil {
			if f, err = f.with(err); err != nil {
				return err
			}
			return s.showCalendar(w, r, http.StatusUnprocessableEntity, &calendarPage{Form: f})
		}
		remember(w, r, "", "Limits kept")
	case "new":
		key, err := s.farm.NewCalendarKey(r.Context(), f.Get("names") == "yes")
		if err != nil {
			return err
		}
		w.Header().Set("Cache-Control", "no-store")
		return s.showCalendar(w, r, http.StatusOK, &calendarPage{
			Address: ownURL(r) + strings.TrimPrefix(feedPath, "/") + key + ".ics", Far: isLoopback(hostOf(r)),
		})
	}
	return seeOther(w, r, "/calendar")
}

// getFeed serves GET /calendar/{key} to whoever knows the key.
func (s *server) getFeed(w http.ResponseWriter, r *http.Request) error {
	opens, err := s.farm.OpensCalendar(r.Context(), strings.TrimSuffix(r.PathValue("key"), ".ics"))
	if err != nil {
		return err
	}
	if !opens {
		return lab.NotFoundf("make a new address under Due days, and give it to your calendar", "no calendar has this address")
	}
	c, err := s.farm.Calendar(r.Context())
	if err != nil {
		return err
	}
	var b bytes.Buffer
	if err := calendar.Write(&b, c, ownURL(r)); err != nil {
		return err
	}
	w.Header().Set("Content-Type", calendar.MediaType)
	w.Header().Set("Cache-Control", "private, no-cache")
	_, err = w.Write(b.Bytes())
	return err
}

// ownURL is the address that the pages were asked for by, with a slash.
func ownURL(r *http.Request) string {
	if r.TLS != nil {
		return "https://" + r.Host + "/"
	}
	return "http://" + r.Host + "/"
}

func hostOf(r *http.Request) string {
	host, _, _ := strings.Cut(r.Host, ":")
	return host
}

// loggedPath is the path of r as the log may hold it: without what is secret.
func loggedPath(r *http.Request) string {
	if strings.HasPrefix(r.URL.Path, feedPath) {
		return feedPath + "…"
	}
	return r.URL.Path
}

// postTodayDone serves POST /today: one tap that logs the same on all jars of
// a task.
func (s *server) postTodayDone(w http.ResponseWriter, r *http.Request) error {
	f := formOf(r)
	in := seenOf(f)
	in.Jars = f.Get("jars")
	done, err := s.farm.See(r.Context(), act(r), in)
	if err != nil {
		return err
	}
	remember(w, r, done.Deed, done.What)
	return seeOther(w, r, "/")
}

// OneTap is what the button says that does it for all jars.
func (t taskView) OneTap() string {
	if t.See == "" {
		return ""
	}
	return t.Task.Verb + ", " + count(t.Count, "jar")
}
