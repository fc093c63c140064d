package web

import (
	"cmp"
	"errors"
	"mime/multipart"
	"net/http"
	"slices"
	"strconv"
	"strings"
	"time"

	"pinset/internal/app"
	"pinset/internal/lab"
)

// photoEntries is how many jars the page of a batch takes a photo of at once.
const photoEntries = 6

// keepPhotos keeps the photos that a form carries. A field called file3 holds
// pictures of the jar that jar3 names, with note3; one called file those of
// the jar that is given.
func (s *server) keepPhotos(r *http.Request, f form, given string, jarOf func(typed string) string) (done app.Done, err error) {
	in := app.PhotosInput{Pressed: s.pressed(f)}
	var open []multipart.File
	defer func() {
		for _, file := range open {
			err = errors.Join(err, file.Close())
		}
	}()
	for _, suffix := range photoSuffixes(r) {
		jar := given
		if typed := strings.TrimSpace(f.Get("jar" + suffix)); typed != "" || suffix != "" {
			jar = jarOf(typed)
		}
		taken := f.All("taken" + suffix)
		for i, header := range r.MultipartForm.File["file"+suffix] {
			file, err := header.Open()
			if err != nil {
				return app.Done{}, err
			}
			open = append(open, file)
			p := app.NewPhoto{Jar: jar, Picture: file, Note: f.Get("note" + suffix), At: f.Get("when")}
			if i < len(taken) {
				p.Taken = taken[i]
			}
			in.Photos = append(in.Photos, p)
		}
	}
	if len(in.Photos) == 0 {
		return app.Done{}, lab.Invalidf("file", "take one, or choose one that is on this device", "there is no photo")
	}
	return s.farm.AddPhotos(r.Context(), act(r), in)
}

// photoSuffixes returns what stands behind "file" in the names of the fields
// that hold a picture, in order.
func photoSuffixes(r *http.Request) []string {
	if r.MultipartForm == nil {
		return nil
	}
	var out []string
	for name := range r.MultipartForm.File {
		suffix, ok := strings.CutPrefix(name, "file")
		if _, err := strconv.Atoi(cmp.Or(suffix, "0")); ok && err == nil {
			out = append(out, suffix)
		}
	}
	slices.SortFunc(out, func(a, b string) int {
		m, _ := strconv.Atoi(a)
		n, _ := strconv.Atoi(b)
		return m - n
	})
	return out
}

// pressed returns when an entry was made that waited on the phone, zero if it
// did not.
func (s *server) pressed(f form) time.Time {
	waited, ok := waitOf(f.Get("waited"))
	if !ok {
		return time.Time{}
	}
	return s.farm.Now().Add(-waited)
}

// jarOnBatch reads a jar as typed on the page of a batch: a bare number is
// one of that batch.
func jarOnBatch(batch string) func(typed string) string {
	return func(typed string) string {
		if _, err := strconv.Atoi(typed); err == nil {
			return batch + "·" + typed
		}
		return typed
	}
}
