package web

import (
	"bytes"
	"context"
	"fmt"
	"image"
	"image/jpeg"
	"math/rand/v2"
	"mime/multipart"
	"net/http"
	"net/http/httptest"
	"net/url"
	"os"
	"strings"
	"testing"
	"time"

	"pinset/internal/app"
	"pinset/internal/lab"
	"pinset/internal/photo/phototest"
)

// shoot sends pictures, by the name of their field, with the fields of v.
func (x *site) shoot(path string, pictures map[string][]byte, v url.Values) answer {
	x.t.Helper()
	var body bytes.Buffer
	m := multipart.NewWriter(&body)
	for key, values := range v {
		for _, value := range values {
			if err := m.WriteField(key, value); err != nil {
				x.t.Fatal(err)
			}
		}
	}
	if v.Get("act") == "" {
		if err := m.WriteField("act", string(app.NewActID())); err != nil {
			x.t.Fatal(err)
		}
	}
	for field, raw := range pictures {
		part, err := m.CreateFormFile(field, "IMG_0001.JPG")
		if err == nil {
			_, err = part.Write(raw)
		}
		if err != nil {
			x.t.Fatal(err)
		}
	}
	if err := m.Close(); err != nil {
		x.t.Fatal(err)
	}
	r := httptest.NewRequest(http.MethodPost, path, &body)
	r.Header.Set("Content-Type", m.FormDataContentType())
	r.Header.Set("Sec-Fetch-Site", "same-origin")
	return x.do(r)
}

// snap is picture number n.
func snap(n uint64) []byte { return phototest.JPEG(phototest.Shot{Width: 64, Height: 48, Seed: n}) }

// shot returns the photos of a jar, the latest first.
func (x *site) shot(jar string) []app.PhotoRow {
	x.t.Helper()
	return must[app.PhotoPage](x.t)(x.farm.PhotosOfJar(context.Background(), jar, "", 0)).Photos
}

func TestPhotosOfAJar(t *testing.T) {
	x := newSite(t, Options{})
	x.stock()
	x.grown(x.batch(6))
	code := x.codes("B1")[1]
	path := "/j/" + code + "/photos"
	turned := phototest.JPEG(phototest.Shot{Width: 64, Height: 48, Orientation: 6, Taken: "2026:03:20 14:30:05"})
	x.shoot(path, map[string][]byte{"file": turned}, url.Values{"note": {`white <b>rim</b>`}}).to(path)
	x.shoot(path, map[string][]byte{"file": snap(2)}, url.Values{"when": {"yesterday"}}).to(path)
	all := x.shot(code)
	if len(all) != 2 || all[1].Note != "white <b>rim</b>" || all[1].Height != 64 {
		t.Fatalf("kept %+v", all)
	}
	d := x.get(path).status(http.StatusOK).doc()
	d.wellFormed("Photos of B1·2")
	d.want("the first day first, described", tag("img"), with("alt", "Photo of B1·2, day 18, 20 Mar 2026 14:30, white <b>rim</b>"), with("loading", "lazy"))
	for _, p := range all {
		page := "/photos/" + string(p.ID)
		x.get(page).status(http.StatusOK).doc().wellFormed("B1·2, day")
		for _, name := range p.Files() {
			a := x.get(page + "/" + name + ".jpg").status(http.StatusOK)
			for key, want := range map[string]string{
				"Content-Type": "image/jpeg", "X-Content-Type-Options": "nosniff", "Cache-Control": "private, max-age=31536000, immutable", "ETag": `"` + name + `"`,
				"Content-Security-Policy": policy,
			} {
				if got := a.Header().Get(key); got != want {
					t.Errorf("%s is %q, want %q", key, got, want)
				}
			}
			if _, err := jpeg.Decode(a.Body); err != nil {
				t.Errorf("what is served is no JPEG: %v", err)
			}
			r := httptest.NewRequest(http.MethodGet, page+"/"+name+".jpg", nil)
			r.Header.Set("If-None-Match", `"`+name+`"`)
			x.do(r).status(http.StatusNotModified)
		}
		x.get(page + "/" + p.Small).status(http.StatusNotFound)
		x.get(page + "/" + strings.Repeat("a", 64) + ".jpg").status(http.StatusNotFound)
	}
	x.get("/photos/x").status(http.StatusNotFound)
	for _, at := range []string{"/j/" + code, "/batches/B1", "/batches/B1/photos"} {
		x.get(at).status(http.StatusOK).doc().want("the photo", tag("img"), with("src", "/photos/"+string(all[0].ID)+"/"+all[0].Small+".jpg"))
	}
}

func TestPhotoIsCorrectedAndRemoved(t *testing.T) {
	x := newSite(t, Options{})
	x.stock()
	x.grown(x.batch(6))
	code := x.codes("B1")[1]
	x.shoot("/j/"+code+"/photos", map[string][]byte{"file": snap(1)}, url.Values{}).status(http.StatusSeeOther)
	first := x.shot(code)[0]
	a := x.post("/photos/"+string(first.ID), url.Values{"when": {"someday"}, "note": {"rim"}}).status(http.StatusUnprocessableEntity)
	a.doc().want("what was typed", tag("input"), with("name", "when"), with("value", "someday"), with("aria-invalid", "true"))
	x.post("/photos/"+string(first.ID), url.Values{"when": {"2026-04-01"}, "note": {"rim"}}).status(http.StatusSeeOther)
	second := x.shot(code)[0]
	if second.Note != "rim" || second.At.Exactness != lab.ThatDay {
		t.Errorf("corrected to %+v", second)
	}
	x.get("/photos/" + string(first.ID)).status(http.StatusNotFound)
	x.post("/photos/"+string(second.ID)+"/remove", url.Values{}).to("/j/" + code + "/photos")
	if n := len(x.shot(code)); n != 0 {
		t.Errorf("%d photos after the removal", n)
	}
	file := "/photos/" + string(second.ID) + "/" + second.Small + ".jpg"
	x.get(file).status(http.StatusNotFound)
	deed := must[[]lab.Deed](t)(x.farm.Deeds(context.Background(), "", 1))[0]
	x.post("/undo", url.Values{"deed": {string(deed.ID)}, "here": {"/"}}).status(http.StatusSeeOther)
	third := x.shot(code)[0]
	x.get("/photos/" + string(third.ID) + "/" + third.Small + ".jpg").status(http.StatusOK)
	x.post("/photos/"+string(third.ID)+"/remove", url.Values{"delete": {"yes"}}).status(http.StatusSeeOther)
	if _, err := x.farm.PhotoFile(context.Background(), third.ID, third.Small); !lab.IsKind(err, lab.NotFound) {
		t.Errorf("a deleted file gives %v", err)
	}
}

// TestSourcesSayHowWideTheyAre: a browser that is told a wrong width shows the
// picture in a wrong size.
func TestSourcesSayHowWideTheyAre(t *testing.T) {
	x := newSite(t, Options{})
	x.stock()
	x.batch(6)
	code := x.codes("B1")[1]
	for width, height := range map[int]int{2000: 3000, 1200: 900, 480: 640, 60: 80} {
		x.shoot("/j/"+code+"/photos", map[string][]byte{"file": phototest.JPEG(phototest.Shot{Width: width, Height: height})}, url.Values{}).status(http.StatusSeeOther)
		page := "/photos/" + string(x.shot(code)[0].ID)
		srcset := attr(x.get(page).status(http.StatusOK).doc().all(tag("img"))[0], "srcset")
		seen := make(map[string]bool)
		for source := range strings.SplitSeq(srcset, ", ") {
			path, says, _ := strings.Cut(source, " ")
			config := must[image.Config](t)(jpeg.DecodeConfig(x.get(path).status(http.StatusOK).Body))
			if fmt.Sprintf("%dw", config.Width) != says || seen[says] {
				t.Errorf("of %d × %d: %s is %d wide, %d pixels high", width, height, source, config.Width, config.Height)
			}
			seen[says] = true
		}
		x.clock.add(time.Minute)
	}
}

// TestPhotosThatAreNotTaken: the page comes back with what was typed, and
// says what to do.
func TestPhotosThatAreNotTaken(t *testing.T) {
	x := newSite(t, Options{})
	x.stock()
	x.batch(6)
	code := x.codes("B1")[1]
	for name, c := range map[string]struct {
		raw  []byte
		says string
	}{
		"HEIC":       {[]byte("\x00\x00\x00\x18ftypheic\x00\x00\x00\x00mif1heic"), "Most Compatible"},
		"a page":     {[]byte("<html><script>alert(1)</script>"), "no JPEG, PNG or WebP"},
		"cut off":    {snap(1)[:400], "again, or take another"},
		"an empty":   {nil, "no JPEG"},
		"no picture": {[]byte("x"), "no JPEG"},
	} {
		d := x.shoot("/j/"+code+"/photos", map[string][]byte{"file": c.raw}, url.Values{"note": {"kept as typed"}}).status(http.StatusUnprocessableEntity).doc()
		d.want(name+" said", with("role", "alert"), says(c.says))
		d.want("what was typed", with("name", "note"), with("value", "kept as typed"))
	}
	for _, path := range []string{"/j/" + code + "/photos", "/batches/B1/photos"} {
		x.shoot(path, nil, url.Values{}).status(http.StatusUnprocessableEntity).doc().want("what is missing", with("role", "alert"), says("no photo"))
	}
	x.post("/j/"+code+"/photos", url.Values{}).status(http.StatusUnprocessableEntity) // not even the form of files
	x.shoot("/batches/B1/photos", map[string][]byte{"file1": snap(1)}, url.Values{}).status(http.StatusUnprocessableEntity).doc().want("the jar is missing", with("role", "alert"), says("no jar"))
	x.shoot("/batches/B1/photos", map[string][]byte{"file1": snap(1), "file2": snap(2)}, url.Values{"jar1": {"2"}, "jar2": {"99"}}).status(http.StatusUnprocessableEntity).doc().want("the jar kept", with("name", "jar2"), with("value", "99"))
	big := bytes.Repeat([]byte{0}, photoBytes+1)
	copy(big, "\xff\xd8\xff")
	x.shoot("/j/"+code+"/photos", map[string][]byte{"file": big}, url.Values{}).status(http.StatusUnprocessableEntity).doc().want("the size", with("role", "alert"), says("16 MB"))
	if n := len(x.shot(code)); n != 0 {
		t.Errorf("%d photos of what was refused", n)
	}
}

// TestLargeUploadsLeaveNothingBehind looks for the files in which the form
// stood while it was read.
func TestLargeUploadsLeaveNothingBehind(t *testing.T) {
	dir := t.TempDir()
	t.Setenv("TMPDIR", dir)
	x := newSite(t, Options{})
	x.stock()
	x.batch(6)
	raw := append(snap(1), make([]byte, heldBytes+1)...) // the rest behind the picture
	x.shoot("/batches/B1/photos", map[string][]byte{"file1": raw, "file2": raw}, url.Values{"jar1": {"2"}, "jar2": {"3"}}).status(http.StatusSeeOther)
	left, err := os.ReadDir(dir)
	if err != nil {
		t.Fatal(err)
	}
	for _, entry := range left {
		if strings.HasPrefix(entry.Name(), "multipart-") {
			t.Errorf("%s stays behind", entry.Name())
		}
	}
}

func TestPhotosOfSeveralJars(t *testing.T) {
	x := newSite(t, Options{})
	x.stock()
	x.grown(x.batch(6))
	code := x.codes("B1")[3]
	x.shoot("/batches/B1/photos", map[string][]byte{"file1": snap(1), "file2": snap(2), "file5": snap(3)},
		url.Values{"jar1": {"2"}, "jar2": {strings.ToLower(code)}, "jar5": {"B1·2"}, "note2": {"dry"}, "jar6": {"7"}}).to("/batches/B1/photos")
	if a, b := x.shot("B1·2"), x.shot(code); len(a) != 2 || len(b) != 1 || b[0].Note != "dry" {
		t.Errorf("jar 2 has %d, jar 4 has %d photos", len(a), len(b))
	}
	x.shoot("/batches/B1/photos", map[string][]byte{"file1": snap(9)}, url.Values{"jar1": {"3"}, "since": {sinceMark(x.clock.Now())}}).
		to("/batches/B1/rounds?since=" + sinceMark(x.clock.Now()))
}

func TestPhotosOnTheWay(t *testing.T) {
	x := newSite(t, Options{})
	x.stock()
	in := plan("Shelved", 3)
	in.Shelves = []app.PlanShelf{{Name: "North 1", Places: 20}}
	k := must[app.Kept](t)(x.farm.KeepPlan(context.Background(), app.Act{ID: app.NewActID()}, in))
	x.cooked(k)
	must[app.InoculateReport](t)(x.farm.Inoculate(context.Background(), app.Act{ID: app.NewActID()}, app.InoculateInput{Batch: "B1", Amount: "2 mL"}))
	x.get("/shelves/North%201/rounds").status(http.StatusOK).doc().want("where a photo is taken", tag("input"), with("form", "shoot"), with("capture", "environment"))
	a := x.shoot("/shelves/North%201/photos", map[string][]byte{"file1": snap(1)}, url.Values{"jar1": {"2"}, "since": {sinceMark(x.clock.Now())}})
	a.to("/shelves/North%201/rounds?since=" + sinceMark(x.clock.Now()))
	if len(x.shot("B1·2")) != 1 {
		t.Error("the photo is not kept")
	}
	x.shoot("/shelves/North%201/photos", map[string][]byte{"file1": snap(2)}, url.Values{}).status(http.StatusUnprocessableEntity).doc().want("the jar is missing", with("role", "alert"), says("no jar"))
	x.shoot("/shelves/None/photos", map[string][]byte{"file1": snap(2)}, url.Values{"jar1": {"2"}}).status(http.StatusNotFound)
}

// TestPhotosBySide puts two jars of a blind trial side by side.
func TestPhotosBySide(t *testing.T) {
	x := newSite(t, Options{})
	x.stock()
	in := plan("Blind", 6)
	in.Blind = true
	k := must[app.Kept](t)(x.farm.KeepPlan(context.Background(), app.Act{ID: app.NewActID()}, in))
	x.grown(k)
	codes := x.codes("B1")
	for n, day := range []string{"2026-03-10", "2026-03-12", "2026-03-12"} {
		x.shoot("/j/"+codes[n%2]+"/photos", map[string][]byte{"file": snap(uint64(n))}, url.Values{"when": {day}}).status(http.StatusSeeOther)
	}
	path := "/j/" + codes[0] + "/photos?beside=2"
	d := x.get(path).status(http.StatusOK).doc()
	d.wellFormed("B1·1 beside B1·2")
	if rows := d.all(tag("th"), with("scope", "row")); len(rows) != 2 || text(rows[0]) != "Day 8" || text(rows[1]) != "Day 10" {
		t.Errorf("%d ages, want day 8 and day 10", len(rows))
	}
	for _, arm := range []string{"brown rice", "millet"} {
		d.none("an arm of a blind trial is named", tag("main"), says(arm))
	}
	x.get("/j/"+codes[0]+"/photos?beside="+codes[0]).status(http.StatusUnprocessableEntity).doc().want("why", says("beside itself"))
	x.get("/j/"+codes[0]+"/photos?beside=99").status(http.StatusUnprocessableEntity).doc().want("why", says("no such jar"))
}

// TestPhotosByRole: a viewer looks, a hand adds and corrects, an owner removes.
func TestPhotosByRole(t *testing.T) {
	x := newDoorSite(t)
	x.stock()
	x.batch(4)
	code := x.codes("B1")[0]
	vi, mo := x.paired("Vi", "V", lab.Viewer), x.paired("Mo", "MO", lab.Hand)
	own := x.paired("Ada", "A", lab.Owner)
	path := "/j/" + code + "/photos"
	vi.shoot(path, map[string][]byte{"file": snap(1)}, url.Values{}).status(http.StatusForbidden)
	mo.shoot(path, map[string][]byte{"file": snap(1)}, url.Values{}).to(path)
	p := x.shot(code)[0]
	if p.By != "MO" {
		t.Errorf("it is by %q", p.By)
	}
	page := "/photos/" + string(p.ID)
	file := page + "/" + p.Small + ".jpg"
	nobody := *x
	nobody.cookies = nil
	nobody.get(file).to("/login?to=" + url.QueryEscape(file))
	for _, y := range []*site{vi, mo, own} {
		y.get(file).status(http.StatusOK)
		y.get(page).status(http.StatusOK)
	}
	vi.post(page, url.Values{"note": {"x"}}).status(http.StatusForbidden)
	mo.post(page+"/remove", url.Values{}).status(http.StatusForbidden)
	mo.get(page).doc().none("a way to remove it", tag("form"), with("action", page+"/remove"))
	own.get(page).doc().want("a way to remove it", tag("form"), with("action", page+"/remove"))
	own.post(page+"/remove", url.Values{}).status(http.StatusSeeOther)
	vi.get(file).status(http.StatusNotFound)
}

// BenchmarkPhotoPages asks for the pages of a jar and its batch, with no
// photos and with a gigabyte: 3,000 of 12 jars, each with 350 kB beside it in
// the same folder, which stand for a large picture.
func BenchmarkPhotoPages(b *testing.B) {
	for _, photos := range []int{0, 3000} {
		x := newSite(b, Options{})
		x.stock()
		x.grown(x.batch(12))
		codes := x.codes("B1")
		x.fill(codes, photos, 350_000)
		x.clock.add(time.Hour)
		for name, path := range map[string]string{"jar": "/j/" + codes[0], "batch": "/batches/B1", "series": "/j/" + codes[0] + "/photos", "photos": "/batches/B1/photos", "rounds": "/batches/B1/rounds", "today": "/"} {
			b.Run(fmt.Sprintf("%s/%d", name, photos), func(b *testing.B) {
				for b.Loop() {
					x.get(path).status(200)
				}
			})
		}
	}
}

// fill keeps photos of jars, and as many bytes for each as a large one takes.
func (x *site) fill(codes []string, photos, bytesEach int) {
	x.t.Helper()
	noise := rand.NewChaCha8([32]byte{3})
	heavy := make([]byte, bytesEach)
	for n := 0; n < photos; n += app.MostPhotos {
		in := app.PhotosInput{}
		for i := range app.MostPhotos {
			raw := phototest.JPEG(phototest.Shot{Width: 8, Height: 6, Seed: uint64(n + i)})
			in.Photos = append(in.Photos, app.NewPhoto{Jar: codes[(n+i)%len(codes)], Picture: bytes.NewReader(raw)})
			_, _ = noise.Read(heavy)
			must[string](x.t)(x.files.Put(context.Background(), heavy))
		}
		must[app.Done](x.t)(x.farm.AddPhotos(context.Background(), app.Act{ID: app.NewActID()}, in))
		x.clock.add(10 * time.Minute)
	}
}
