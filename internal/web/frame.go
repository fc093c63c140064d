package web

import (
	"net/http"
	"strings"
	"time"

	"pinset/internal/app"
	"pinset/internal/lab"
)

// frame is what every page has around it. Pages embed it and set the upper
// fields; fill sets the rest.
type frame struct {
	Title   string // of the window and the heading
	Section string // address of the section that the page belongs to
	Gloved  bool   // actions are 72 px high: rounds, cooks, inoculation
	Paper   bool   // a sheet to print
	Refresh int    // seconds after which the page asks again where scripts are off; 0 never
	Scans   bool   // the page reads square codes
	Steps   bool   // the page goes on by the space bar
	Photos  bool   // the page takes or shows photos
	Room    bool   // used in the grow room: dark unless a theme was chosen

	Theme string // "dim", "dark", "light", or "" for what the system says
	Farm  string
	By    string // initials of who enters
	Here  string // this page's address, to come back to
	Did   *wrote // the last entry, if it was a short while ago
	Act   lab.DeedID
	Zone  *time.Location
	Now   time.Time
	Guard bool // there is a door to leave by
	Role  lab.Role
	Bare  bool // no sections around it
	Tour  *tourBar
}

func (f *frame) base() *frame { return f }

// fill completes f from the request and the farm's settings.
func (s *server) fill(r *http.Request, f *frame) error {
	settings, err := s.farm.Settings(r.Context())
	if err != nil {
		return err
	}
	s.fillPlain(r, f)
	f.Farm, f.Zone = settings.Name, settings.Zone
	f.Tour, err = s.tourAt(r)
	return err
}

// fillPlain completes f without the records: error pages must not need them.
func (s *server) fillPlain(r *http.Request, f *frame) {
	f.Theme, f.By = themeOf(r), initialsOf(r)
	if f.Room && f.Theme == "" {
		f.Theme = "dark"
	}
	f.Here = hereOf(r)
	f.Did = wroteOf(r)
	f.Zone, f.Now = time.UTC, s.now()
	f.Guard, f.Role = s.door != nil, callerOf(r).Role
	if f.Act == "" {
		f.Act = app.NewActID()
	}
}

// hereOf returns the address to come back to; for what was posted, the page
// of the form.
func hereOf(r *http.Request) string {
	if r.Method == http.MethodGet {
		return r.URL.RequestURI()
	}
	return localPath(r.PostFormValue("here"))
}

// localPath returns p if it is an address within these pages, "/" if not.
func localPath(p string) string {
	if !strings.HasPrefix(p, "/") || strings.HasPrefix(p, "//") || strings.ContainsAny(p, "\\\r\n\t") {
		return "/"
	}
	return p
}

// NewAct returns an identifier for a further form on the same page.
func (f *frame) NewAct() lab.DeedID { return app.NewActID() }

// Legend is how to read a jar.
func (f *frame) Legend() []cell { return legend }

// Scheme is what the page tells the browser before any style arrives, so
// that a dark page never flashes white.
func (f *frame) Scheme() string {
	switch f.Theme {
	case "dim", "dark":
		return "dark"
	case "light":
		return "light"
	}
	return "light dark"
}

// When prints a time at the farm.
func (f *frame) When(w lab.When) string { return w.Show(f.Zone) }

// Brief prints a time at the farm without the year if it is this one.
func (f *frame) Brief(w lab.When) string {
	return strings.Replace(w.Show(f.Zone), f.Now.In(f.Zone).Format(" 2006"), "", 1)
}

// Clock prints the time of day at the farm: "19:40".
func (f *frame) Clock(t time.Time) string { return t.In(f.Zone).Format("15:04") }

// Stamp prints when something was entered: the clock alone if it was today.
func (f *frame) Stamp(t time.Time) string {
	local, now := t.In(f.Zone), f.Now.In(f.Zone)
	if local.Format(time.DateOnly) == now.Format(time.DateOnly) {
		return local.Format("15:04")
	}
	if local.Year() != now.Year() && now.Sub(local) > 90*24*time.Hour {
		return local.Format("2 Jan 2006")
	}
	return local.Format("2 Jan 15:04")
}

// Nav returns the sections with the one that the page belongs to marked.
func (f *frame) Nav() []navItem {
	out := make([]navItem, len(sections))
	for i, s := range sections {
		s.Current = s.Path == f.Section
		out[i] = s
	}
	return out
}

// navItem is one section in the rail or the bar.
type navItem struct {
	Path, Name, Icon string
	Says             string // what is done there
	Far              bool   // not in the phone's bar
	Near             bool   // only in the phone's bar
	Gap              bool   // a space before it
	Current          bool
}

// sections are in the order of the work.
var sections = []navItem{
	{Path: "/", Name: "Today", Icon: "today", Says: "what is due, late and running"},
	{Path: "/plan", Name: "Plan", Icon: "plan", Says: "a comparison or a batch, allotted by lot", Far: true},
	{Path: "/trials", Name: "Trials", Icon: "trials", Says: "what was compared, and what can be said", Far: true},
	{Path: "/supplies", Name: "Supplies", Icon: "supplies", Says: "ingredients, recipes, containers", Far: true, Gap: true},
	{Path: "/cultures", Name: "Cultures", Icon: "cultures", Says: "plates, liquid cultures, spawn", Far: true},
	{Path: "/shelf", Name: "Shelf", Icon: "shelf", Says: "where every jar stands", Gap: true},
	{Path: "/find", Name: "Find", Icon: "find", Near: true},
	{Path: "/cooks", Name: "Cooks", Icon: "cooks", Says: "the cooker's runs and whether they held"},
	{Path: "/crop", Name: "Crop", Icon: "crop", Says: "what was picked and weighed", Far: true},
	{Path: "/reckoner", Name: "Reckoner", Icon: "reckoner", Says: "all calculators, no records needed", Far: true, Gap: true},
	{Path: "/all", Name: "All", Icon: "all", Near: true},
}
