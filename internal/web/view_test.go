package web

import (
	"errors"
	"io/fs"
	"net/http/httptest"
	"regexp"
	"strings"
	"testing"
	"testing/fstest"
)

type plainPage struct{ frame }

func (plainPage) template() string { return "a/plain" }

func TestPagesAndTemplatesAreCounted(t *testing.T) {
	a, err := newAssets(staticFiles)
	if err != nil {
		t.Fatal(err)
	}
	file := func(s string) *fstest.MapFile { return &fstest.MapFile{Data: []byte(s)} }
	base := file(`{{define "base"}}{{template "main" .}}{{end}}`)
	main := file(`{{define "main"}}x{{end}}`)
	for name, c := range map[string]struct {
		files fstest.MapFS
		pages []page
		want  string
	}{
		"both":         {fstest.MapFS{"pages/base.html": base, "pages/a/plain.html": main}, []page{&plainPage{}}, ""},
		"no template":  {fstest.MapFS{"pages/base.html": base, "pages/b/x.html": main}, []page{&plainPage{}}, "has no template pages/a/plain.html"},
		"no page":      {fstest.MapFS{"pages/base.html": base, "pages/a/plain.html": main, "pages/a/more.html": main}, []page{&plainPage{}}, "pages/a/more.html has no page"},
		"twice":        {fstest.MapFS{"pages/base.html": base, "pages/a/plain.html": main}, []page{&plainPage{}, &plainPage{}}, "two pages"},
		"no main":      {fstest.MapFS{"pages/base.html": base, "pages/a/plain.html": file("x")}, []page{&plainPage{}}, `does not define "main"`},
		"not parsable": {fstest.MapFS{"pages/base.html": base, "pages/a/plain.html": file("{{if}}")}, []page{&plainPage{}}, "parse"},
		"unknown func": {fstest.MapFS{"pages/base.html": base, "pages/a/plain.html": file(`{{define "main"}}{{nope .}}{{end}}`)}, []page{&plainPage{}}, "nope"},
		"no base":      {fstest.MapFS{"pages/a/plain.html": main}, []page{&plainPage{}}, "parse the parts"},
	} {
		_, err := newViews(c.files, c.pages, a)
		if (err == nil) != (c.want == "") || err != nil && !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: error %v, want %q", name, err, c.want)
		}
	}
}

// brokenPage fails when its template is half-way.
type brokenPage struct{ frame }

func (brokenPage) template() string { return "a/broken" }

func (*brokenPage) Boom() (string, error) { return "", errors.New("boom") }

// TestAPageIsWrittenWholeOrNotAtAll checks that a page that fails half-way
// sends nothing of itself.
func TestAPageIsWrittenWholeOrNotAtAll(t *testing.T) {
	x := newSite(t, Options{})
	s, err := newServer(x.farm, Options{})
	if err != nil {
		t.Fatal(err)
	}
	files := fstest.MapFS{
		"pages/base.html":     {Data: []byte(`{{define "base"}}<p>begun</p>{{template "main" .}}{{end}}`)},
		"pages/a/broken.html": {Data: []byte(`{{define "main"}}{{.Boom}}{{end}}`)},
	}
	if s.views, err = newViews(files, []page{&brokenPage{}}, s.assets); err != nil {
		t.Fatal(err)
	}
	w := httptest.NewRecorder()
	if err := s.show(w, httptest.NewRequest("GET", "/", nil), 200, &brokenPage{}); err == nil || w.Body.Len() > 0 {
		t.Errorf("error %v, and %q was written", err, w.Body)
	}
}

func TestIconsAndUnknownAssets(t *testing.T) {
	if _, err := icon("nope"); err == nil {
		t.Error("an icon that is not there is no error")
	}
	a, err := newAssets(staticFiles)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := a.path("nope.css"); err == nil {
		t.Error("an asset that is not there is no error")
	}
}

func TestWords(t *testing.T) {
	for _, c := range []struct{ got, want string }{
		{count(1, "jar"), "1 jar"},
		{count(0, "jar"), "0 jars"},
		{count(2, "shelf"), "2 shelves"},
		{count(3, "more"), "3 more"},
		{fix(1, -0.04), "0.0"},
		{fix(1, -2.35), "−2.4"},
		{fix(0, 1234.5), "1234"},
		{fix(2, nan()), "unknown"},
		{significant(4, 0), "0"},
		{significant(4, 121.13), "121.1"},
		{significant(4, 12345.6), "12346"},
		{significant(4, -0.001234), "−0.001234"},
		{significant(4, 2.5e-7), "2.50 × 10⁻⁷"},
		{significant(4, 3e12), "3.00 × 10¹²"},
		{significant(4, nan()), "not known"},
		{sentence("is it"), "Is it."},
		{sentence("was?"), "Was?"},
		{sentence(""), ""},
		{capital("änderung"), "Änderung"},
		{known(1, nil), "not known"},
		{showFigure(nil), "not known"},
		{showFigure(true), "yes"},
		{showFigure(3), "3"},
		{showFigure(&band{1.0332, ptr(0.91), nil}), "1.033 (0.91 to not known)"},
		{showFigure(struct {
			Low  float64 `json:"low"`
			High float64 `json:"high"`
		}{-0.5, 2}), "−0.5 to 2"},
		{strings.Join(interval("30.2 (27.7 to 32.9)"), "|"), "30.2|27.7 to 32.9"},
		{strings.Join(interval("rice (old)"), "|"), ""},
		{clipped("abcdef", 4), "abc…"},
		{clipped("冬虫夏草", 4), "冬虫夏草"},
		{at("trials", "a/b c?"), "/trials/a%2Fb%20c%3F"},
		{armLetter(0), "A"},
		{armLetter(11), "L"},
	} {
		if c.got != c.want {
			t.Errorf("got %q, want %q", c.got, c.want)
		}
	}
}

// band is an interval as calculators return it.
type band struct {
	Value float64  `json:"value"`
	Low   *float64 `json:"low"`
	High  *float64 `json:"high"`
}

func ptr(x float64) *float64 { return &x }

func nan() float64 { zero := 0.0; return zero / zero }

// TestNothingIsWrittenIntoPages looks through all templates and scripts for
// what the content security policy forbids, and for ways to make code or
// elements of text.
func TestNothingIsWrittenIntoPages(t *testing.T) {
	inline := regexp.MustCompile(`(?i)<style|\sstyle\s*=|\son[a-z]+\s*=|javascript:|<script(?:\s+(?:defer|type="module"))*\s*>|srcdoc`)
	making := regexp.MustCompile(`\beval\(|new Function|innerHTML|outerHTML|insertAdjacentHTML|document\.write|setAttribute\("on|import\(`)
	looked := 0
	for _, in := range []struct {
		files   fs.FS
		suffix  string
		forbids *regexp.Regexp
	}{{pageFiles, ".html", inline}, {staticFiles, ".js", making}} {
		err := fs.WalkDir(in.files, ".", func(path string, d fs.DirEntry, err error) error {
			if err != nil || d.IsDir() || !strings.HasSuffix(path, in.suffix) {
				return err
			}
			text, err := fs.ReadFile(in.files, path)
			looked++
			for _, found := range in.forbids.FindAllString(string(text), -1) {
				t.Errorf("%s: %q", path, found)
			}
			return err
		})
		if err != nil {
			t.Fatal(err)
		}
	}
	if looked < 60 {
		t.Errorf("only %d files were looked at", looked)
	}
}

// TestNoGestures looks through all scripts for what a wet glove can not do,
// or does by mistake: dragging, pressing long or twice, hovering, acting when
// a press begins, and questions in a box of the browser's own. That a press
// begins is heard once by the alarms, which may sound from then on.
func TestNoGestures(t *testing.T) {
	gesture := regexp.MustCompile(`drag(start|over|end)?["'.]|touch(start|move|end)|pointer(move|up)|mouse(down|move|over|enter)|dblclick|contextmenu|\bconfirm\(|\balert\(|\bprompt\(`)
	inPages := regexp.MustCompile(`draggable=|<dialog|\btitle="Hold`)
	for _, in := range []struct {
		files   fs.FS
		suffix  string
		forbids *regexp.Regexp
	}{{staticFiles, ".js", gesture}, {pageFiles, ".html", inPages}} {
		err := fs.WalkDir(in.files, ".", func(path string, d fs.DirEntry, err error) error {
			if err != nil || d.IsDir() || !strings.HasSuffix(path, in.suffix) {
				return err
			}
			text, err := fs.ReadFile(in.files, path)
			for _, found := range in.forbids.FindAllString(string(text), -1) {
				t.Errorf("%s: %q", path, found)
			}
			return err
		})
		if err != nil {
			t.Fatal(err)
		}
	}
}
