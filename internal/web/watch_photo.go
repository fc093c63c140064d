package web

import (
	"bytes"
	"fmt"
	"net/http"
	"slices"
	"strings"
	"time"

	"pinset/internal/app"
	"pinset/internal/lab"
)

// shown is a photo as pages show it.
type shown struct {
	app.PhotoRow
	zone  *time.Location
	alone bool // all photos of the page are of one jar
}

func shownAll(rows []app.PhotoRow, zone *time.Location) []shown {
	out := make([]shown, len(rows))
	for i, p := range rows {
		out[i] = shown{p, zone, !slices.ContainsFunc(rows, func(q app.PhotoRow) bool { return q.Jar != p.Jar })}
	}
	return out
}

// Brief is what stands below a small one: its day, with the jar where there
// are several.
func (p shown) Brief() string {
	if p.alone {
		return capital(p.Day())
	}
	return p.Name + ", " + p.Day()
}

// Path is the address of the photo's own page.
func (p shown) Path() string { return at("photos", string(p.ID)) }

// File is the address of a size of it, which never changes.
func (p shown) File(hash string) string { return at("photos", string(p.ID), hash+".jpg") }

// Sources are its sizes for the attribute srcset, each with how many pixels
// wide it is; of a small picture those that are the same once.
func (p shown) Sources() string {
	small, middle, whole := p.Widths()
	all := fmt.Sprintf("%s %dw", p.File(p.Small), small)
	if middle > small {
		all += fmt.Sprintf(", %s %dw", p.File(p.Middle), middle)
	}
	if whole > middle {
		all += fmt.Sprintf(", %s %dw", p.File(p.Whole), whole)
	}
	return all
}

// Day says how old the jar was: "day 12", and "day 3 from filling" before it
// was inoculated.
func (p shown) Day() string { return dayOfAge(p.Age, p.Since) }

func dayOfAge(age int, since string) string {
	switch since {
	case "inoculation":
		return fmt.Sprintf("day %d", age)
	case "filling":
		return fmt.Sprintf("day %d from filling", age)
	}
	return "day not known"
}

// At says when it was taken.
func (p shown) At() string { return p.Photo.At.Show(p.zone) }

// Says describes the photo for who does not see it: whose, when and by whom.
func (p shown) Says() string {
	parts := []string{"Photo of " + p.Name, p.Day(), p.At()}
	if p.By != "" {
		parts = append(parts, "by "+p.By)
	}
	if p.Note != "" {
		parts = append(parts, p.Note)
	}
	return strings.Join(parts, ", ")
}

// photoPage shows one photo.
type photoPage struct {
	frame
	app.PhotoView
	Photo shown
	Form  form
}

func (photoPage) template() string { return "watch/photo" }

// getPhoto serves GET /photos/{photo}.
func (s *server) getPhoto(w http.ResponseWriter, r *http.Request) error {
	return s.showPhoto(w, r, http.StatusOK, form{})
}

func (s *server) showPhoto(w http.ResponseWriter, r *http.Request, status int, f form) error {
	v, err := s.farm.Photo(r.Context(), lab.EntryID(r.PathValue("photo")))
	if err != nil {
		return err
	}
	p := &photoPage{frame: frame{Title: "Photo of " + v.Name, Section: "/shelf", Photos: true}, PhotoView: v, Form: f}
	p.Photo = shownAll([]app.PhotoRow{v.PhotoRow}, s.farm.Zone(r.Context()))[0]
	return s.show(w, r, status, p)
}

// Owner reports whether who looks may remove the photo.
func (p *photoPage) Owner() bool { return p.Role.May(lab.Owner) }

// getPhotoFile serves GET /photos/{photo}/{file}: a JPEG that Pinset drew. Its
// name is its hash, so that a browser keeps it for good.
func (s *server) getPhotoFile(w http.ResponseWriter, r *http.Request) error {
	name, ok := strings.CutSuffix(r.PathValue("file"), ".jpg")
	if !ok {
		return notFoundPage(r)
	}
	data, err := s.farm.PhotoFile(r.Context(), lab.EntryID(r.PathValue("photo")), name)
	if err != nil {
		return err
	}
	h := w.Header()
	h.Set("Content-Type", "image/jpeg")
	h.Set("Content-Disposition", "inline")
	h.Set("Cache-Control", "private, max-age=31536000, immutable")
	h.Set("ETag", `"`+name+`"`)
	http.ServeContent(w, r, "", time.Time{}, bytes.NewReader(data))
	return nil
}

// postPhoto serves POST /photos/{photo}: a correction of its time or note.
func (s *server) postPhoto(w http.ResponseWriter, r *http.Request) error {
	f := formOf(r)
	v, err := s.farm.CorrectPhoto(r.Context(), act(r), lab.EntryID(r.PathValue("photo")), f.Get("when"), f.Get("note"))
	if err != nil {
		if f, err = f.with(err); err != nil {
			return err
		}
		if f.problem.Field == "at" {
			f.problem.Field = "when"
		}
		return s.showPhoto(w, r, http.StatusUnprocessableEntity, f)
	}
	remember(w, r, v.Deed, v.Name+": photo corrected")
	return seeOther(w, r, at("photos", string(v.ID)))
}

// postPhotoRemove serves POST /photos/{photo}/remove.
func (s *server) postPhotoRemove(w http.ResponseWriter, r *http.Request) error {
	id := lab.EntryID(r.PathValue("photo"))
	v, err := s.farm.Photo(r.Context(), id)
	if err != nil {
		return err
	}
	erase := formOf(r).Is("delete", "yes")
	done, err := s.farm.RemovePhoto(r.Context(), act(r), id, erase)
	if err != nil {
		return err
	}
	deed := done.Deed
	if erase {
		deed = "" // there is nothing to bring back
	}
	remember(w, r, deed, done.What)
	return seeOther(w, r, at("j", string(v.Code), "photos"))
}

// seriesPage shows the photos of one jar in the order of its days, or those of
// two jars day by day.
type seriesPage struct {
	frame
	Jar    app.JarView
	Page   app.PhotoPage
	Shown  []shown // the first day first
	Pair   *app.PhotoPair
	Days   []pairDay
	Beside string
	Form   form
}

// pairDay is the photos of two jars at one age.
type pairDay struct {
	Day    string
	Photos [2][]shown
}

func (seriesPage) template() string { return "watch/series" }

// getSeries serves GET /j/{code}/photos.
func (s *server) getSeries(w http.ResponseWriter, r *http.Request) error {
	return s.showSeries(w, r, http.StatusOK, formOf(r))
}

func (s *server) showSeries(w http.ResponseWriter, r *http.Request, status int, f form) error {
	ctx := r.Context()
	v, err := s.farm.JarView(ctx, r.PathValue("code"))
	if err != nil {
		return err
	}
	p := &seriesPage{frame: frame{Title: "Photos of " + v.Name, Section: "/shelf", Room: true, Photos: true}, Jar: v, Form: f, Beside: strings.TrimSpace(f.Get("beside"))}
	zone := s.farm.Zone(ctx)
	if p.Beside != "" {
		pair, err := s.farm.PhotosBeside(ctx, string(v.Row.Code), jarOnBatch(v.Batch.String())(p.Beside))
		if err == nil {
			p.Pair, p.Title = &pair, pair.Names[0]+" beside "+pair.Names[1]
			for _, d := range pair.Days {
				p.Days = append(p.Days, pairDay{dayOfAge(d.Age, d.Since), [2][]shown{shownAll(d.Photos[0], zone), shownAll(d.Photos[1], zone)}})
			}
			return s.show(w, r, status, p)
		}
		if p.Form, err = f.with(err); err != nil {
			return err
		}
		status, p.Form.problem.Field = http.StatusUnprocessableEntity, "beside"
	}
	if p.Page, err = s.farm.PhotosOfJar(ctx, string(v.Row.Code), lab.EntryID(f.Get("before")), 0); err != nil {
		return err
	}
	p.Shown = shownAll(p.Page.Photos, zone)
	slices.Reverse(p.Shown)
	return s.show(w, r, status, p)
}

// Path is the address of the series.
func (p *seriesPage) Path() string { return at("j", string(p.Jar.Row.Code), "photos") }

// postJarPhotos serves POST /j/{code}/photos.
func (s *server) postJarPhotos(w http.ResponseWriter, r *http.Request) error {
	f, code := formOf(r), r.PathValue("code")
	done, err := s.keepPhotos(r, f, code, func(typed string) string { return typed })
	if err != nil {
		if f, err = f.with(err); err != nil {
			return err
		}
		return s.showSeries(w, r, http.StatusUnprocessableEntity, f)
	}
	remember(w, r, done.Deed, done.What)
	return seeOther(w, r, at("j", code, "photos"))
}

// photosPage shows the photos of a batch, the latest first, and takes some.
type photosPage struct {
	frame
	Batch lab.Batch
	Page  app.PhotoPage
	Shown []shown
	Form  form
}

func (photosPage) template() string { return "watch/photos" }

// getBatchPhotos serves GET /batches/{batch}/photos.
func (s *server) getBatchPhotos(w http.ResponseWriter, r *http.Request) error {
	return s.showBatchPhotos(w, r, http.StatusOK, formOf(r))
}

func (s *server) showBatchPhotos(w http.ResponseWriter, r *http.Request, status int, f form) error {
	ctx := r.Context()
	b, err := s.farm.Batch(ctx, r.PathValue("batch"))
	if err != nil {
		return err
	}
	p := &photosPage{frame: frame{Title: "Photos, " + b.String(), Section: "/shelf", Room: true, Photos: true}, Batch: b, Form: f}
	if p.Page, err = s.farm.PhotosOfBatch(ctx, b.String(), lab.EntryID(f.Get("before")), 0); err != nil {
		return err
	}
	p.Shown = shownAll(p.Page.Photos, s.farm.Zone(ctx))
	return s.show(w, r, status, p)
}

// Path is the address of the batch.
func (p *photosPage) Path() string { return at("batches", p.Batch.String()) }

// Entries numbers the jars that are photographed at once.
func (*photosPage) Entries() []int {
	out := make([]int, photoEntries)
	for i := range out {
		out[i] = i + 1
	}
	return out
}

// postBatchPhotos serves POST /batches/{batch}/photos, also from rounds.
func (s *server) postBatchPhotos(w http.ResponseWriter, r *http.Request) error {
	f, batch := formOf(r), r.PathValue("batch")
	done, err := s.keepPhotos(r, f, "", jarOnBatch(batch))
	rounds := f.Has("since")
	if err != nil {
		if f, err = f.with(err); err != nil {
			return err
		}
		if rounds {
			return s.showRounds(w, r, http.StatusUnprocessableEntity, f)
		}
		return s.showBatchPhotos(w, r, http.StatusUnprocessableEntity, f)
	}
	remember(w, r, done.Deed, done.What)
	if rounds {
		return seeOther(w, r, at("batches", batch, "rounds")+f.onward("after", "since"))
	}
	return seeOther(w, r, at("batches", batch, "photos"))
}

// postShelfPhotos serves POST /shelves/{shelf}/photos, from rounds.
func (s *server) postShelfPhotos(w http.ResponseWriter, r *http.Request) error {
	f, shelf := formOf(r), r.PathValue("shelf")
	only := "" // the batch of bare numbers, where all jars are of one
	v, err := s.farm.Round(r.Context(), shelf, s.roundBegan(f))
	if err != nil {
		return err
	}
	if len(v.Rows) == 1 {
		only = v.Rows[0].Batch.String()
	}
	done, err := s.keepPhotos(r, f, "", func(typed string) string {
		if only == "" {
			return typed
		}
		return jarOnBatch(only)(typed)
	})
	if err != nil {
		if f, err = f.with(err); err != nil {
			return err
		}
		return s.showShelfRounds(w, r, http.StatusUnprocessableEntity, f)
	}
	remember(w, r, done.Deed, done.What)
	return seeOther(w, r, at("shelves", shelf, "rounds")+f.onward("since"))
}
