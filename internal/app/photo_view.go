package app

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"io/fs"
	"slices"
	"time"

	"pinset/internal/lab"
	"pinset/internal/photo"
	"pinset/internal/store"
)

// PhotoRow is a photo with what a page says of it.
type PhotoRow struct {
	lab.Photo
	Name  string   // of its jar: "B12·13"
	Code  lab.Code // of its jar
	Age   int      // whole days since the jar was inoculated, or filled if it was not
	Since string   // "inoculation" or "filling"; "" if the age is not known
	Arm   string   // as the shelf may see it, "" while the key of a blind trial is closed
}

// Widths returns how many pixels wide its sizes are.
func (p PhotoRow) Widths() (small, middle, whole int) {
	small, _ = photo.Fit(p.Width, p.Height, photo.SmallSide)
	middle, _ = photo.Fit(p.Width, p.Height, photo.MiddleSide)
	return small, middle, p.Width
}

// PhotoView is one photo by itself.
type PhotoView struct {
	PhotoRow
	Batch          lab.Batch
	Earlier, Later lab.EntryID // of the same jar, "" at the ends
	Doubt          string      // why the clock of the camera must be wrong, "" if nothing speaks against it
	Clock          string      // what the camera said, for people; "" if nothing or the same as At
}

// Photo returns the photo with that id, a NotFound Problem if none holds.
func (f *Farm) Photo(ctx context.Context, id lab.EntryID) (PhotoView, error) {
	var v PhotoView
	err := f.store.Read(ctx, func(r store.Reader) error {
		p, err := photoThatHolds(ctx, r, id)
		if err != nil {
			return err
		}
		rows, err := r.Jars(ctx, store.JarFilter{IDs: []lab.JarID{p.Jar}})
		if err != nil {
			return err
		}
		s, err := readSettings(ctx, r)
		if err != nil {
			return err
		}
		shown, err := f.photoRows(ctx, r, []lab.Photo{p}, rows, s.Zone)
		if err != nil {
			return err
		}
		v.PhotoRow = shown[0]
		v.Clock, v.Doubt = f.cameraSaid(p, rows[0].Jar, s.Zone)
		if v.Batch, err = r.Batch(ctx, rows[0].Batch); err != nil {
			return err
		}
		return v.neighbours(ctx, r)
	})
	return v, err
}

// cameraSaid returns what a camera's clock said, and what is wrong with it.
func (f *Farm) cameraSaid(p lab.Photo, j lab.Jar, zone *time.Location) (said, doubt string) {
	t, err := lab.CameraTime(p.Taken, zone)
	if err != nil {
		return "", ""
	}
	at, doubt := j.ByCamera(t, f.now(), zone)
	if at == p.At {
		return "", ""
	}
	return at.Show(zone), doubt
}

// neighbours finds the photos of the same jar before and after v.
func (v *PhotoView) neighbours(ctx context.Context, r store.Reader) error {
	before, err := r.Photos(ctx, store.PhotoFilter{Jars: []lab.JarID{v.Jar}, Before: v.ID, Limit: 1})
	if err != nil {
		return err
	}
	if len(before) > 0 {
		v.Earlier = before[0].ID
	}
	after, err := r.Photos(ctx, store.PhotoFilter{Jars: []lab.JarID{v.Jar}, After: v.ID, Limit: 1})
	if err != nil {
		return err
	}
	if len(after) > 0 {
		v.Later = after[0].ID
	}
	return nil
}

// pageOfPhotos bounds the photos that one page shows.
const pageOfPhotos = 48

// PhotoPage is some photos, the latest first.
type PhotoPage struct {
	Photos []PhotoRow
	All    int         // how many there are
	More   lab.EntryID // asks for those behind them, "" if there are none
}

// PhotosOfJar returns the photos of one jar, at most 48 or limit if that is
// not 0, beginning behind the photo before, "" for the latest.
func (f *Farm) PhotosOfJar(ctx context.Context, name string, before lab.EntryID, limit int) (PhotoPage, error) {
	var p PhotoPage
	err := f.store.Read(ctx, func(r store.Reader) error {
		rows, err := findJars(ctx, r, []string{name})
		if err != nil {
			return err
		}
		p, err = f.photoPage(ctx, r, store.PhotoFilter{Jars: idsOf(rows), Before: before}, limit)
		return err
	})
	return p, err
}

// PhotosOfBatch returns the photos of a batch as PhotosOfJar does.
func (f *Farm) PhotosOfBatch(ctx context.Context, name string, before lab.EntryID, limit int) (PhotoPage, error) {
	var p PhotoPage
	err := f.store.Read(ctx, func(r store.Reader) error {
		b, err := r.BatchByName(ctx, name)
		if err != nil {
			return err
		}
		p, err = f.photoPage(ctx, r, store.PhotoFilter{Batch: b.ID, Before: before}, limit)
		return err
	})
	return p, err
}

func (f *Farm) photoPage(ctx context.Context, r store.Reader, filter store.PhotoFilter, limit int) (PhotoPage, error) {
	var p PhotoPage
	if limit < 1 || limit > pageOfPhotos {
		limit = pageOfPhotos
	}
	all := filter
	all.Before = ""
	var err error
	if p.All, err = r.CountPhotos(ctx, all); err != nil {
		return p, err
	}
	filter.Limit = limit + 1
	found, err := r.Photos(ctx, filter)
	if err != nil {
		return p, err
	}
	if len(found) > limit {
		found = found[:limit]
		p.More = found[limit-1].ID
	}
	s, err := readSettings(ctx, r)
	if err != nil {
		return p, err
	}
	rows, err := jarsOfPhotos(ctx, r, found)
	if err != nil {
		return p, err
	}
	p.Photos, err = f.photoRows(ctx, r, found, rows, s.Zone)
	return p, err
}

func jarsOfPhotos(ctx context.Context, r store.Reader, photos []lab.Photo) ([]store.JarRow, error) {
	var ids []lab.JarID
	for _, p := range photos {
		if !slices.Contains(ids, p.Jar) {
			ids = append(ids, p.Jar)
		}
	}
	if len(ids) == 0 {
		return nil, nil
	}
	return r.Jars(ctx, store.JarFilter{IDs: ids})
}

// photoRows says of each photo whose it is and how old the jar was.
func (f *Farm) photoRows(ctx context.Context, r store.Reader, photos []lab.Photo, jars []store.JarRow, zone *time.Location) ([]PhotoRow, error) {
	batches := make(map[lab.BatchID]lab.Batch)
	closed := make(map[lab.BatchID]bool) // the key of its trial
	for _, j := range jars {
		if _, ok := batches[j.Batch]; ok {
			continue
		}
		b, err := r.Batch(ctx, j.Batch)
		if err != nil {
			return nil, err
		}
		batches[b.ID] = b
		if closed[b.ID], err = isClosed(ctx, r, b.Trial); err != nil {
			return nil, err
		}
	}
	out := make([]PhotoRow, len(photos))
	for i, p := range photos {
		at := slices.IndexFunc(jars, func(j store.JarRow) bool { return j.Jar.ID == p.Jar })
		if at < 0 {
			return nil, fmt.Errorf("app: photo %s is of jar %s, which is not there", p.ID, p.Jar)
		}
		j := jars[at]
		out[i] = PhotoRow{Photo: p, Name: fmt.Sprintf("%s·%d", batches[j.Batch], j.Number), Code: j.Code}
		out[i].Age, out[i].Since = ageAt(j, p.At, zone)
		if !closed[j.Batch] {
			out[i].Arm = j.Arm
		}
	}
	return out, nil
}

// isClosed reports whether the arms of a trial go by letters.
func isClosed(ctx context.Context, r store.Reader, id lab.TrialID) (bool, error) {
	if id == "" {
		return false, nil
	}
	t, err := r.Trial(ctx, id)
	if err != nil {
		return false, err
	}
	m, err := maskOf(ctx, r, t)
	return m.closed(), err
}

// ageAt returns how many days old a jar was at a time, and since what.
func ageAt(j store.JarRow, at lab.When, zone *time.Location) (days int, since string) {
	if n, ok := at.DaysSince(j.Inoculated, zone); ok && n >= 0 {
		return n, "inoculation"
	}
	if n, ok := at.DaysSince(j.Filled, zone); ok && n >= 0 {
		return n, "filling"
	}
	return 0, ""
}

// PhotoFile returns the file of a photo that holds: one of its three sizes,
// named by its hash. Anything else is a NotFound Problem.
func (f *Farm) PhotoFile(ctx context.Context, id lab.EntryID, name string) ([]byte, error) {
	var p lab.Photo
	err := f.store.Read(ctx, func(r store.Reader) (err error) {
		p, err = photoThatHolds(ctx, r, id)
		return err
	})
	if err != nil {
		return nil, err
	}
	if f.files == nil || !slices.Contains(p.Files(), name) {
		return nil, lab.NotFoundf("look at the photos of its jar", "there is no such picture")
	}
	data, err := f.files.Get(ctx, name)
	if errors.Is(err, fs.ErrNotExist) {
		return nil, lab.NotFoundf("bring the folder of the photos back from a backup", "the file of this photo is not there")
	}
	return data, err
}

// PhotoSweep is what came of a sweep.
type PhotoSweep struct {
	Files   int // that photos are made of
	Swept   int // that none is made of, removed
	Missing int // that a photo is made of, and that are not there
}

// SweepPhotos removes the files that no photo is made of and that were put
// before a time, such as those of an entry that was cut short. Photos that
// were taken off the pages keep their files, unless those were deleted too.
func (f *Farm) SweepPhotos(ctx context.Context, before time.Time) (PhotoSweep, error) {
	var s PhotoSweep
	if f.files == nil {
		return s, nil
	}
	wanted, err := f.filesOfPhotos(ctx)
	if err != nil {
		return s, err
	}
	there := make(map[string]bool)
	err = f.files.Each(ctx, func(name string, kept time.Time) error {
		there[name] = true
		if wanted[name] || !kept.Before(before) {
			return nil
		}
		s.Swept++
		return f.files.Remove(ctx, name)
	})
	if err != nil {
		return s, err
	}
	for name := range wanted {
		s.Files++
		if !there[name] {
			s.Missing++
		}
	}
	return s, nil
}

// filesOfPhotos returns the hashes of all files that are not deleted.
func (f *Farm) filesOfPhotos(ctx context.Context) (map[string]bool, error) {
	wanted := make(map[string]bool)
	err := f.store.Read(ctx, func(r store.Reader) error {
		entries, err := r.PhotoEntries(ctx)
		if err != nil {
			return err
		}
		before := make(map[lab.EntryID]lab.EntryID, len(entries)) // what each corrects
		for _, e := range entries {
			before[e.ID] = e.Corrects
		}
		erased := make(map[lab.EntryID]bool)
		for _, e := range entries {
			for id := e.ID; e.Erased && id != ""; id = before[id] {
				erased[id] = true
			}
		}
		for _, e := range entries {
			for _, name := range e.Files() {
				if !erased[e.ID] {
					wanted[name] = true
				}
			}
		}
		return nil
	})
	return wanted, err
}

// PhotoPair is the photos of two jars by the age that the jars had.
type PhotoPair struct {
	Names  [2]string // "B12·13"
	Codes  [2]lab.Code
	Arms   [2]string // as the shelf may see them, "" while the key of a blind trial is closed
	Days   []PairDay
	Sparse bool // one of them has more photos than are shown
}

// PairDay is the photos of two jars at one age.
type PairDay struct {
	Age    int
	Since  string // "inoculation" or "filling"; "" where the age is not known
	Photos [2][]PhotoRow
}

// mostBeside bounds the photos of each jar that stand beside those of another.
const mostBeside = 60

// PhotosBeside returns the photos of two jars, day of age by day of age, the
// first day first. At most the latest 60 of each are shown.
func (f *Farm) PhotosBeside(ctx context.Context, one, other string) (PhotoPair, error) {
	var pair PhotoPair
	err := f.store.Read(ctx, func(r store.Reader) error {
		jars, err := findJars(ctx, r, []string{one, other})
		if err != nil {
			return err
		}
		if jars[0].Jar.ID == jars[1].Jar.ID {
			return lab.Invalidf("beside", "name another jar", "%s does not stand beside itself", one)
		}
		if pair.Names, err = pairNames(ctx, r, jars); err != nil {
			return err
		}
		s, err := readSettings(ctx, r)
		if err != nil {
			return err
		}
		var all [2][]PhotoRow
		for i, j := range jars {
			pair.Codes[i] = j.Code
			found, err := r.Photos(ctx, store.PhotoFilter{Jars: []lab.JarID{j.Jar.ID}, Limit: mostBeside + 1})
			if err != nil {
				return err
			}
			if len(found) > mostBeside {
				found, pair.Sparse = found[:mostBeside], true
			}
			if all[i], err = f.photoRows(ctx, r, found, jars[i:i+1], s.Zone); err != nil {
				return err
			}
			slices.Reverse(all[i])
			if len(all[i]) > 0 {
				pair.Arms[i] = all[i][0].Arm
			}
		}
		pair.Days = pairDays(all)
		return nil
	})
	return pair, err
}

func pairNames(ctx context.Context, r store.Reader, jars []store.JarRow) (names [2]string, err error) {
	for i, j := range jars {
		b, err := r.Batch(ctx, j.Batch)
		if err != nil {
			return names, err
		}
		names[i] = fmt.Sprintf("%s·%d", b, j.Number)
	}
	return names, nil
}

// pairDays puts the photos of two jars together by age. Days since filling
// come before those since inoculation, photos without an age last.
func pairDays(all [2][]PhotoRow) []PairDay {
	order := map[string]int{"filling": 0, "inoculation": 1, "": 2}
	var days []PairDay
	for i, photos := range all {
		for _, p := range photos {
			at := slices.IndexFunc(days, func(d PairDay) bool { return d.Age == p.Age && d.Since == p.Since })
			if at < 0 {
				at, days = len(days), append(days, PairDay{Age: p.Age, Since: p.Since})
			}
			days[at].Photos[i] = append(days[at].Photos[i], p)
		}
	}
	slices.SortFunc(days, func(a, b PairDay) int {
		return cmp.Or(order[a.Since]-order[b.Since], a.Age-b.Age)
	})
	return days
}
