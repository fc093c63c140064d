package browsertest

import (
	"bytes"
	"context"
	"fmt"
	"image"
	"image/color"
	"image/gif"
	"image/png"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/chromedp"

	"pinset/internal/app"
	"pinset/internal/photo/phototest"
)

// shelved serves a trial of six jars an arm that grow since twenty days.
func shelved(t *testing.T) *site {
	t.Helper()
	x := newSite(t)
	x.keep(t, trial("rice or millet", 6))
	x.cook(t, "1")
	x.inoculate(t, "B1")
	x.clock.add(20 * 24 * time.Hour)
	return x
}

// attach chooses files for the field with the label, as the chooser of the
// browser does.
func (b *tab) attach(label string, files ...string) {
	b.Helper()
	probed[string](b, "reach", label)
	b.do(fmt.Sprintf("attach %q", files), chromedp.SetUploadFiles(":focus", files))
}

// shoot attaches a file to a field that sends it at once, and waits for the
// page that follows.
func (b *tab) shoot(label, file string) {
	b.Helper()
	probed[string](b, "reach", label)
	b.arrive("attach "+file, 200, chromedp.SetUploadFiles(":focus", []string{file}))
}

// file writes a file that can be attached, and returns where it is.
func (b *tab) file(name string, data []byte) string {
	b.Helper()
	path := filepath.Join(b.TempDir(), name)
	if err := os.WriteFile(path, data, 0o600); err != nil {
		b.Fatal(err)
	}
	return path
}

// snap is a picture as a phone takes it, number n.
func (b *tab) snap(n uint64) string {
	b.Helper()
	return b.file(fmt.Sprintf("IMG_%04d.JPG", n), phototest.JPEG(phototest.Shot{Width: 640, Height: 480, Seed: n}))
}

// photos returns the photos of a jar, the latest first.
func (x *site) photos(t testing.TB, jar string) []app.PhotoRow {
	t.Helper()
	return must[app.PhotoPage](t)(x.farm.PhotosOfJar(context.Background(), jar, "", 0)).Photos
}

// codeOf returns the code of a jar by its place in B1.
func (x *site) codeOf(t testing.TB, place int) string {
	t.Helper()
	return string(must[app.BatchView](t)(x.farm.BatchView(context.Background(), "B1", 0)).Jars[place].Code)
}

// TestPhotoOnRounds takes a photo on rounds: the jar first, the picture
// second, and it is sent.
func TestPhotoOnRounds(t *testing.T) {
	t.Parallel()
	b := newTab(t, shelved(t), phone)
	b.open("/batches/B1/rounds")
	b.tick("4") // the one jar that is ticked is the one to photograph
	if got := b.value("Which jar"); got != "4" {
		t.Errorf("jar 4 is ticked, the photo is of %q", got)
	}
	b.shoot("Take a photo", b.snap(1))
	b.says("B1·4: photo")
	if got := b.path(); !strings.HasPrefix(got, "/batches/B1/rounds") {
		t.Errorf("after the photo the page is %s", got)
	}

	// The picture before the jar: it asks which, and nothing is lost.
	b.attach("Take a photo", b.snap(2))
	b.await("[data-photo-says]", "Which jar is it?")
	b.shot("photo-which-jar")
	b.fill("Which jar", "5")
	b.follow("Keep the photo", 200)
	b.says("B1·5: photo")
	b.shot("photo-on-rounds")
	for _, jar := range []string{"B1·4", "B1·5"} {
		if n := len(b.photos(t, jar)); n != 1 {
			t.Errorf("%s has %d photos", jar, n)
		}
	}

	b.follow("Undo", 200)
	if n := len(b.photos(t, "B1·5")); n != 0 {
		t.Errorf("taken back, B1·5 has %d photos", n)
	}
	if n := len(b.photos(t, "B1·4")); n != 1 {
		t.Errorf("with another taken back, B1·4 has %d photos", n)
	}
	b.quiet("photos on rounds")
}

// TestPhotosWithoutScripts is the same for a browser that runs no scripts,
// also from rounds of a shelf and for several jars at once.
func TestPhotosWithoutScripts(t *testing.T) {
	t.Parallel()
	x := onShelves(t)
	b := newTab(t, x, phone)
	b.withoutScripts()
	code := x.codeOf(t, 3)
	b.open("/batches/B1/rounds")
	b.fill("Which jar", "4")
	b.attach("Or choose from this device", b.snap(1))
	b.follow("Keep the photo", 200)
	b.says("B1·4: photo")
	b.open("/shelves/Left/rounds")
	b.fill("Which jar", code)
	b.attach("Take a photo", b.snap(2))
	b.follow("Keep the photo", 200)
	b.says("B1·4: photo")
	b.open("/j/" + code)
	b.attach("Or choose from this device", b.snap(3))
	b.follow("Keep the photo", 200)
	b.says("B1·4: photo")

	b.open("/batches/B1/photos")
	for i, jar := range []string{"2", "B1·3"} {
		probed[string](b, "reachIn", fmt.Sprintf("jar%d", i+1))
		b.insert(jar)
		b.do("choose its photo", chromedp.SetUploadFiles(fmt.Sprintf("#f-file%d", i+1), []string{b.snap(uint64(10 + i))}))
	}
	b.follow("Keep the photos", 200)
	b.says("B1·2–3: 2 photos")
	b.follow("Undo", 200)
	for jar, want := range map[string]int{"B1·2": 0, "B1·3": 0, "B1·4": 3} {
		if n := len(b.photos(t, jar)); n != want {
			t.Errorf("%s has %d photos, want %d", jar, n, want)
		}
	}

	// What is not taken comes back with what was typed, and says what to do.
	b.open("/j/" + code + "/photos")
	b.attach("Or choose from this device", b.file("IMG_0001.HEIC", []byte("\x00\x00\x00\x18ftypheic\x00\x00\x00\x00mif1heic")))
	b.fill("Note", "white rim")
	b.follow("Keep the photo", 422)
	b.says("Most Compatible")
	b.holds("refused", typed{"Note": "white rim"})
	b.attach("Or choose from this device", b.file("large.jpg", append([]byte("\xff\xd8\xff"), make([]byte, app.MostPhotoBytes)...)))
	b.follow("Keep the photo", 422)
	b.says("The file has more than 16 MB")
	b.quiet("photos without scripts")
}

// TestPhotosAreUpright sends a picture in each of the eight ways in which a
// phone may be held, and compares what is shown with how Chromium, which has
// a reader of its own, shows the file as it was sent.
//
// The ways: CIPA DC-008-2019 (Exif 2.32), section 4.6.4.A, tag 274.
func TestPhotosAreUpright(t *testing.T) {
	t.Parallel()
	x := shelved(t)
	b := newTab(t, x, phone)
	code := x.codeOf(t, 0)
	b.open("/j/" + code + "/photos")
	var files []string
	for way := 1; way <= 8; way++ {
		taken := x.clock.Now().Add(time.Duration(way-10) * time.Minute).Format("2006:01:02 15:04:05")
		files = append(files, b.file(fmt.Sprintf("way%d.jpg", way), phototest.JPEG(phototest.Shot{Width: 320, Height: 200, Orientation: way, Taken: taken, Seed: 3})))
	}
	b.attach("Or choose from this device", files...)
	sent := evaluated[[][]int](b, `(async () => { const out = []; for (const f of document.querySelector("#f-file").files) out.push(`+corners+`(await createImageBitmap(f, {imageOrientation: "from-image"}))); return out; })()`)
	b.follow("Keep the photo", 200)
	kept := evaluated[[][]int](b, `(async () => { const out = []; for (const i of document.querySelectorAll(".film img")) { i.loading = "eager"; await i.decode(); out.push(`+corners+`(i)); } return out; })()`)
	if len(sent) != 8 || len(kept) != 8 {
		t.Fatalf("%d were sent, %d are shown", len(sent), len(kept))
	}
	// Two JPEGs one after the other: a few levels of 255. The corners are 40 apart.
	const tolerance = 8
	for way := range kept {
		for i := range kept[way] {
			if d := kept[way][i] - sent[way][i]; d > tolerance || d < -tolerance {
				t.Errorf("held in way %d it is shown as %v, Chromium shows the file as %v", way+1, kept[way], sent[way])
				break
			}
		}
	}
	b.shot("photo-series-upright")
}

// corners is a script that returns whether a picture is wider than high, and
// the red and green of its corners.
const corners = `((p) => { const c = new OffscreenCanvas(100, 100), x = c.getContext("2d"); x.drawImage(p, 0, 0, 100, 100);
	const out = [(p.naturalWidth ?? p.width) > (p.naturalHeight ?? p.height) ? 1000 : 0];
	for (const [u, v] of [[4, 4], [95, 4], [4, 95], [95, 95]]) out.push(...x.getImageData(u, v, 1, 1).data.slice(0, 2)); return out; })`

// TestPhotosInOtherForms sends a PNG and a WebP as they are, lets the page
// make a JPEG of a GIF, and reads in plain words why a HEIC is not taken.
func TestPhotosInOtherForms(t *testing.T) {
	t.Parallel()
	x := shelved(t)
	b := newTab(t, x, phone)
	code := x.codeOf(t, 0)
	picture := image.NewPaletted(image.Rect(0, 0, 90, 120), color.Palette{color.RGBA{200, 120, 40, 255}, color.RGBA{60, 80, 60, 255}})
	copy(picture.Pix, bytes.Repeat([]byte{1}, 45*120))
	var asPNG, asGIF bytes.Buffer
	if err := png.Encode(&asPNG, picture); err != nil {
		t.Fatal(err)
	}
	if err := gif.Encode(&asGIF, picture, nil); err != nil {
		t.Fatal(err)
	}
	kept := func(n int, what string) {
		t.Helper()
		b.until(what+" is kept", func() bool { return len(x.photos(t, code)) == n })
		if p := x.photos(t, code)[0]; p.Width != 90 || p.Height != 120 {
			t.Errorf("the %s is kept with %d × %d pixels, want 90 × 120", what, p.Width, p.Height)
		}
	}
	b.open("/j/" + code + "/photos")
	b.attach("Or choose from this device", b.file("scan.png", asPNG.Bytes()))
	b.follow("Keep the photo", 200)
	kept(1, "PNG")
	b.attach("Or choose from this device", b.file("old.gif", asGIF.Bytes()))
	b.until("the page made a JPEG of it", func() bool {
		return evaluated[string](b, `document.querySelector("#f-file").files[0].type`) == "image/jpeg"
	})
	b.follow("Keep the photo", 200)
	kept(2, "GIF")
	b.do("choose a WebP", chromedp.Evaluate[chromedp.Void](`(async () => {
		const c = new OffscreenCanvas(90, 120); c.getContext("2d").fillRect(10, 10, 50, 60);
		const all = new DataTransfer(); all.items.add(new File([await c.convertToBlob({type: "image/webp"})], "a.webp", {type: "image/webp"}));
		const el = document.querySelector("#f-file"); el.files = all.files; el.dispatchEvent(new Event("change", {bubbles: true})); })()`, chromedp.EvalAwaitPromise))
	b.follow("Keep the photo", 200)
	kept(3, "WebP")

	b.attach("Or choose from this device", b.file("IMG_0001.HEIC", []byte("\x00\x00\x00\x18ftypheic\x00\x00\x00\x00mif1heic")))
	b.await("[data-photo-says]", "This browser can not read IMG_0001.HEIC. On an iPhone choose Settings, Camera, Formats, Most Compatible")
	b.shot("photo-heic")
	if n := evaluated[int](b, `document.querySelector("#f-file").files.length`); n != 0 {
		t.Errorf("%d files that can not be read stay in the field", n)
	}
}

// TestLargePhotosAreMadeSmaller chooses a picture of more bytes than the page
// sends as they are.
func TestLargePhotosAreMadeSmaller(t *testing.T) {
	t.Parallel()
	x := shelved(t)
	b := newTab(t, x, phone)
	code := x.codeOf(t, 0)
	b.open("/j/" + code + "/photos")
	raw := append(phototest.JPEG(phototest.Shot{Width: 5000, Height: 300, Seed: 1}), make([]byte, app.MostPhotoBytes)...) // the rest behind the picture
	b.attach("Or choose from this device", b.file("large.jpg", raw))
	b.until("it is made smaller", func() bool {
		return evaluated[int](b, `document.querySelector("#f-file").files[0].size`) < app.MostPhotoBytes
	})
	b.follow("Keep the photo", 200)
	if all := x.photos(t, code); len(all) != 1 || all[0].Width != 2560 {
		t.Errorf("kept %+v", all)
	}
}

// TestPhotosSideBySide looks at a series in the order of its days, goes
// through it by keys, puts it beside another jar's, corrects one, removes one
// and takes that back.
func TestPhotosSideBySide(t *testing.T) {
	t.Parallel()
	x := shelved(t)
	b := newTab(t, x, phone)
	for n := range uint64(5) {
		picture := phototest.JPEG(phototest.Shot{Width: 640, Height: 480, Seed: n})
		in := app.PhotosInput{Photos: []app.NewPhoto{{Jar: fmt.Sprintf("B1·%d", 1+n%2), Picture: bytes.NewReader(picture)}}}
		must[app.Done](t)(x.farm.AddPhotos(context.Background(), act(), in))
		x.clock.add(24 * time.Hour)
	}
	series := "/j/" + x.codeOf(t, 0) + "/photos"
	b.open(series)
	days := probed[[]string](b, "texts", ".film b")
	if fmt.Sprint(days) != "[Day 20 Day 22 Day 24]" {
		t.Errorf("the series shows %v", days)
	}
	b.shot("photo-series")
	b.fill("Which", "2")
	b.follow("Put them side by side", 200)
	if rows := probed[[]string](b, "texts", "th[scope=row]"); len(rows) != 5 {
		t.Errorf("side by side there are the days %v", rows)
	}
	for _, size := range []screen{narrow, zoomed, phone} {
		b.show(size)
		b.fits("side by side, " + size.name)
	}
	b.shot("photo-beside")

	b.open("/photos/" + string(x.photos(t, "B1·1")[0].ID))
	b.arrive("arrow to the left", 200, chromedp.KeyEvent("\u0302"))
	b.says("B1·1, day 22")
	b.fill("Note", "white rim")
	b.follow("Keep the correction", 200)
	b.says("white rim")
	b.shot("photo-one")
	b.follow("Remove the photo", 200)
	if n := len(x.photos(t, "B1·1")); n != 2 {
		t.Errorf("one of three removed, %d are left", n)
	}
	b.follow("Undo", 200)
	if all := x.photos(t, "B1·1"); len(all) != 3 || all[1].Note != "white rim" {
		t.Errorf("after the removal was taken back there are %d", len(all))
	}
	b.quiet("photos side by side")
}
