package browsertest

import (
	"bytes"
	"context"
	"image/png"
	"log/slog"
	"net/http/httptest"
	"strings"
	"testing"

	"github.com/chromedp/cdproto/page"
	"github.com/chromedp/chromedp"

	"pinset/internal/app"
	"pinset/internal/lab"
	"pinset/internal/scan"
	"pinset/internal/web"
)

const passphrase = "oak and barley, four words"

// behindADoor serves x by a name over plain HTTP, to those who are let in.
func (x *site) behindADoor(t *testing.T) (*site, *gate) {
	t.Helper()
	handler, err := web.New(x.farm, web.Options{Listen: "0.0.0.0:0", Passphrase: passphrase, Hosts: []string{"farm.example"}, Log: slog.New(slog.NewTextHandler(x.log, nil))})
	if err != nil {
		t.Fatal(err)
	}
	g := &gate{next: handler}
	g.state.Store(way)
	server := httptest.NewServer(g)
	t.Cleanup(server.Close)
	return &site{farm: x.farm, clock: x.clock, log: x.log, url: strings.Replace(server.URL, "127.0.0.1", "farm.example", 1)}, g
}

// square reads the square on the page with a reader that shares no code with
// what drew it, as a phone's camera would.
func (b *tab) square() string {
	b.Helper()
	picture := call(b, page.CaptureScreenshot, page.CaptureScreenshotParams{})
	seen, err := png.Decode(bytes.NewReader(picture.Data))
	if err != nil {
		b.Fatal(err)
	}
	text, err := scan.Image(seen)
	if err != nil {
		b.Fatalf("no square is read on %s: %v", b.path(), err)
	}
	return text
}

// pairedBy lets a phone in by the square on the owner's screen.
func pairedBy(t *testing.T, owner *tab, house *site, name string) *tab {
	t.Helper()
	p := newTabIn(t, houseBrowser, house, phone)
	p.pairBy(owner, name)
	return p
}

func (b *tab) pairBy(owner *tab, name string) {
	b.Helper()
	owner.open("/people")
	owner.follow("Let a phone in as "+name, 200)
	link := owner.square()
	if !strings.HasPrefix(link, b.url+"/pair#") {
		b.Fatalf("the square holds %q", link)
	}
	b.do("open what the camera found", chromedp.Navigate(link))
	b.until("the code is in the form and out of the address", func() bool { return b.path() == "/pair" && len(b.value("Pairing code")) == lab.PairingLength })
	// Not by pressing: what waits comes up above the key, and moves it.
	b.arrive("let this phone in", 200, chromedp.Evaluate[chromedp.Void]("document.querySelector('form[data-pair]').requestSubmit()"))
}

// TestPairedByTheSquare reads the square on the owner's screen and lets a
// phone in with it, once. What the phone keeps for one person waits while
// another is let in there.
func TestPairedByTheSquare(t *testing.T) {
	t.Parallel()
	x := newSite(t)
	x.keep(t, trial("rice or millet", 6))
	x.cook(t, "1")
	x.inoculate(t, "B1")
	ctx := context.Background()
	for _, p := range []app.NewPerson{{Name: "Mo Reed", Initials: "MO", Role: "hand"}, {Name: "Vi", Initials: "V", Role: "hand"}} {
		must[lab.Person](t)(x.farm.AddPerson(ctx, p))
	}
	house, g := x.behindADoor(t)
	owner := newTabIn(t, houseBrowser, house, desk)
	owner.open("/login")
	owner.fill("Passphrase", passphrase)
	owner.follow("Open", 200)
	b := pairedBy(t, owner, house, "Mo Reed")
	owner.shot("desk-pairing")
	used := owner.square()
	again := newTabIn(t, houseBrowser, house, phone)
	again.do("open a square that was used", chromedp.Navigate(used))
	again.follow("Let this phone in", 403)
	again.says("lets nobody in")

	b.open("/batches/B1/rounds")
	g.state.Store(cut)
	b.note("1", "by Mo")
	b.await(".waiting", "Not yet handed over: 1")
	before := len(must[[]string](t)(x.deeds("B1")))
	// Mo's devices are turned out: otherwise the next page hands it over as Mo's.
	for _, d := range must[app.PeopleView](t)(x.farm.People(ctx)).Devices {
		if d.Who == "Mo Reed" {
			if err := x.farm.TurnOut(ctx, d.ID); err != nil {
				t.Fatal(err)
			}
		}
	}
	g.state.Store(way)
	b.pairBy(owner, "Vi")
	b.await(".waiting", "Entered by MO: it waits until they are let in on this phone again")
	b.shot("phone-entry-of-another")
	if n := len(must[[]string](t)(x.deeds("B1"))); n != before {
		t.Fatalf("%d entries of Mo were written as Vi's", n-before)
	}
	b.open("/batches/B1/rounds")
	b.note("2", "by Vi") // it does not wait behind Mo's
	b.until("Vi's is written", func() bool { return len(must[[]string](t)(x.deeds("B1"))) == before+1 })
	b.pairBy(owner, "Mo Reed")
	b.until("Mo's is written", func() bool { return len(must[[]string](t)(x.deeds("B1"))) == before+2 })
	deeds := must[[]lab.Deed](t)(x.farm.Deeds(ctx, "B1", 2))
	if deeds[0].By != "MO" || deeds[1].By != "V" {
		t.Errorf("the entries are by %q and %q", deeds[1].By, deeds[0].By)
	}
}
