package web

import (
	"errors"
	"io"
	"net/http"

	"pinset/internal/lab"
	"pinset/internal/scan"
)

// scanPage opens what a label is stuck on: by the camera in the page, by a
// picture, or by what is typed.
type scanPage struct {
	frame
	Form form
}

func (scanPage) template() string { return "house/scan" }

// getScan serves GET /scan.
func (s *server) getScan(w http.ResponseWriter, r *http.Request) error {
	return s.showScan(w, r, http.StatusOK, form{})
}

func (s *server) showScan(w http.ResponseWriter, r *http.Request, status int, f form) error {
	return s.show(w, r, status, &scanPage{frame{Title: "Scan a label", Section: "/find", Gloved: true, Room: true, Scans: true}, f})
}

// postScan serves POST /scan: reads the square in a picture that a phone took.
func (s *server) postScan(w http.ResponseWriter, r *http.Request) error {
	f := formOf(r)
	text, err := s.readPicture(r)
	if err == nil {
		to := ""
		if to, err = s.labelled(r, text); err == nil {
			return seeOther(w, r, to)
		}
	}
	if f, err = f.with(err); err != nil {
		return err
	}
	f.problem.Field = "picture"
	return s.showScan(w, r, http.StatusUnprocessableEntity, f)
}

// readPicture returns what the square says in the picture that r carries.
func (s *server) readPicture(r *http.Request) (string, error) {
	file, _, err := r.FormFile("file")
	if err != nil {
		return "", lab.Invalidf("picture", "take a picture of the square, or type the code", "there is no picture")
	}
	defer file.Close()
	body, err := io.ReadAll(file)
	if err != nil {
		return "", err
	}
	select { // one at a time: a large picture takes tens of megabytes
	case s.reading <- struct{}{}:
		defer func() { <-s.reading }()
	case <-r.Context().Done():
		return "", r.Context().Err()
	}
	text, err := scan.Read(body)
	switch {
	case errors.Is(err, scan.ErrFormat):
		return "", lab.Invalidf("picture", "set the camera to JPEG, or type the code", "the picture is in a format that can not be read here")
	case errors.Is(err, scan.ErrLarge):
		return "", lab.Invalidf("picture", "take it in a smaller size, or type the code", "the picture is too large to be read here")
	case errors.Is(err, scan.ErrNone):
		return "", lab.Invalidf("picture", "wipe the label, hold the phone a hand's width off with the light behind you, or type the code", "no square is seen in the picture")
	}
	return text, err
}

// labelled returns the page of what a scanned text, or a typed one, names.
func (s *server) labelled(r *http.Request, text string) (string, error) {
	found, err := s.farm.Find(r.Context(), text)
	if err != nil {
		return "", err
	}
	return pathOf(found.Kind, found.Name), nil
}

// getLabel serves GET /c/{name} and its like: what the square of a label
// opens. Jars are at /j/{code}.
func getLabel(kind lab.LabelKind) func(*server, http.ResponseWriter, *http.Request) error {
	return func(s *server, w http.ResponseWriter, r *http.Request) error {
		to, err := s.labelled(r, lab.LabelPath(kind, r.PathValue("name")))
		if err != nil {
			return err
		}
		http.Redirect(w, r, to, http.StatusSeeOther)
		return nil
	}
}
