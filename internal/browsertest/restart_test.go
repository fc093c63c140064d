package browsertest

import (
	"bytes"
	"context"
	"io"
	"net/http"
	"net/http/httptest"
	"os"
	"regexp"
	"strconv"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"github.com/chromedp/cdproto/network"
	"github.com/chromedp/chromedp"

	"pinset/internal/app"
	"pinset/internal/lab"
)

// TestAPhoneIsRestarted keeps a note and a photo where the network is cut,
// kills the browser, starts it again, and has both handed over.
func TestAPhoneIsRestarted(t *testing.T) {
	t.Parallel()
	x := shelved(t)
	house, g := x.inTheHouse(t)
	profile := must[string](t)(newProfile(16))
	t.Cleanup(func() { os.RemoveAll(profile) })
	started := func() (*tab, func()) {
		one, end := startIn(profile, "host-resolver-rules=MAP farm.example 127.0.0.1")
		b := unopened(t, house)
		b.begin(in(t, func() browser { return one }), phone) // not in a context of its own, which would be forgotten
		return b, end
	}
	b, kill := started()
	b.open("/batches/B1/rounds")
	g.state.Store(cut)
	b.note("2", "before the restart")
	b.await(".waiting", "Not yet handed over: 1")
	b.fill("Which jar", "4")
	b.attach("Take a photo", b.snap(1))
	b.await(".waiting", "Not yet handed over: 2")
	kill()
	before := len(must[[]string](t)(x.deeds("B1")))

	g.state.Store(held)
	b, kill = started()
	defer kill()
	b.open("/shelf")
	b.await(".waiting", "Not yet handed over: 2")
	g.state.Store(way)
	b.press("Hand over now")
	b.until("all are handed over", func() bool { return b.waits() == 0 })
	got := must[[]string](t)(x.deeds("B1"))
	if len(got) != before+2 || got[0] != "B1·4: photo" || !strings.HasPrefix(got[1], "B1·2: note") || len(x.photos(t, "B1·4")) != 1 {
		t.Errorf("after the restart there are, newest first: %q", got[:len(got)-before])
	}
}

// release serves the pages of an older release as long as old says so: its
// worker differs, and its pages name a file of styles that the newer does not
// know.
type release struct {
	next   http.Handler
	old    atomic.Bool
	styles atomic.Value // where the newer has them: string
}

const oldStyles = "/static/older.css"

var newStyles = regexp.MustCompile(`/static/pinset\.[0-9a-z]+\.css`)

func (o *release) ServeHTTP(w http.ResponseWriter, r *http.Request) {
	if !o.old.Load() {
		o.next.ServeHTTP(w, r)
		return
	}
	r.Header.Del("Accept-Encoding")
	if r.URL.Path == oldStyles {
		r.URL.Path = o.styles.Load().(string)
	}
	answer := httptest.NewRecorder()
	o.next.ServeHTTP(answer, r)
	body := answer.Body.Bytes()
	if r.URL.Path == "/worker.js" {
		body = append(body, "// the older one\n"...)
	}
	if found := newStyles.Find(body); found != nil {
		o.styles.Store(string(found))
		body = bytes.ReplaceAll(body, found, []byte(oldStyles))
	}
	for key, values := range answer.Header() {
		w.Header()[key] = values
	}
	w.Header().Del("Content-Length")
	w.WriteHeader(answer.Code)
	_, _ = io.Copy(w, bytes.NewReader(body))
}

// TestANewWorkerStrandsNoPage updates the program while a phone has pages of
// the older one, open and kept: both go on working where there is no network.
func TestANewWorkerStrandsNoPage(t *testing.T) {
	t.Parallel()
	x := shelved(t)
	house, g := x.overTLS(t)
	served := &release{next: g.next}
	served.old.Store(true)
	g.next = served
	b := newTabIn(t, trustingBrowser, house, phone)
	call(b, network.SetCacheDisabled, network.SetCacheDisabledParams{CacheDisabled: true}) // the worker alone keeps files
	b.open("/rounds")
	b.ahead()
	b.open("/batches/B1/rounds")
	b.ahead()
	styled := func() bool {
		return evaluated[bool](b, `document.styleSheets.length > 0 && getComputedStyle(document.querySelector(".crate")).display === "grid"`)
	}
	if !strings.Contains(evaluated[string](b, `document.querySelector("link[rel=stylesheet]").href`), oldStyles) || !styled() {
		t.Fatal("the pages of the older release do not name its styles: the test tries nothing")
	}
	served.old.Store(false)
	b.do("update the worker", chromedp.Evaluate[chromedp.Void](`(async () => {
		const it = await navigator.serviceWorker.getRegistration();
		const taken = new Promise((r) => navigator.serviceWorker.addEventListener("controllerchange", r, {once: true}));
		await it.update();
		await taken;
	})()`, chromedp.EvalAwaitPromise))
	g.state.Store(cut)
	b.note("1", "on the older page")
	b.await(".waiting", "Not yet handed over: 1")
	b.do("reload", chromedp.Evaluate[chromedp.Void]("location.reload()"))
	b.await(".away", "No network")
	if !styled() {
		t.Error("the page of the older release has lost its styles")
	}
	b.note("2", "on the kept page")
	b.await(".waiting", "Not yet handed over: 2")
	g.state.Store(way)
	before := len(must[[]string](t)(x.deeds("B1")))
	b.press("Hand over now")
	b.until("both are written by the newer program", func() bool { return len(must[[]string](t)(x.deeds("B1"))) == before+2 })
	b.open("/batches/B1/rounds")
	if href := evaluated[string](b, `document.querySelector("link[rel=stylesheet]").href`); !newStyles.MatchString(href) || !styled() {
		t.Errorf("with a network again the page comes with %s", href)
	}
}

// TestLeavingKeepsWhatWaits leaves by the door while an entry waits: it stays,
// the page says so, and it is handed over when its person is let in again.
func TestLeavingKeepsWhatWaits(t *testing.T) {
	t.Parallel()
	x := shelved(t)
	must[lab.Person](t)(x.farm.AddPerson(context.Background(), app.NewPerson{Name: "Mo Reed", Initials: "MO", Role: "hand"}))
	house, g := x.behindADoor(t)
	owner := newTabIn(t, houseBrowser, house, desk)
	owner.open("/login")
	owner.fill("Passphrase", passphrase)
	owner.follow("Open", 200)
	b := pairedBy(t, owner, house, "Mo Reed")
	b.open("/batches/B1/rounds")
	g.state.Store(held)
	b.fill("Which jar", "4")
	b.attach("Take a photo", b.snap(1))
	b.await(".waiting", "Not yet handed over: 1")
	b.arrive("leave", 200, chromedp.Evaluate[chromedp.Void](`document.querySelector("form[action='/logout']").requestSubmit()`))
	b.await(".waiting", "Not yet handed over: 1")
	g.state.Store(way)
	b.press("Hand over now")
	b.await(".waiting", "This phone has to be let in again. Then they are handed over.")
	b.shot("phone-left-with-a-photo")
	if n := len(x.photos(t, "B1·4")); n != 0 {
		t.Fatalf("%d photos came in by nobody", n)
	}
	b.pairBy(owner, "Mo Reed")
	b.until("it is handed over", func() bool { return b.waits() == 0 })
	if all := x.photos(t, "B1·4"); len(all) != 1 || all[0].By != "MO" {
		t.Errorf("handed over: %+v", all)
	}
}

// clockOff puts the clock of the phone off by what window.off says, in ms.
const clockOff = `window.off = Number(localStorage.off || 0); { const right = Date.now; Date.now = () => right() + window.off; }`

// TestAPhonesClockIsWrong presses on a phone whose clock is a year ahead: what
// counts is how long the entry waited. Where the clock was set meanwhile, so
// that it can not have waited so long, the time of entry stands.
func TestAPhonesClockIsWrong(t *testing.T) {
	t.Parallel()
	x := shelved(t)
	house, g := x.inTheHouse(t)
	b := newTabIn(t, houseBrowser, house, phone)
	b.beforeEachPage(clockOff)
	const year, hours = 365 * 24 * time.Hour, 2 * time.Hour
	off := func(d time.Duration) {
		b.do("set the clock of the phone", chromedp.Evaluate[chromedp.Void]("window.off = localStorage.off = "+strconv.FormatInt(d.Milliseconds(), 10)))
	}
	b.open("/batches/B1/rounds")
	off(year)
	g.state.Store(cut)
	pressed := x.clock.Now()
	b.note("1", "two hours ago")
	b.await(".waiting", "Not yet handed over: 1")
	off(year + hours)
	x.clock.add(hours)
	g.state.Store(way)
	b.press("Hand over now")
	b.until("it is handed over", func() bool { return b.waits() == 0 })
	b.wrote(0, "two hours ago", pressed)

	b.open("/batches/B1/rounds")
	g.state.Store(cut)
	b.note("2", "the clock was set")
	b.await(".waiting", "Not yet handed over: 1")
	off(0) // a year before it was pressed
	x.clock.add(hours)
	g.state.Store(way)
	b.press("Hand over now")
	b.until("it is handed over", func() bool { return b.waits() == 0 })
	b.wrote(1, "the clock was set", x.clock.Now())
}

// wrote checks when the note that holds a text was made, within a minute: the
// clock of the farm is moved by hand, that of the phone runs.
func (b *tab) wrote(place int, text string, at time.Time) {
	b.Helper()
	for _, line := range must[app.JarView](b)(b.farm.JarView(context.Background(), b.codeOf(b, place))).History {
		if !strings.Contains(line.What, text) {
			continue
		}
		if d := line.At.Time.Sub(at); d.Abs() > time.Minute {
			b.Errorf("%q was made at %v, want %v", text, line.At.Time, at)
		}
		return
	}
	b.Errorf("there is no %q", text)
}

// TestTwoPhonesOnOneJar has two hands enter on one jar what can hardly both
// hold, one of them where the network was cut: both are kept, the page asks,
// and takes the answer.
func TestTwoPhonesOnOneJar(t *testing.T) {
	t.Parallel()
	x := shelved(t)
	for _, p := range []app.NewPerson{{Name: "Mo Reed", Initials: "MO", Role: "hand"}, {Name: "Vi", Initials: "V", Role: "hand"}} {
		must[lab.Person](t)(x.farm.AddPerson(context.Background(), p))
	}
	house, g := x.behindADoor(t)
	owner := newTabIn(t, houseBrowser, house, desk)
	owner.open("/login")
	owner.fill("Passphrase", passphrase)
	owner.follow("Open", 200)
	mo, vi := pairedBy(t, owner, house, "Mo Reed"), pairedBy(t, owner, house, "Vi")
	jar := "/j/" + x.codeOf(t, 3)
	mo.open(jar)
	mo.await("[data-level]", "until Pinset has them")
	vi.open(jar)
	g.state.Store(cut)
	mo.press("clean")
	mo.await(".waiting", "Not yet handed over: 1")
	g.state.Store(way)
	vi.follow("green", 200)
	vi.says("green")
	mo.press("Hand over now")
	mo.until("it is handed over", func() bool { return mo.waits() == 0 })
	for _, b := range []*tab{mo, vi} {
		b.open(jar)
		b.says("Which holds?")
		b.says("Both are kept until one of you says")
	}
	vi.shot("phone-which-holds")
	vi.follow("green V", 200)
	mo.open(jar)
	if strings.Contains(mo.text("main"), "Which holds?") {
		t.Error("answered, it asks again")
	}
}
