package web

import (
	"cmp"
	"fmt"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"
	"time"

	"pinset/internal/app"
	"pinset/internal/lab"
)

// form is what was typed, and what is wrong with it. The zero form is an
// empty one.
type form struct {
	values  url.Values
	problem *lab.Problem
	prefix  string // of the ids, where a page has several forms
}

// formOf returns what r carries as a form.
func formOf(r *http.Request) form { return form{values: r.Form} }

// with returns f with err at its field, or err if it can not be mended here.
func (f form) with(err error) (form, error) {
	p, ok := lab.AsProblem(err)
	if !ok || p.Kind == lab.Busy {
		return f, err
	}
	q := *p
	if called[q.Field] && !f.Has(q.Field) && f.Has("name") {
		q.Field = "name"
	}
	f.problem = &q
	return f, nil
}

// called are the nouns by which use cases call what a form calls its name.
var called = map[string]bool{
	"culture": true, "container": true, "ingredient": true, "recipe": true, "cook": true, "farm": true, "trial": true, "batch": true,
}

// Get returns what was typed into the field called name.
func (f form) Get(name string) string { return f.values.Get(name) }

// Has reports whether the form was sent with a field called name.
func (f form) Has(name string) bool { return f.values.Has(name) }

// All returns everything that was sent for name.
func (f form) All(name string) []string { return f.values[name] }

// Is reports whether value was chosen for name.
func (f form) Is(name, value string) bool { return slices.Contains(f.values[name], value) }

// int returns the whole number typed into name, or otherwise.
func (f form) int(name string, otherwise int) int {
	n, err := strconv.Atoi(strings.TrimSpace(f.Get(name)))
	if err != nil {
		return otherwise
	}
	return n
}

// whole reads the whole number typed into name; "" is otherwise.
func (f form) whole(name string, low, high, otherwise int) (int, error) {
	typed := strings.TrimSpace(f.Get(name))
	if typed == "" {
		return otherwise, nil
	}
	n, err := strconv.Atoi(typed)
	if err != nil || n < low || n > high {
		return 0, lab.Invalidf(name, "write a whole number from "+strconv.Itoa(low)+" to "+strconv.Itoa(high), "%q does not fit here", clipped(typed, 20))
	}
	return n, nil
}

// Wrong returns what is wrong as a whole: with no field, or with one that
// the page does not show.
func (f form) Wrong() *lab.Problem { return f.problem }

// Bad returns what is wrong at name, nil if nothing is.
func (f form) Bad(name string) *lab.Problem {
	if f.problem != nil && f.problem.Field == name {
		return f.problem
	}
	return nil
}

// Field begins the field called name.
func (f form) Field(name, label string) field {
	return field{ID: f.prefix + name, Name: name, Label: label, Value: f.Get(name), Bad: f.Bad(name), Type: "text"}
}

// Choice begins a field in which one of options is chosen.
func (f form) Choice(name, label string, options []string) field {
	x := f.Field(name, label)
	for _, o := range options {
		x.Options = append(x.Options, choice{o, o, o == x.Value})
	}
	return x
}

// field is one labelled control.
type field struct {
	ID, Name, Label, Value, Type string
	Hint                         string
	Echo                         string
	Must, Wide, Mono, Long       bool
	Digits                       bool // a keyboard of digits is enough
	Options                      []choice
	None                         string // what choosing nothing means
	List                         string // id of a <datalist>
	Bad                          *lab.Problem
}

type choice struct {
	Value, Label string
	Chosen       bool
}

// The With methods are for templates: {{template "field" (.Form.Field "a" "A").WithHint "…"}}.

// WithHint adds an example or a reason below the control.
func (f field) WithHint(hint string) field { f.Hint = hint; return f }

// Must marks a field that can not be left blank.
func (f field) Needed() field { f.Must = true; return f }

// Numeric asks for a keyboard of digits.
func (f field) Numeric() field { f.Digits = true; return f }

// Lines makes it a field of several lines.
func (f field) Lines() field { f.Long = true; return f }

// Or says what choosing nothing means.
func (f field) Or(none string) field { f.None = none; return f }

// Starting gives the value that stands there before anything is typed.
func (f field) Starting(value string) field {
	if f.Value == "" && f.Bad == nil {
		f.Value = value
		for i := range f.Options {
			f.Options[i].Chosen = f.Options[i].Value == value
		}
	}
	return f
}

// Echoes puts what the typed value became beside it.
func (f field) Echoes(text string) field { f.Echo = text; return f }

// act returns the act of entry that the form names.
func act(r *http.Request) app.Act {
	by := initialsOf(r)
	if r.Header.Get(handover) != "" && r.PostForm.Has("who") && callerOf(r).By == "" {
		by = clipped(r.PostForm.Get("who"), 20)
	}
	return app.Act{ID: lab.DeedID(r.PostFormValue("act")), By: by}
}

// seeOther answers a write: the browser fetches the page at to.
func seeOther(w http.ResponseWriter, r *http.Request, to string) error {
	if r.Header.Get(handover) != "" {
		w.Header().Set("Pinset-Next", to)
		w.WriteHeader(http.StatusNoContent)
		return nil
	}
	http.Redirect(w, r, to, http.StatusSeeOther)
	return nil
}

// handover is the header of entries that a phone kept until it could send
// them. Answers to them carry it too, so that the phone knows an answer of
// Pinset from one of whatever else stands in the network.
const handover = "Pinset-Handover"

// ofAnother answers an entry that was kept on a phone for one person and is
// handed over while another is let in there: it waits on. An owner who came
// by the passphrase hands it over as whose it is.
func (s *server) ofAnother(w http.ResponseWriter, r *http.Request) bool {
	if r.Header.Get(handover) == "" || !r.PostForm.Has("who") {
		return false
	}
	who, g := clipped(r.PostForm.Get("who"), 20), callerOf(r)
	if g.By == "" || who == g.By {
		return false
	}
	w.Header().Set("Pinset-Whose", url.PathEscape(who))
	s.oops(w, r, http.StatusForbidden, "Somebody else’s entry", fmt.Sprintf("%s entered this, and %s is let in here now", cmp.Or(who, "the owner"), g.By), "let them in on this phone again; nothing was written")
	return true
}

// backdate writes into a blank "at" when an entry was made that waited on the
// phone. The phone says for how long, because its clock may be wrong.
func (s *server) backdate(r *http.Request) {
	waited, ok := waitOf(r.PostFormValue("waited"))
	if !ok || !r.PostForm.Has("at") || strings.TrimSpace(r.PostForm.Get("at")) != "" {
		return
	}
	at := s.farm.Now().Add(-waited).UTC().Format(time.RFC3339)
	r.PostForm.Set("at", at)
	r.Form.Set("at", at)
}

// waitOf reads for how long an entry waited, and whether that matters.
func waitOf(typed string) (waited time.Duration, ok bool) {
	const least, most = 60, 90 * 24 * 3600 // seconds
	n, err := strconv.Atoi(typed)
	return time.Duration(n) * time.Second, err == nil && n >= least && n <= most
}

// at joins path segments, each escaped: at("batches", "B12", "bench").
func at(segments ...string) string {
	var b strings.Builder
	for _, s := range segments {
		b.WriteString("/")
		b.WriteString(url.PathEscape(s))
	}
	return b.String()
}
