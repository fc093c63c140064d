package app

import (
	"context"
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"
	"time"

	"pinset/internal/lab"
	"pinset/internal/photo"
	"pinset/internal/store"
)

// MostPhotoBytes bounds the file of one photo, and MostPhotos how many are
// entered at once.
const (
	MostPhotoBytes = 16 << 20
	MostPhotos     = 12
)

// NewPhoto is one photo with the jar that it is of.
type NewPhoto struct {
	Jar     string // "B12·13" or a code
	Picture io.Reader
	Note    string
	At      string // as lab.ParseWhen reads it; "" is what the camera says, or now
	Taken   string // what a page knows of the camera's clock, where the file does not say it
}

// PhotosInput is what is entered in one act.
type PhotosInput struct {
	Photos  []NewPhoto
	Pressed time.Time // when it was entered, if it waited on the phone; zero is now
}

// AddPhotos keeps photos, all or none. The jars are looked up first, then the
// pictures are read and their files kept, then all is recorded. A picture
// that its jar has already is passed over.
func (f *Farm) AddPhotos(ctx context.Context, a Act, in PhotosInput) (Done, error) {
	if f.files == nil {
		return Done{}, &lab.Problem{Kind: lab.Refused, Field: "file", What: "no photos are kept here", Mend: "enter a note"}
	}
	if n := len(in.Photos); n == 0 || n > MostPhotos {
		return Done{}, lab.Invalidf("file", fmt.Sprintf("choose one to %d", MostPhotos), "%d photos are not kept at once", n)
	}
	for i := range in.Photos {
		var err error
		if in.Photos[i].Note, err = lab.Text("note", in.Photos[i].Note); err != nil {
			return Done{}, err
		}
	}
	if done, again, err := f.photosBefore(ctx, a, in); again || err != nil {
		return done, err
	}
	pictures := make([]lab.Photo, len(in.Photos))
	for i, p := range in.Photos {
		var err error
		if pictures[i], err = f.keepPicture(ctx, p); err != nil {
			return Done{}, ofJar(p.Jar, len(in.Photos), err)
		}
	}
	return f.recordPhotos(ctx, a, in, pictures)
}

// ofJar says which of several photos a Problem is about.
func ofJar(jar string, of int, err error) error {
	p, ok := lab.AsProblem(err)
	if !ok || of < 2 {
		return err
	}
	named := *p
	named.What = "of " + jar + ": " + p.What
	return &named
}

// photosBefore looks up the jars, and whether the act was stored before, so
// that no picture is read in vain.
func (f *Farm) photosBefore(ctx context.Context, a Act, in PhotosInput) (done Done, again bool, err error) {
	err = f.store.Read(ctx, func(r store.Reader) error {
		if a.ID != "" {
			d, err := r.Deed(ctx, a.ID)
			if err == nil {
				done, again = Done{Deed: d.ID, What: d.What, Repeat: true}, true
				return nil
			}
			if !lab.IsKind(err, lab.NotFound) {
				return err
			}
		}
		_, err := photoJars(ctx, r, in)
		return err
	})
	return done, again, err
}

// photoJars returns the jar of each photo.
func photoJars(ctx context.Context, r store.Reader, in PhotosInput) ([]store.JarRow, error) {
	names := make([]string, len(in.Photos))
	for i, p := range in.Photos {
		if names[i] = strings.TrimSpace(p.Jar); names[i] == "" {
			return nil, lab.Invalidf("jar", "write its number or its code first", "a photo belongs to no jar")
		}
	}
	return findJars(ctx, r, names)
}

// keepPicture reads a picture and keeps its files.
func (f *Farm) keepPicture(ctx context.Context, p NewPhoto) (lab.Photo, error) {
	raw, err := io.ReadAll(io.LimitReader(p.Picture, MostPhotoBytes+1))
	if err != nil {
		return lab.Photo{}, err
	}
	if len(raw) > MostPhotoBytes {
		return lab.Photo{}, lab.Invalidf("file", "take it in a smaller size, or save it as JPEG", "the file has more than %d MB", MostPhotoBytes>>20)
	}
	seen, err := f.readPicture(ctx, raw)
	if err != nil {
		return lab.Photo{}, notTaken(err)
	}
	kept := lab.Photo{Width: seen.Width, Height: seen.Height, Taken: seen.Taken + seen.Offset, Note: p.Note}
	if _, err := lab.CameraTime(p.Taken, time.UTC); kept.Taken == "" && err == nil {
		kept.Taken = p.Taken
	}
	for _, size := range []struct {
		name *string
		data []byte
	}{{&kept.Whole, seen.Whole}, {&kept.Middle, seen.Middle}, {&kept.Small, seen.Small}} {
		if *size.name, err = f.files.Put(ctx, size.data); err != nil {
			return lab.Photo{}, err
		}
	}
	return kept, nil
}

// readPicture reads pictures one at a time: a large one takes much memory.
func (f *Farm) readPicture(ctx context.Context, raw []byte) (photo.Picture, error) {
	select {
	case f.slot <- struct{}{}:
		defer func() { <-f.slot }()
	case <-ctx.Done():
		return photo.Picture{}, ctx.Err()
	}
	return photo.Read(raw)
}

// notTaken says why a picture is not taken, and what to do.
func notTaken(err error) error {
	for _, c := range []struct {
		is         error
		what, mend string
	}{
		{photo.ErrApple, "the picture is HEIC, which can not be read here", "on an iPhone choose Settings, Camera, Formats, Most Compatible; on others set the camera to JPEG; or send it from a phone, whose browser makes a JPEG of it"},
		{photo.ErrAVIF, "the picture is AVIF, which can not be read here", "set the camera to JPEG, or save the picture as JPEG"},
		{photo.ErrLarge, fmt.Sprintf("the picture has more pixels than can be read here, %d megapixels of a plain JPEG", photo.MostPixels/1_000_000), "set the camera to 12 megapixels, or save the picture in a smaller size"},
		{photo.ErrBroken, "the picture can not be read to its end", "send it again, or take another"},
		{photo.ErrFormat, "the file is no JPEG, PNG or WebP picture", "choose a picture, or set the camera to JPEG"},
	} {
		if errors.Is(err, c.is) {
			return &lab.Problem{Kind: lab.Invalid, Field: "file", What: c.what, Mend: c.mend}
		}
	}
	return err
}

// recordPhotos records pictures whose files are kept.
func (f *Farm) recordPhotos(ctx context.Context, a Act, in PhotosInput, pictures []lab.Photo) (Done, error) {
	var done Done
	err := f.store.Write(ctx, func(w store.Writer) error {
		rows, err := photoJars(ctx, w, in)
		if err != nil {
			return err
		}
		fresh, err := f.newPhotos(ctx, w, in, rows, pictures)
		if err != nil {
			return err
		}
		names, all, err := nameJars(ctx, w, uniqueRows(rows))
		if err != nil {
			return err
		}
		if len(fresh) == 0 { // every jar has its picture already
			held, err := w.Photos(ctx, store.PhotoFilter{Jars: idsOf(rows), Whole: []string{pictures[0].Whole}, Limit: 1})
			if err != nil || len(held) == 0 {
				return err
			}
			done = Done{Deed: held[0].Deed, What: all + ": the photo is kept already", Jars: names, Repeat: true}
			return nil
		}
		about := "photo"
		if len(fresh) > 1 {
			about = fmt.Sprintf("%d photos", len(fresh))
		}
		deed, err := f.deed(a, commonBatch(rows), "%s: %s", all, about)
		if err != nil {
			return err
		}
		done = Done{Deed: deed.ID, What: deed.What, Jars: names}
		added, err := w.AddDeed(ctx, deed)
		if err != nil || !added {
			done.Repeat = !added
			return err
		}
		for i := range fresh {
			fresh[i].Entry = entryOf(deed, fresh[i].At)
		}
		return w.AddPhotos(ctx, fresh)
	})
	return done, err
}

// uniqueRows returns each jar once, in order.
func uniqueRows(rows []store.JarRow) []store.JarRow {
	var out []store.JarRow
	for _, j := range rows {
		if !slices.ContainsFunc(out, func(k store.JarRow) bool { return k.Jar.ID == j.Jar.ID }) {
			out = append(out, j)
		}
	}
	return out
}

// newPhotos returns those pictures that their jar does not have yet, with
// when they were taken.
func (f *Farm) newPhotos(ctx context.Context, r store.Reader, in PhotosInput, rows []store.JarRow, pictures []lab.Photo) ([]lab.Photo, error) {
	wholes := make([]string, len(pictures))
	for i, p := range pictures {
		wholes[i] = p.Whole
	}
	held, err := r.Photos(ctx, store.PhotoFilter{Jars: idsOf(rows), Whole: wholes})
	if err != nil {
		return nil, err
	}
	var fresh []lab.Photo
	for i, p := range pictures {
		p.Jar = rows[i].Jar.ID
		if slices.ContainsFunc(append(held, fresh...), p.SameAs) {
			continue
		}
		if p.At, err = f.photoTime(ctx, r, in, i, rows[i].Jar, p.Taken); err != nil {
			return nil, err
		}
		fresh = append(fresh, p)
	}
	return fresh, nil
}

// photoTime returns when a photo was taken: as typed, else by the camera
// unless its clock must be wrong, else when it was entered.
func (f *Farm) photoTime(ctx context.Context, r store.Reader, in PhotosInput, i int, j lab.Jar, taken string) (lab.When, error) {
	if typed := strings.TrimSpace(in.Photos[i].At); typed != "" {
		return f.when(ctx, r, "at", typed)
	}
	s, err := readSettings(ctx, r)
	if err != nil {
		return lab.When{}, err
	}
	if t, err := lab.CameraTime(taken, s.Zone); err == nil {
		if at, doubt := j.ByCamera(t, f.now(), s.Zone); doubt == "" {
			return at, nil
		}
	}
	if !in.Pressed.IsZero() && in.Pressed.Before(f.now()) {
		return lab.At(in.Pressed), nil
	}
	return lab.At(f.now()), nil
}

// photoWords says in the life of a jar that it was photographed.
func photoWords(p lab.Photo) string {
	if p.Note == "" {
		return "photo"
	}
	return "photo: " + p.Note
}

// CorrectPhoto changes when a photo was taken, its note, or both, by a further
// entry.
func (f *Farm) CorrectPhoto(ctx context.Context, a Act, id lab.EntryID, at, note string) (PhotoView, error) {
	note, err := lab.Text("note", note)
	if err != nil {
		return PhotoView{}, err
	}
	var next lab.Photo
	err = f.store.Write(ctx, func(w store.Writer) error {
		p, err := photoThatHolds(ctx, w, id)
		if err != nil {
			return err
		}
		when := p.At
		if strings.TrimSpace(at) != "" {
			if when, err = f.when(ctx, w, "at", at); err != nil {
				return err
			}
		}
		deed, err := f.photoDeed(ctx, w, a, p, "photo corrected")
		if err != nil {
			return err
		}
		fresh, err := w.AddDeed(ctx, deed)
		if err != nil || !fresh {
			next = p
			return err
		}
		next = p
		next.Entry, next.Note = entryOf(deed, when), note
		next.Corrects = p.ID
		return w.AddPhotos(ctx, []lab.Photo{next})
	})
	if err != nil {
		return PhotoView{}, err
	}
	return f.Photo(ctx, next.ID)
}

// photoDeed returns the record of an act on one photo.
func (f *Farm) photoDeed(ctx context.Context, r store.Reader, a Act, p lab.Photo, about string) (lab.Deed, error) {
	rows, err := r.Jars(ctx, store.JarFilter{IDs: []lab.JarID{p.Jar}})
	if err != nil {
		return lab.Deed{}, err
	}
	_, all, err := nameJars(ctx, r, rows)
	if err != nil {
		return lab.Deed{}, err
	}
	return f.deed(a, commonBatch(rows), "%s: %s", all, about)
}

// RemovePhoto takes a photo off the pages by an entry that withdraws it. With
// erase its files are deleted too, unless another photo that holds is made of
// them; that can not be taken back.
func (f *Farm) RemovePhoto(ctx context.Context, a Act, id lab.EntryID, erase bool) (Done, error) {
	var done Done
	var gone []string
	err := f.store.Write(ctx, func(w store.Writer) error {
		p, err := photoThatHolds(ctx, w, id)
		if err != nil {
			return err
		}
		about := "photo removed"
		if erase {
			about = "photo removed, its files deleted"
		}
		deed, err := f.photoDeed(ctx, w, a, p, about)
		if err != nil {
			return err
		}
		done = Done{Deed: deed.ID, What: deed.What}
		fresh, err := w.AddDeed(ctx, deed)
		if err != nil || !fresh {
			done.Repeat = !fresh
			return err
		}
		others, err := w.CountPhotos(ctx, store.PhotoFilter{Whole: []string{p.Whole}})
		if err != nil {
			return err
		}
		if erase && others == 1 {
			gone = p.Files()
		}
		p.Entry, p.Erased = withdrawal(deed, p.Entry), erase
		return w.AddPhotos(ctx, []lab.Photo{p})
	})
	if err != nil {
		return done, err
	}
	for _, name := range gone { // after the record: a file too many is swept, one too few is lost
		if err := f.files.Remove(ctx, name); err != nil {
			return done, err
		}
	}
	return done, nil
}

// takenBack returns what takes the entries on photos back. A photo that was
// added is withdrawn; one that was corrected or removed stands as before.
func takenBack(ctx context.Context, r store.Reader, d lab.Deed, photos []lab.Photo) ([]lab.Photo, error) {
	var out []lab.Photo
	for _, p := range photos {
		entries, err := r.PhotoEntries(ctx, p.Jar)
		if err != nil {
			return nil, err
		}
		byID := make(map[lab.EntryID]lab.Photo, len(entries))
		for _, e := range entries {
			byID[e.ID] = e
			if e.Corrects == p.ID {
				return nil, lab.Conflictf("undo that first", "the photo was corrected or removed since")
			}
		}
		if p.Erased {
			return nil, lab.Conflictf("add the picture again, if you have it", "the files of the photo are deleted")
		}
		back := p
		back.Entry = withdrawal(d, p.Entry)
		if was, ok := byID[p.Corrects]; ok {
			back = was
			back.Entry = entryOf(d, was.At)
			back.Corrects = p.ID
		}
		out = append(out, back)
	}
	return out, nil
}

// photoThatHolds returns a photo that nothing corrects.
func photoThatHolds(ctx context.Context, r store.Reader, id lab.EntryID) (lab.Photo, error) {
	absent := lab.NotFoundf("look at the photos of its jar", "there is no such photo, or it was corrected or removed")
	if _, err := lab.ParseID[lab.EntryID](string(id)); err != nil {
		return lab.Photo{}, absent
	}
	found, err := r.Photos(ctx, store.PhotoFilter{IDs: []lab.EntryID{id}})
	if err != nil {
		return lab.Photo{}, err
	}
	if len(found) == 0 {
		return lab.Photo{}, absent
	}
	return found[0], nil
}
