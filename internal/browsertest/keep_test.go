package browsertest

import (
	"context"
	"log/slog"
	"net/http"
	"net/http/httptest"
	"strings"
	"sync/atomic"
	"testing"

	"github.com/chromedp/chromedp"

	"pinset/internal/web"
)

// gate stands between the pages and the network.
type gate struct {
	next  http.Handler
	state atomic.Value // string
}

const (
	way  = "open"
	cut  = "cut"  // no answer to anything
	dies = "dies" // entries are written, then the line is cut before the answer
	held = "held" // entries that are handed over get no answer
	ails = "ails" // photos are answered by a fault
)

func (g *gate) ServeHTTP(w http.ResponseWriter, r *http.Request) {
	switch state := g.state.Load(); {
	case state == cut:
		panic(http.ErrAbortHandler)
	case state == dies && r.Method == http.MethodPost:
		g.next.ServeHTTP(httptest.NewRecorder(), r)
		panic(http.ErrAbortHandler)
	case state == held && r.Header.Get("Pinset-Handover") != "":
		panic(http.ErrAbortHandler)
	}
	if g.state.Load() == ails && strings.HasSuffix(r.URL.Path, "/photos") && r.Method == http.MethodPost {
		w.Header().Set("Pinset-Handover", "1")
		http.Error(w, "broken", http.StatusInternalServerError)
		return
	}
	g.next.ServeHTTP(w, r)
}

// inTheHouse serves x by a name that is not this machine's own, over plain
// HTTP, behind a gate.
func (x *site) inTheHouse(t *testing.T) (*site, *gate) {
	t.Helper()
	handler, err := web.New(x.farm, web.Options{Listen: "127.0.0.1:0", Hosts: []string{"farm.example"}, Log: slog.New(slog.NewTextHandler(x.log, nil))})
	if err != nil {
		t.Fatal(err)
	}
	g := &gate{next: handler}
	g.state.Store(way)
	server := httptest.NewServer(g)
	t.Cleanup(server.Close)
	y := &site{farm: x.farm, clock: x.clock, log: x.log, url: strings.Replace(server.URL, "127.0.0.1", "farm.example", 1)}
	return y, g
}

// TestAnEntryOutlivesTheNetwork cuts the connection, presses, reloads, lets
// the server die between writing and answering, and counts.
func TestAnEntryOutlivesTheNetwork(t *testing.T) {
	t.Parallel()
	x := newSite(t)
	x.keep(t, trial("rice or millet", 6))
	x.cook(t, "1")
	x.inoculate(t, "B1")
	house, g := x.inTheHouse(t)
	b := newTabIn(t, houseBrowser, house, phone)
	notes := func() []string {
		t.Helper()
		deeds, err := x.farm.Deeds(context.Background(), "B1", 100)
		if err != nil {
			t.Fatal(err)
		}
		var out []string
		for _, d := range deeds {
			out = append(out, d.What)
		}
		return out
	}
	before := len(notes())

	b.open("/batches/B1/rounds")
	if evaluated[bool](b, "isSecureContext") {
		t.Fatal("plain HTTP to a name in the house is a secure context here: the test tries nothing")
	}
	b.await("[data-level]", "until Pinset has them")
	g.state.Store(cut)
	b.note("1", "first")
	b.await(".waiting", "Not yet handed over: 1")
	b.note("2", "second")
	b.await(".waiting", "Not yet handed over: 2")
	b.shot("phone-waiting")
	if got := len(notes()); got != before {
		t.Fatalf("%d entries came through a line that is cut", got-before)
	}

	// The page is gone with the network. What was entered is not.
	b.do("reload", chromedp.Evaluate[chromedp.Void]("location.reload()"))
	b.until("the page is gone", func() bool { return !strings.Contains(b.text("body"), "Rounds") })
	g.state.Store(dies)
	b.do("reload", chromedp.Navigate(house.url+"/shelf"))
	b.await(".waiting", "Not yet handed over: 2")
	b.until("the first is written", func() bool { return len(notes()) == before+1 })
	g.state.Store(way)
	b.press("Hand over now")
	b.until("all are handed over", func() bool { return !probed[bool](b, "has", ".waiting") })
	got := notes()
	if len(got) != before+2 || !strings.Contains(got[0], "B1·2") || !strings.Contains(got[1], "B1·1") {
		t.Errorf("written, newest first: %q, want jar 2 and jar 1 once each", got[:len(got)-before])
	}

	// What contradicts the records comes back as a form with what was typed.
	b.open("/batches/B1/rounds")
	b.fill("Or write numbers", "99")
	b.follow("pins", 422)
	b.holds("refused", typed{"Or write numbers": "99"})
	if probed[bool](b, "has", ".waiting") {
		t.Error("a refused entry, which is on the page again, waits too")
	}
}

// TestWhatContradictsIsKept hands over an entry that the records refuse by
// then.
func TestWhatContradictsIsKept(t *testing.T) {
	t.Parallel()
	x := newSite(t)
	x.keep(t, trial("rice or millet", 6))
	x.cook(t, "1")
	x.inoculate(t, "B1")
	house, g := x.inTheHouse(t)
	b := newTabIn(t, houseBrowser, house, phone)
	b.open("/batches/B1/rounds")
	g.state.Store(cut)
	b.tick("1")
	b.press("pins")
	b.await(".waiting", "Not yet handed over: 1")
	deeds, err := x.farm.Deeds(context.Background(), "B1", 1)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := x.farm.Undo(context.Background(), act(), deeds[0].ID); err != nil { // the inoculation
		t.Fatal(err)
	}
	g.state.Store(way)
	b.press("Hand over now")
	b.await(".waiting", "Not taken")
	b.await(".waiting", "not inoculated")
	b.open("/shelf")
	b.await(".waiting", "Not taken") // it stays until it is dropped
	b.press("Drop it")
	b.await(".waiting", "Dropped")
	b.press("Bring it back")
	b.await(".waiting", "Not taken")
	b.press("Drop it")
	b.await(".waiting", "Dropped")
	b.open("/shelf")
	b.until("it is gone", func() bool { return !probed[bool](b, "has", ".waiting") })
	view, err := x.farm.BatchView(context.Background(), "B1", 0)
	if err != nil {
		t.Fatal(err)
	}
	if view.Jars[0].Stage != "" {
		t.Error("a refused entry was written")
	}
}

// note writes a note on one jar.
func (b *tab) note(jar, text string) {
	b.Helper()
	b.fill("Or write numbers", jar)
	b.fill("Note", text)
	b.press("Only the note")
}
