package app_test

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"math/rand/v2"
	"strings"
	"testing"
	"time"

	"pinset/internal/app"
	"pinset/internal/lab"
	"pinset/internal/photo/phototest"
	"pinset/internal/store"
	"pinset/internal/store/sqldb"
	"pinset/internal/testdb"
)

// shoot keeps one photo of a jar and returns it.
func (b *bench) shoot(jar string, s phototest.Shot, more ...func(*app.NewPhoto)) app.PhotoRow {
	b.t.Helper()
	must(b.AddPhotos(b.ctx, app.Act{By: "MO"}, photosOf(jar, s, more...)))(b)
	deeds := must(b.Deeds(b.ctx, "", 1))(b)
	for _, p := range must(b.PhotosOfJar(b.ctx, jar, "", 0))(b).Photos {
		if p.Deed == deeds[0].ID {
			return p
		}
	}
	b.t.Fatal("the photo is not among those of its jar")
	return app.PhotoRow{}
}

func photosOf(jar string, s phototest.Shot, more ...func(*app.NewPhoto)) app.PhotosInput {
	if s.Width == 0 {
		s.Width, s.Height = 40, 30
	}
	p := app.NewPhoto{Jar: jar, Picture: bytes.NewReader(phototest.JPEG(s))}
	for _, change := range more {
		change(&p)
	}
	return app.PhotosInput{Photos: []app.NewPhoto{p}}
}

func TestPhotoIsKeptWithItsJar(t *testing.T) {
	onBoth(t, func(b *bench) {
		b.supplies()
		k := b.cooked(plan("Oats or millet"), 60)
		batch := k.Batch.String()
		must(b.Inoculate(b.ctx, app.Act{}, app.InoculateInput{Batch: batch}))(b)
		b.clock.days(9)
		p := b.shoot(batch+"·3", phototest.Shot{Width: 60, Height: 40, Orientation: 6}, func(n *app.NewPhoto) { n.Note = " fogged lid " })
		if p.Name != batch+"·3" || p.Width != 40 || p.Height != 60 || p.Note != "fogged lid" || p.By != "MO" || p.Age != 9 || p.Since != "inoculation" || p.At != lab.At(b.clock.Now()) {
			t.Errorf("photo %+v", p)
		}
		for _, name := range p.Files() {
			data := must(b.PhotoFile(b.ctx, p.ID, name))(b)
			if !bytes.HasPrefix(data, []byte("\xff\xd8\xff")) || bytes.Contains(data, []byte("GPS")) {
				t.Errorf("the file %s is no JPEG, or says where it was taken", name)
			}
		}
		view := must(b.JarView(b.ctx, batch+"·3"))(b)
		if view.History[0].What != "photo: fogged lid" {
			t.Errorf("its life says %q", view.History[0].What)
		}
		for what, ask := range map[string][2]string{"another file": {string(p.ID), strings.Repeat("0", 64)}, "no photo": {"x", p.Small}, "another photo": {string(app.NewActID()), p.Small}} {
			if _, err := b.PhotoFile(b.ctx, lab.EntryID(ask[0]), ask[1]); !lab.IsKind(err, lab.NotFound) {
				t.Errorf("%s: %v", what, err)
			}
		}
	})
}

// TestWhenAPhotoWasTaken: what was typed holds, then the camera unless its
// clock must be wrong, then when it was entered.
func TestWhenAPhotoWasTaken(t *testing.T) {
	onBoth(t, func(b *bench) {
		b.supplies()
		jar := b.cooked(plan("Oats or millet"), 60).Batch.String() + "·1"
		b.clock.days(10) // 12 March; filled on the second
		now := b.clock.Now()
		exact := func(s string) lab.When {
			return lab.At(must(time.Parse(time.DateTime, s))(b))
		}
		for i, c := range []struct {
			name, taken, typed, page string
			pressed                  time.Time
			want                     lab.When
			doubt                    string
		}{
			{"the camera", "2026:03:08 14:30:05", "", "", time.Time{}, exact("2026-03-08 14:30:05"), ""},
			{"typed", "2026:03:08 14:30:05", "2026-03-07", "", time.Time{}, lab.OnDay(exact("2026-03-07 00:00:00").Time), ""},
			{"a clock that was reset", "2020:01:01 00:03:00", "", "", time.Time{}, lab.At(now), "before the jar was filled"},
			{"a clock that is ahead", "2027:03:08 14:30:05", "", "", time.Time{}, lab.At(now), "in the future"},
			{"no clock", "", "", "", time.Time{}, lab.At(now), ""},
			{"a page that knows", "", "", "2026-03-06 08:00:00+02:00", time.Time{}, exact("2026-03-06 06:00:00"), ""},
			{"a page that does not", "", "", "soon", time.Time{}, lab.At(now), ""},
			{"it waited on the phone", "", "", "", now.Add(-3 * time.Hour), lab.At(now.Add(-3 * time.Hour)), ""},
		} {
			in := photosOf(jar, phototest.Shot{Seed: uint64(i), Taken: c.taken}, func(n *app.NewPhoto) { n.At, n.Taken = c.typed, c.page })
			in.Pressed = c.pressed
			d := must(b.AddPhotos(b.ctx, app.Act{}, in))(b)
			found := false
			for _, p := range must(b.PhotosOfJar(b.ctx, jar, "", 0))(b).Photos {
				if p.Deed != d.Deed {
					continue
				}
				found = true
				if p.At != c.want {
					t.Errorf("%s: taken at %v, want %v", c.name, p.At, c.want)
				}
				v := must(b.Photo(b.ctx, p.ID))(b)
				if c.taken != "" && v.Taken == "" || !strings.Contains(v.Doubt, c.doubt) || c.doubt == "" && v.Doubt != "" {
					t.Errorf("%s: the camera said %q, doubt %q", c.name, v.Taken, v.Doubt)
				}
			}
			if !found {
				t.Errorf("%s: not kept", c.name)
			}
		}
	})
}

func TestSentTwiceIsOnePhoto(t *testing.T) {
	onBoth(t, func(b *bench) {
		b.supplies()
		batch := b.cooked(plan("Oats or millet"), 60).Batch.String()
		act := app.Act{ID: app.NewActID()}
		first := must(b.AddPhotos(b.ctx, act, photosOf(batch+"·1", phototest.Shot{})))(b)
		again := must(b.AddPhotos(b.ctx, act, photosOf(batch+"·1", phototest.Shot{})))(b)
		if !again.Repeat || again.Deed != first.Deed {
			t.Errorf("the same act again: %+v", again)
		}
		same := must(b.AddPhotos(b.ctx, app.Act{}, photosOf(batch+"·1", phototest.Shot{})))(b)
		if !same.Repeat || same.Deed != first.Deed || !strings.Contains(same.What, "already") {
			t.Errorf("the same picture again: %+v", same)
		}
		must(b.AddPhotos(b.ctx, app.Act{}, photosOf(batch+"·2", phototest.Shot{})))(b) // one picture of two jars
		if n := must(b.PhotosOfBatch(b.ctx, batch, "", 0))(b).All; n != 2 {
			t.Errorf("%d photos, want one of each jar", n)
		}
	})
}

func TestSeveralPhotosAllOrNone(t *testing.T) {
	onBoth(t, func(b *bench) {
		b.supplies()
		batch := b.cooked(plan("Oats or millet"), 60).Batch.String()
		in := app.PhotosInput{}
		for n, jar := range []string{batch + "·1", batch + "·2", batch + "·2"} {
			in.Photos = append(in.Photos, photosOf(jar, phototest.Shot{Seed: uint64(n)}).Photos...)
		}
		d := must(b.AddPhotos(b.ctx, app.Act{}, in))(b)
		if d.What != batch+"·1–2: 3 photos" {
			t.Errorf("it says %q", d.What)
		}
		for what, bad := range map[string]app.NewPhoto{
			"a jar that is not there": photosOf(batch+"·99", phototest.Shot{}).Photos[0],
			"no jar":                  photosOf(" ", phototest.Shot{}).Photos[0],
			"no picture":              {Jar: batch + "·3", Picture: strings.NewReader("<html>")},
			"too many bytes":          {Jar: batch + "·3", Picture: io.LimitReader(endless{}, app.MostPhotoBytes+1)},
			"a day that is none":      photosOf(batch+"·3", phototest.Shot{}, func(n *app.NewPhoto) { n.At = "someday" }).Photos[0],
		} {
			in := app.PhotosInput{Photos: append(photosOf(batch+"·4", phototest.Shot{Seed: 50}).Photos, bad)}
			_, err := b.AddPhotos(b.ctx, app.Act{}, in)
			if p, ok := lab.AsProblem(err); !ok || p.Mend == "" {
				t.Errorf("%s: %v, want words to mend it", what, err)
			}
		}
		if n := must(b.PhotosOfBatch(b.ctx, batch, "", 0))(b).All; n != 3 {
			t.Errorf("%d photos, want 3: a part of what was refused is kept", n)
		}
		if _, err := b.AddPhotos(b.ctx, app.Act{}, app.PhotosInput{Photos: make([]app.NewPhoto, app.MostPhotos+1)}); !lab.IsKind(err, lab.Invalid) {
			t.Errorf("too many at once: %v", err)
		}
	})
}

// endless is a file without an end.
type endless struct{}

func (endless) Read(b []byte) (int, error) { return len(b), nil }

func TestPhotosAreCorrectedRemovedAndTakenBack(t *testing.T) {
	onBoth(t, func(b *bench) {
		b.supplies()
		jar := b.cooked(plan("Oats or millet"), 60).Batch.String() + "·1"
		b.clock.days(5)
		p := b.shoot(jar, phototest.Shot{})
		last := func() lab.DeedID { return must(b.Deeds(b.ctx, "", 1))(b)[0].ID }
		held := func() []app.PhotoRow { return must(b.PhotosOfJar(b.ctx, jar, "", 0))(b).Photos }
		v := must(b.CorrectPhoto(b.ctx, app.Act{}, p.ID, "2026-03-04", "white sector"))(b)
		if v.Note != "white sector" || v.At.Exactness != lab.ThatDay || v.Corrects != p.ID || len(held()) != 1 {
			t.Errorf("corrected: %+v of %d", v, len(held()))
		}
		if _, err := b.Undo(b.ctx, app.Act{}, p.Deed); !lab.IsKind(err, lab.Conflict) {
			t.Errorf("undoing what was corrected since: %v", err)
		}
		must(b.Undo(b.ctx, app.Act{}, last()))(b)
		if h := held(); len(h) != 1 || h[0].Note != "" || h[0].At != p.At {
			t.Fatalf("the correction taken back: %+v", h)
		}
		must(b.RemovePhoto(b.ctx, app.Act{}, held()[0].ID, false))(b)
		if len(held()) != 0 {
			t.Fatal("a removed photo is still shown")
		}
		if _, err := b.PhotoFile(b.ctx, p.ID, p.Small); !lab.IsKind(err, lab.NotFound) {
			t.Errorf("the file of a removed photo: %v", err)
		}
		must(b.Undo(b.ctx, app.Act{}, last()))(b)
		back := held()
		if len(back) != 1 {
			t.Fatal("the removal can not be taken back")
		}
		must(b.PhotoFile(b.ctx, back[0].ID, p.Small))(b)
		must(b.RemovePhoto(b.ctx, app.Act{}, back[0].ID, true))(b)
		if _, err := b.Undo(b.ctx, app.Act{}, last()); !lab.IsKind(err, lab.Conflict) {
			t.Errorf("undoing a deletion: %v", err)
		}
		again := b.shoot(jar, phototest.Shot{}) // and the same picture once more
		must(b.PhotoFile(b.ctx, again.ID, again.Whole))(b)
	})
}

func TestDeletingSparesWhatOthersAreMadeOf(t *testing.T) {
	onBoth(t, func(b *bench) {
		b.supplies()
		batch := b.cooked(plan("Oats or millet"), 60).Batch.String()
		one, two := b.shoot(batch+"·1", phototest.Shot{}), b.shoot(batch+"·2", phototest.Shot{})
		must(b.RemovePhoto(b.ctx, app.Act{}, one.ID, true))(b)
		must(b.PhotoFile(b.ctx, two.ID, two.Whole))(b)
		sweep := must(b.SweepPhotos(b.ctx, time.Now().Add(time.Hour)))(b)
		if sweep != (app.PhotoSweep{Files: 3}) {
			t.Errorf("sweep %+v", sweep)
		}
		must(b.RemovePhoto(b.ctx, app.Act{}, two.ID, true))(b)
		if sweep := must(b.SweepPhotos(b.ctx, time.Now().Add(time.Hour)))(b); sweep != (app.PhotoSweep{}) {
			t.Errorf("with none left the sweep is %+v", sweep)
		}
	})
}

// stopping is a store whose next write is cut short, as by a kill between
// the files and the record.
type stopping struct {
	store.Store
	stop bool
}

var errKilled = errors.New("killed")

func (s *stopping) Write(ctx context.Context, f func(store.Writer) error) error {
	if s.stop {
		return errKilled
	}
	return s.Store.Write(ctx, f)
}

func TestStopBetweenFileAndRecord(t *testing.T) {
	onBoth(t, func(b *bench) {
		b.supplies()
		jar := b.cooked(plan("Oats or millet"), 60).Batch.String() + "·1"
		s := &stopping{Store: b.store, stop: true}
		f := app.New(s, app.WithClock(b.clock.Now), app.WithFiles(b.store.(*sqldb.DB).Files()))
		if _, err := f.AddPhotos(b.ctx, app.Act{}, photosOf(jar, phototest.Shot{})); !errors.Is(err, errKilled) {
			t.Fatal(err)
		}
		if n := must(b.PhotosOfJar(b.ctx, jar, "", 0))(b).All; n != 0 {
			t.Errorf("%d photos are recorded", n)
		}
		if s := must(b.SweepPhotos(b.ctx, time.Now().Add(-time.Hour)))(b); s != (app.PhotoSweep{}) {
			t.Errorf("files of an entry that may still be under way: %+v", s)
		}
		s.stop = false
		must(f.AddPhotos(b.ctx, app.Act{}, photosOf(jar, phototest.Shot{})))(b)
		if s := must(b.SweepPhotos(b.ctx, time.Now().Add(time.Hour)))(b); s != (app.PhotoSweep{Files: 3}) {
			t.Errorf("sent again, the sweep is %+v", s)
		}
		s.stop = true
		if _, err := f.AddPhotos(b.ctx, app.Act{}, photosOf(jar, phototest.Shot{Seed: 2})); !errors.Is(err, errKilled) {
			t.Fatal(err)
		}
		if s := must(b.SweepPhotos(b.ctx, time.Now().Add(time.Hour)))(b); s != (app.PhotoSweep{Files: 3, Swept: 3}) {
			t.Errorf("what nobody names: %+v", s)
		}
	})
}

// beside is files that, while one is kept, has another entry written.
type beside struct {
	store.Files
	entry func() error
}

func (f beside) Put(ctx context.Context, data []byte) (string, error) {
	if err := f.entry(); err != nil {
		return "", err
	}
	return f.Files.Put(ctx, data)
}

// TestFilesAreKeptOutsideOfTheWrite enters something else while the files of
// a photo are kept: were they kept within the one write at a time, neither
// would ever end.
func TestFilesAreKeptOutsideOfTheWrite(t *testing.T) {
	onBoth(t, func(b *bench) {
		b.supplies()
		batch := b.cooked(plan("Oats or millet"), 60).Batch.String()
		written := 0
		files := beside{b.store.(*sqldb.DB).Files(), func() error {
			ctx, cancel := context.WithTimeout(b.ctx, 20*time.Second) // it only ends what hangs
			defer cancel()
			written++
			_, err := b.See(ctx, app.Act{}, app.SeeInput{Jars: batch + "·2", Note: "beside"})
			return err
		}}
		f := app.New(b.store, app.WithClock(b.clock.Now), app.WithFiles(files))
		must(f.AddPhotos(b.ctx, app.Act{}, photosOf(batch+"·1", phototest.Shot{})))(b)
		if written != 3 {
			t.Errorf("%d entries were written beside three files", written)
		}
	})
}

func TestNoPhotosWhereNoFilesAreKept(t *testing.T) {
	onBoth(t, func(b *bench) {
		b.supplies()
		jar := b.cooked(plan("Oats or millet"), 60).Batch.String() + "·1"
		f := app.New(b.store)
		if _, err := f.AddPhotos(b.ctx, app.Act{}, photosOf(jar, phototest.Shot{})); !lab.IsKind(err, lab.Refused) {
			t.Errorf("%v, want it refused in words", err)
		}
	})
}

// TestBlindPhotosNameNoArm looks at photos of a blind trial before and after
// its key is opened.
func TestBlindPhotosNameNoArm(t *testing.T) {
	onBoth(t, func(b *bench) {
		b.supplies()
		in := plan("Blind")
		in.Blind = true
		batch := b.cooked(in, 60).Batch.String()
		b.shoot(batch+"·1", phototest.Shot{})
		if p := must(b.PhotosOfBatch(b.ctx, batch, "", 0))(b).Photos[0]; p.Arm != "" {
			t.Errorf("the arm is named: %q", p.Arm)
		}
		must(b.OpenKey(b.ctx, app.Act{}, "Blind"))(b)
		if p := must(b.PhotosOfBatch(b.ctx, batch, "", 0))(b).Photos[0]; p.Arm == "" {
			t.Error("the key is open, and the arm is not named")
		}
	})
}

func TestPagesOfPhotosAreBounded(t *testing.T) {
	onBoth(t, func(b *bench) {
		b.supplies()
		jar := b.cooked(plan("Oats or millet"), 60).Batch.String() + "·1"
		for n := range 5 {
			b.clock.minutes(10)
			b.shoot(jar, phototest.Shot{Seed: uint64(n)})
		}
		first := must(b.PhotosOfJar(b.ctx, jar, "", 2))(b)
		second := must(b.PhotosOfJar(b.ctx, jar, first.More, 2))(b)
		third := must(b.PhotosOfJar(b.ctx, jar, second.More, 2))(b)
		if first.All != 5 || third.All != 5 || len(first.Photos) != 2 || len(second.Photos) != 2 || len(third.Photos) != 1 || third.More != "" {
			t.Errorf("pages of %d, %d, %d of %d, then %q", len(first.Photos), len(second.Photos), len(third.Photos), first.All, third.More)
		}
		v := must(b.Photo(b.ctx, second.Photos[0].ID))(b)
		if v.Later != first.Photos[1].ID || v.Earlier != second.Photos[1].ID {
			t.Errorf("its neighbours are %s and %s", v.Earlier, v.Later)
		}
		if v := must(b.Photo(b.ctx, third.Photos[0].ID))(b); v.Earlier != "" || v.Later == "" {
			t.Errorf("the first has neighbours %q and %q", v.Earlier, v.Later)
		}
	})
}

// BenchmarkPhotoReads reads what the pages of a jar and a batch show of
// photos, with none and with a gigabyte: 3,000 photos of 12 jars, of 350 kB.
// The pictures themselves are noise: nothing here looks into them.
func BenchmarkPhotoReads(b *testing.B) {
	for name, open := range map[string]func() string{"sqlite": func() string { return sqldb.File(b.TempDir()) }, "postgres": func() string { return testdb.PostgresURL(b) }} {
		for _, photos := range []int{0, 3000} {
			s, err := sqldb.Open(b.Context(), open())
			if err != nil {
				b.Fatal(err)
			}
			x := newBench(b, s)
			x.supplies()
			batch := x.cooked(plan("Oats or millet"), 60).Batch.String()
			x.fill(batch, photos, 350_000)
			for what, read := range map[string]func() error{
				"jar":  func() error { _, err := x.PhotosOfJar(x.ctx, batch+"·1", "", 6); return err },
				"page": func() error { _, err := x.PhotosOfBatch(x.ctx, batch, "", 0); return err },
			} {
				b.Run(fmt.Sprintf("%s/%s/%d", name, what, photos), func(b *testing.B) {
					for b.Loop() {
						x.ok(read())
					}
				})
			}
		}
	}
}

// fill keeps photos of the jars of a batch, and as many bytes for each as a
// large one takes.
func (b *bench) fill(batch string, photos, bytesEach int) {
	b.t.Helper()
	noise := rand.NewChaCha8([32]byte{3})
	heavy := make([]byte, bytesEach)
	for n := 0; n < photos; n += app.MostPhotos {
		in := app.PhotosInput{}
		for i := range app.MostPhotos {
			in.Photos = append(in.Photos, photosOf(fmt.Sprintf("%s·%d", batch, 1+i%12), phototest.Shot{Width: 8, Height: 6, Seed: uint64(n + i)}).Photos...)
			_, _ = noise.Read(heavy)
			must(b.store.(*sqldb.DB).Files().Put(b.ctx, heavy))(b)
		}
		must(b.AddPhotos(b.ctx, app.Act{}, in))(b)
		b.clock.minutes(10)
	}
}
