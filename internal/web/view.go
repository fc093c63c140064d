package web

import (
	"bytes"
	"embed"
	"errors"
	"fmt"
	"html/template"
	"io/fs"
	"net/http"
	"strings"
)

//go:embed pages
var pageFiles embed.FS

// page is the data of one page. Its template is pages/<template>.html, and
// defines "main".
type page interface {
	template() string
	base() *frame
}

// views are the parsed templates by name, such as "watch/today".
type views struct {
	byName map[string]*template.Template
}

// newViews parses pages/*.html as the frame and the parts, and each
// pages/<stage>/*.html as one page. A page without a template, or a template
// without a page, is an error.
func newViews(files fs.FS, pages []page, a *assets) (*views, error) {
	parts, err := template.New("").Funcs(templateFuncs(a)).ParseFS(files, "pages/*.html")
	if err != nil {
		return nil, fmt.Errorf("web: parse the parts: %w", err)
	}
	v := &views{byName: make(map[string]*template.Template)}
	names, err := fs.Glob(files, "pages/*/*.html")
	if err != nil {
		return nil, err
	}
	for _, file := range names {
		set, err := parts.Clone()
		if err != nil {
			return nil, err
		}
		if set, err = set.ParseFS(files, file); err != nil {
			return nil, fmt.Errorf("web: parse %s: %w", file, err)
		}
		if set.Lookup("main") == nil {
			return nil, fmt.Errorf(`web: %s does not define "main"`, file)
		}
		v.byName[strings.TrimSuffix(strings.TrimPrefix(file, "pages/"), ".html")] = set
	}
	return v, v.count(pages)
}

// count reports pages and templates that have no counterpart.
func (v *views) count(pages []page) error {
	var faults []error
	known := make(map[string]bool)
	for _, p := range pages {
		name := p.template()
		if known[name] {
			faults = append(faults, fmt.Errorf("web: two pages use the template %s", name))
		}
		known[name] = true
		if v.byName[name] == nil {
			faults = append(faults, fmt.Errorf("web: page %T has no template pages/%s.html", p, name))
		}
	}
	for name := range v.byName {
		if !known[name] {
			faults = append(faults, fmt.Errorf("web: template pages/%s.html has no page", name))
		}
	}
	return errors.Join(faults...)
}

// render returns p as HTML.
func (v *views) render(p page) ([]byte, error) {
	var buf bytes.Buffer
	if err := v.byName[p.template()].ExecuteTemplate(&buf, "base", p); err != nil {
		return nil, fmt.Errorf("web: render %s: %w", p.template(), err)
	}
	return buf.Bytes(), nil
}

// show answers with p. Nothing is written before all of it is rendered.
func (s *server) show(w http.ResponseWriter, r *http.Request, status int, p page) error {
	if err := s.fill(r, p.base()); err != nil {
		return err
	}
	return s.write(w, status, p)
}

func (s *server) write(w http.ResponseWriter, status int, p page) error {
	body, err := s.views.render(p)
	if err != nil {
		return err
	}
	h := w.Header()
	h.Set("Content-Type", "text/html; charset=utf-8")
	if h.Get("Cache-Control") == "" {
		h.Set("Cache-Control", "private, no-cache")
	}
	h.Add("Vary", "User-Agent") // phones get the drawings of phones
	w.WriteHeader(status)
	_, err = w.Write(body)
	if err != nil {
		s.log.Debug("answer not taken", "error", err)
	}
	return nil
}
