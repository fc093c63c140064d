package browsertest

import (
	"context"
	"crypto/sha256"
	"crypto/x509"
	"encoding/base64"
	"log/slog"
	"net"
	"net/http"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"

	"github.com/chromedp/chromedp"

	"pinset/internal/trust"
	"pinset/internal/web"
)

// farmAuthority is an authority that trustingBrowser was told to trust.
var farmAuthority = sync.OnceValues(func() (*trust.Keeper, error) {
	dir, err := os.MkdirTemp(sharedDir, "authority-")
	if err != nil {
		return nil, err
	}
	return trust.Open(trust.Options{Dir: filepath.Join(dir, "tls"), Farm: "Test barn", Hosts: func() []string { return []string{"farm.example"} }})
})

// trustingBrowser reaches this machine by a name, as phones do, and trusts
// the farm's authority.
var trustingBrowser = sync.OnceValue(func() browser {
	k, err := farmAuthority()
	if err != nil {
		return browser{err: err}
	}
	root, err := x509.ParseCertificate(k.Root())
	if err != nil {
		return browser{err: err}
	}
	sum := sha256.Sum256(root.RawSubjectPublicKeyInfo)
	return startBrowser(16, "host-resolver-rules=MAP farm.example 127.0.0.1", "ignore-certificate-errors-spki-list="+base64.StdEncoding.EncodeToString(sum[:]))
})

// overTLS serves x by a name over HTTPS and plain HTTP on one port, as
// pinset serve --tls does, behind a gate.
func (x *site) overTLS(t *testing.T) (*site, *gate) {
	t.Helper()
	k, err := farmAuthority()
	if err != nil {
		t.Fatal(err)
	}
	handler, err := web.New(x.farm, web.Options{Listen: "127.0.0.1:0", Hosts: []string{"farm.example"}, Authority: k.Root(), Log: slog.New(slog.NewTextHandler(x.log, nil))})
	if err != nil {
		t.Fatal(err)
	}
	g := &gate{next: handler}
	g.state.Store(way)
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	server := &http.Server{Handler: g, ErrorLog: slog.NewLogLogger(slog.DiscardHandler, slog.LevelError)}
	go server.Serve(trust.Split(l, k.TLS()))
	t.Cleanup(func() { server.Close() })
	_, port, _ := net.SplitHostPort(l.Addr().String())
	return &site{farm: x.farm, clock: x.clock, log: x.log, url: "https://farm.example:" + port}, g
}

// ahead waits until the worker has kept the pages that are linked.
func (b *tab) ahead() {
	b.Helper()
	b.until("pages are kept ahead", func() bool {
		n, err := chromedp.Run(b.ctx, chromedp.Evaluate[string]("document.documentElement.dataset.ahead || ''"))
		return err == nil && n != ""
	})
}

// TestRoundsWithNoNetwork walks rounds and weighs in over HTTPS where the
// network is cut: pages open that were not open before, reloads find them,
// entries wait, and all of it is written once.
func TestRoundsWithNoNetwork(t *testing.T) {
	t.Parallel()
	x := newSite(t)
	x.keep(t, trial("rice or millet", 6))
	x.cook(t, "1")
	x.inoculate(t, "B1")
	house, g := x.overTLS(t)
	b := newTabIn(t, trustingBrowser, house, phone)
	b.open("/rounds")
	if !evaluated[bool](b, "isSecureContext") {
		t.Fatal("HTTPS is no secure context: the authority is not trusted")
	}
	b.ahead()
	b.open("/batches/B1/list/weigh")
	b.ahead()
	before := len(must[[]string](t)(x.deeds("B1")))

	g.state.Store(cut)
	b.open("/batches/B1/rounds")
	b.await(".away", "No network: this page is as it was at")
	b.await("[data-level]", "kept on this phone: both work where there is no network")
	b.tick("1")
	b.press("pins")
	b.await(".waiting", "Not yet handed over: 1")
	b.do("reload", chromedp.Evaluate[chromedp.Void]("location.reload()"))
	b.await(".waiting", "Not yet handed over: 1")
	b.await("h1", "Rounds")
	b.shot("phone-away-rounds")

	b.open("/batches/B1/list/weigh?step=1")
	b.fill("Grams", "8.2")
	b.press("Next")
	b.until("the next card is shown", func() bool { return strings.Contains(b.path(), "step=2") && probed[bool](b, "ready") })
	b.await(".waiting", "Not yet handed over: 2")
	b.open("/cultures")
	b.await("h1", "No network")
	b.await("[data-kept]", "Rounds, B1")
	b.shot("phone-away")

	g.state.Store(dies)
	b.open("/batches/B1/rounds")
	b.until("the first is written", func() bool { return len(must[[]string](t)(x.deeds("B1"))) == before+1 })
	g.state.Store(way)
	b.open("/batches/B1/rounds")
	b.until("the second is written", func() bool { return len(must[[]string](t)(x.deeds("B1"))) == before+2 })
	b.until("nothing waits", func() bool { return !probed[bool](b, "has", ".waiting") })
	got := must[[]string](t)(x.deeds("B1"))
	if len(got) != before+2 || !strings.Contains(got[0], "picked 8.2 g") || !strings.Contains(got[1], "pins") {
		t.Errorf("written, newest first: %q", got[:len(got)-before])
	}
}

// TestTheDoorForgetsPages leaves by the door: nothing of the farm stays on
// the phone, but what waits does.
func TestTheDoorForgetsPages(t *testing.T) {
	t.Parallel()
	x := newSite(t)
	x.keep(t, trial("rice or millet", 6))
	house, g := x.overTLS(t)
	b := newTabIn(t, trustingBrowser, house, phone)
	b.open("/rounds")
	b.ahead()
	b.open("/login") // there is no door here: it leads on to Today, past the worker
	b.until("the pages are forgotten", func() bool {
		return evaluated[bool](b, "caches.open('pinset-pages').then((c) => c.match('/batches/B1/rounds', {ignoreSearch: true})).then((p) => p === undefined)")
	})
	g.state.Store(cut)
	b.open("/batches/B1/rounds")
	b.await("h1", "No network")
}

// TestPlainComesOver keeps an entry over plain HTTP, then HTTPS is spoken
// too: the page that leads on hands it over first.
func TestPlainComesOver(t *testing.T) {
	t.Parallel()
	x := newSite(t)
	x.keep(t, trial("rice or millet", 6))
	x.cook(t, "1")
	x.inoculate(t, "B1")
	house, _ := x.overTLS(t)
	plain := &site{farm: house.farm, clock: house.clock, log: house.log, url: strings.Replace(house.url, "https", "http", 1)}
	b := newTabIn(t, trustingBrowser, plain, phone)
	b.open("/trust")
	b.do("keep an entry", chromedp.Evaluate[chromedp.Void](`new Promise((resolve, reject) => {
		const ask = indexedDB.open("pinset", 1);
		ask.onsuccess = () => {
			const t = ask.result.transaction("waiting", "readwrite");
			t.objectStore("waiting").add({path: "/batches/B1/rounds", pressed: Date.now(), what: "from before", who: "", fields: [["numbers", "2"], ["see", "note"], ["note", "from before"], ["at", ""], ["act", "0198c0de-0000-7000-8000-00000000ab01"]]});
			t.oncomplete = () => resolve();
			t.onerror = () => reject(t.error);
		};
	})`, chromedp.EvalAwaitPromise))
	b.do("open a page", chromedp.Navigate(plain.url+"/batches/B1/rounds"))
	b.until("it leads on", func() bool {
		return evaluated[bool](b, "location.protocol === 'https:'") && strings.HasPrefix(b.text("h1"), "Rounds")
	})
	if got := must[[]string](t)(x.deeds("B1")); !strings.Contains(got[0], "note") {
		t.Errorf("written last: %q", got[0])
	}
}

// deeds lists what was entered on a batch, newest first.
func (x *site) deeds(batch string) ([]string, error) {
	deeds, err := x.farm.Deeds(context.Background(), batch, 100)
	out := make([]string, len(deeds))
	for i, d := range deeds {
		out[i] = d.What
	}
	return out, err
}
