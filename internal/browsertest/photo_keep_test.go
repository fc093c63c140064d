package browsertest

import (
	"context"
	"fmt"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/cdproto/storage"
	"github.com/chromedp/chromedp"

	"pinset/internal/app"
	"pinset/internal/photo/phototest"
	"pinset/internal/store/sqldb"
)

// waits is how many entries this phone keeps.
func (b *tab) waits() int {
	b.Helper()
	return evaluated[int](b, `new Promise((r) => { const a = indexedDB.open("pinset", 1); a.onsuccess = () => { const q = a.result.transaction("waiting").objectStore("waiting").count(); q.onsuccess = () => r(q.result); }; })`)
}

// TestAPhotoOutlivesTheNetwork cuts the line, takes photos on rounds, reloads,
// lets the server die between writing and answering, and counts.
func TestAPhotoOutlivesTheNetwork(t *testing.T) {
	t.Parallel()
	x := shelved(t)
	house, g := x.inTheHouse(t)
	b := newTabIn(t, houseBrowser, house, phone)
	b.open("/batches/B1/rounds")
	if evaluated[bool](b, "isSecureContext") {
		t.Fatal("plain HTTP to a name in the house is a secure context here: the test tries nothing")
	}
	g.state.Store(cut)
	b.tick("4")
	b.attach("Take a photo", b.snap(1))
	b.await(".waiting", "Not yet handed over: 1")
	b.await(".waiting", "Rounds, B1 · 4 · photo")
	b.note("2", "between the photos") // jar 4 is still ticked
	b.await(".waiting", "Not yet handed over: 2")
	b.fill("Which jar", "5")
	b.attach("Or choose from this device", b.snap(2))
	b.press("Keep the photo")
	b.await(".waiting", "Not yet handed over: 3")
	b.shot("photo-waiting")
	before := len(must[[]string](t)(x.deeds("B1")))

	// The page is gone with the network, and so are the files that were chosen.
	b.do("reload", chromedp.Evaluate[chromedp.Void]("location.reload()"))
	b.until("the page is gone", func() bool { return !strings.Contains(b.text("body"), "Rounds") })
	x.clock.add(3 * time.Hour)
	g.state.Store(dies)
	b.do("open another page", chromedp.Navigate(house.url+"/shelf"))
	b.await(".waiting", "Not yet handed over: 3")
	b.until("the first is written", func() bool { return len(x.photos(t, "B1·4")) == 1 })
	g.state.Store(way)
	b.press("Hand over now")
	b.until("all are handed over", func() bool { return !probed[bool](b, "has", ".waiting") })
	got := must[[]string](t)(x.deeds("B1"))
	if len(got) != before+3 || got[2] != "B1·4: photo" || got[1] != "B1·2, 4: note" || got[0] != "B1·5: photo" {
		t.Errorf("written, newest first: %q", got[:len(got)-before])
	}
	for jar, n := range map[string]uint64{"B1·4": 1, "B1·5": 2} {
		all := x.photos(t, jar)
		if len(all) != 1 || all[0].Width != 640 {
			t.Errorf("%s has %d photos", jar, len(all))
			continue
		}
		same := must[app.Done](t)(x.farm.AddPhotos(context.Background(), act(), pictureOf(jar, n)))
		if !same.Repeat {
			t.Errorf("what waited on the phone is not the picture that was taken of %s", jar)
		}
	}
}

// pictureOf is the picture number n, of a jar.
func pictureOf(jar string, n uint64) app.PhotosInput {
	raw := phototest.JPEG(phototest.Shot{Width: 640, Height: 480, Seed: n})
	return app.PhotosInput{Photos: []app.NewPhoto{{Jar: jar, Picture: strings.NewReader(string(raw))}}}
}

// TestAPhoneWithoutRoom takes a photo that the phone has no room to keep: it
// is sent at once, and where the network is cut it stays in its form and the
// page says so.
func TestAPhoneWithoutRoom(t *testing.T) {
	t.Parallel()
	x := shelved(t)
	house, g := x.inTheHouse(t)
	b := newTabIn(t, houseBrowser, house, phone)
	b.open("/batches/B1/rounds")
	room := 200_000.0
	call(b, storage.OverrideQuotaForOrigin, storage.OverrideQuotaForOriginParams{Origin: house.url, QuotaSize: &room})
	large := b.file("large.jpg", append(phototest.JPEG(phototest.Shot{Width: 640, Height: 480, Seed: 1}), make([]byte, 1<<20)...))
	b.tick("4")
	b.shoot("Take a photo", large) // sent at once
	b.says("B1·4: photo")

	g.state.Store(cut)
	b.fill("Which jar", "5")
	b.attach("Or choose from this device", large)
	b.press("Keep the photo")
	b.await("[role=alert]", "This phone has no room left")
	b.await("[role=alert]", "still in its form")
	b.fits("a phone without room")
	b.shot("photo-no-room")
	if n := b.waits(); n != 0 {
		t.Errorf("%d entries are kept in no room", n)
	}
	if got := evaluated[int](b, `document.querySelector("#f-file1").files[0].size`); got < 1<<20 || b.value("Which jar") != "5" {
		t.Errorf("in the form there is a file of %d bytes, of jar %q", got, b.value("Which jar"))
	}
	g.state.Store(dies)
	b.press("Keep the photo")
	b.until("it is written, and the answer is lost", func() bool { return len(x.photos(t, "B1·5")) == 1 })
	b.until("it can be pressed again", func() bool { return !evaluated[bool](b, `document.getElementById("shoot").busy`) })
	before := len(must[[]string](t)(x.deeds("B1")))
	g.state.Store(way)
	b.follow("Keep the photo", 200)
	if n := len(must[[]string](t)(x.deeds("B1"))); n != before || len(x.photos(t, "B1·5")) != 1 {
		t.Errorf("sent twice it is written twice")
	}

	// Not even room for a word: pressed again it is the same entry, changed it is another.
	b.beforeEachPage(`IDBObjectStore.prototype.add = () => { throw new DOMException("full", "QuotaExceededError"); };`)
	b.open("/batches/B1/rounds")
	g.state.Store(dies)
	b.note("2", "once")
	b.await("[role=alert]", "This phone has no room left")
	g.state.Store(way)
	b.follow("Only the note", 200)
	b.fill("Or write numbers", "3")
	b.fill("Note", "another")
	b.follow("Only the note", 200)
	b.says("B1·3: note")
	if n := len(must[[]string](t)(x.deeds("B1"))); n != before+2 {
		t.Errorf("two notes are written as %d", n-before)
	}
}

// TestPhotosWithNoNetwork takes photos over HTTPS where the network is cut,
// on a page that the worker kept.
func TestPhotosWithNoNetwork(t *testing.T) {
	t.Parallel()
	x := shelved(t)
	house, g := x.overTLS(t)
	b := newTabIn(t, trustingBrowser, house, phone)
	b.open("/rounds")
	b.ahead()
	g.state.Store(cut)
	b.open("/batches/B1/rounds")
	b.await(".away", "No network")
	b.tick("4")
	b.attach("Take a photo", b.snap(1))
	b.await(".waiting", "Not yet handed over: 1")
	b.open("/batches/B1/rounds")
	b.await(".waiting", "Not yet handed over: 1")
	b.fill("Which jar", "5")
	b.attach("Take a photo", b.snap(2))
	b.await(".waiting", "Not yet handed over: 2")
	b.open("/batches/B1/rounds")
	b.await(".waiting", "Not yet handed over: 2")
	b.shot("photo-away")
	g.state.Store(dies)
	b.press("Hand over now")
	b.until("the first is written", func() bool { return len(x.photos(t, "B1·4")) == 1 })
	g.state.Store(way)
	b.open("/batches/B1/rounds")
	b.until("nothing waits", func() bool { return b.waits() == 0 })
	for _, jar := range []string{"B1·4", "B1·5"} {
		if n := len(x.photos(t, jar)); n != 1 {
			t.Errorf("%s has %d photos", jar, n)
		}
	}
}

// TestWhatPinsetFailsOn keeps its place: what is behind it waits, until it is
// written or dropped.
func TestWhatPinsetFailsOn(t *testing.T) {
	t.Parallel()
	x := shelved(t)
	house, g := x.inTheHouse(t)
	b := newTabIn(t, houseBrowser, house, phone)
	b.open("/batches/B1/rounds")
	g.state.Store(ails)
	for i := range 2 {
		b.fill("Which jar", fmt.Sprint(4+i))
		b.attach("Take a photo", b.snap(uint64(i)))
		b.await(".waiting", fmt.Sprintf("Not yet handed over: %d", i+1))
	}
	b.note("2", "behind them")
	b.await(".waiting", "Not yet handed over: 3")
	b.await(".waiting", "Pinset fails on this one")
	before := len(must[[]string](t)(x.deeds("B1")))
	b.press("Drop it")
	b.await(".waiting", "Not yet handed over: 2")
	g.state.Store(way)
	b.press("Hand over now")
	b.until("the rest is handed over", func() bool { return b.waits() == 0 })
	if got := must[[]string](t)(x.deeds("B1")); len(got) != before+2 || got[1] != "B1·5: photo" {
		t.Errorf("one dropped of three, there are, newest first: %q", got[:len(got)-before])
	}
	b.press("Bring it back") // it was kept beside: a picture outlives its place
	b.await(".waiting", "Not yet handed over: 1")
	b.press("Hand over now")
	b.until("it is handed over", func() bool { return b.waits() == 0 })
	if n := len(x.photos(t, "B1·4")); n != 1 {
		t.Errorf("brought back, there are %d photos", n)
	}
}

// TestKilledWhileAPhotoIsSent kills the program at several moments after a
// photo began to be sent: each is there once, its files too.
func TestKilledWhileAPhotoIsSent(t *testing.T) {
	t.Parallel()
	m, b := newMortal(t)
	moments := []time.Duration{0, 5 * time.Millisecond, 20 * time.Millisecond, 60 * time.Millisecond, 120 * time.Millisecond}
	for i, moment := range moments {
		b.open("/batches/B1/rounds")
		m.dieIn(moment)
		b.fill("Which jar", fmt.Sprint(i+1))
		b.attach("Take a photo", b.snap(uint64(i)))
		b.until("the program is dead", m.dead)
		b.until("it waits, or was answered before", func() bool {
			text, err := ask[string](b, "text", "body") // the page may be on its way just then
			return err == nil && (strings.Contains(text, "Not yet handed over") || strings.Contains(text, ": photo") || !strings.Contains(text, "Rounds"))
		})
		m.start()
	}
	b.open("/batches/B1/rounds")
	b.until("nothing waits", func() bool { return b.waits() == 0 })
	m.kill()

	db, err := sqldb.Open(context.Background(), sqldb.File(m.dir))
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	f := farmOf(db, m.dir)
	for i := range moments {
		all := must[app.PhotoPage](t)(f.PhotosOfJar(context.Background(), fmt.Sprintf("B1·%d", i+1), "", 0)).Photos
		if len(all) != 1 {
			t.Errorf("killed after %v, there are %d photos", moments[i], len(all))
		}
		for _, p := range all {
			for _, name := range p.Files() {
				must[[]byte](t)(f.PhotoFile(context.Background(), p.ID, name))
			}
		}
	}
}
