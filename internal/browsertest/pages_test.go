package browsertest

import (
	"fmt"
	"io"
	"maps"
	"net/http"
	"net/url"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/chromedp/cdproto/network"
	"golang.org/x/net/html"
)

// mostBytes is what a page may weigh with its styles and scripts, photos not
// counted.
const mostBytes = 60_000

// samples is how many pages of one kind are looked at in the browser.
const samples = 2

// walk asks for every page that a link on another page leads to, from the
// first on, and returns their addresses in the order of finding. Each must
// answer. Sheets to print and files are asked for too, but not returned.
func walk(t *testing.T, x *site) []string {
	t.Helper()
	const most = 1500
	found, pages := []string{"/"}, []string(nil)
	for i := 0; i < len(found) && i < most; i++ {
		r, err := http.Get(x.url + found[i])
		if err != nil {
			t.Fatal(err)
		}
		body, err := io.ReadAll(r.Body)
		r.Body.Close()
		if err != nil || r.StatusCode != http.StatusOK {
			t.Errorf("%s: status %d, error %v", found[i], r.StatusCode, err)
			continue
		}
		if !strings.HasPrefix(r.Header.Get("Content-Type"), "text/html") {
			continue
		}
		pages = append(pages, found[i])
		for _, link := range linksOf(t, string(body)) {
			if !slices.Contains(found, link) {
				found = append(found, link)
			}
		}
	}
	if len(found) >= most {
		t.Errorf("there are %d pages or more", len(found))
	}
	return pages
}

// linksOf returns the pages of ours that a page leads to, without the marks
// within them.
func linksOf(t *testing.T, page string) []string {
	t.Helper()
	root, err := html.Parse(strings.NewReader(page))
	if err != nil {
		t.Fatal(err)
	}
	var out []string
	for n := range root.Descendants() {
		for _, a := range n.Attr {
			if n.Data != "a" || a.Key != "href" || !strings.HasPrefix(a.Val, "/") {
				continue
			}
			to, _, _ := strings.Cut(a.Val, "#")
			out = append(out, to)
		}
	}
	return out
}

// ofOne matches the part of an address that names one of many.
var ofOne = regexp.MustCompile(`^/(j|batches|cooks|trials|elsewhere|recipes|ingredients|shelves|photos)/[^/?]+`)

// kindOf says what kind of page an address leads to: "/batches/*/bench".
func kindOf(path string) string {
	path, query, _ := strings.Cut(path, "?")
	values, _ := url.ParseQuery(query)
	kind := ofOne.ReplaceAllString(path, "/$1/*")
	for _, key := range slices.Sorted(maps.Keys(values)) {
		kind += " " + key
	}
	return kind
}

// looked returns the pages that are looked at in the browser: all that are one
// of a kind, and the first and the last of each kind of which there are many.
func looked(pages []string) []string {
	kinds := map[string][]string{}
	var order []string
	for _, p := range pages {
		k := kindOf(p)
		if kinds[k] == nil {
			order = append(order, k)
		}
		kinds[k] = append(kinds[k], p)
	}
	var out []string
	for _, k := range order {
		all := kinds[k]
		n := min(samples, len(all))
		for i := range n {
			out = append(out, all[i*(len(all)-1)/max(1, n-1)])
		}
	}
	return out
}

// TestEveryPage looks at the pages of the demo farm as they are on a phone
// and on a desk, light, dark and in the dark room.
func TestEveryPage(t *testing.T) {
	x := inDemo(t)
	pages := looked(walk(t, x))
	t.Logf("%d pages", len(pages))
	share(t, theBrowser, x, pages, func(b *tab, path string) {
		// As on a first visit: nothing of it is there yet.
		call(b, network.SetCacheDisabled, network.SetCacheDisabledParams{CacheDisabled: true})
		b.forget()
		b.show(phone)
		b.open(path)
		b.quiet(path)
		if n := b.weight(); n > mostBytes {
			b.Errorf("%s weighs %d bytes, %d are the most", path, n, mostBytes)
		}
		for _, s := range []screen{phone, desk} {
			b.show(s)
			b.look(s.name+" "+path, path)
		}
	})
}

// tabs is how many tabs share the pages of a test.
const tabs = 2

// gloved matches the pages that are used with a glove on: rounds, cooks,
// inoculation and single jars.
var gloved = regexp.MustCompile(`^/(batches/[^/]+/(rounds|inoculate|check|list/[^/?]+)|cooks/\d+(/list)?|j/[^/]+|rounds|scan|shelves/[^/]+/rounds)(\?|$)`)

// share opens some tabs and gives each a part of the pages.
func share(t *testing.T, start func() browser, x *site, pages []string, look func(*tab, string)) {
	for k := range tabs {
		t.Run(fmt.Sprintf("part %d of %d", k+1, tabs), func(t *testing.T) {
			t.Parallel()
			b := newTabIn(t, start, x, phone)
			for i := k; i < len(pages); i += tabs {
				look(b, pages[i])
			}
		})
	}
}

// look checks what is checked of every page, on the screen that it is on.
func (b *tab) look(what, path string) {
	b.Helper()
	b.theme("light")
	b.scan(what, false)
	b.fits(what)
	underGloves := 0
	if gloved.MatchString(path) {
		underGloves = 72 // 12 mm
	}
	b.none(what, "is too small to press", "small", 44, underGloves)
	b.none(what, "stays under the bars", "underBars")
	b.shot(fileName(what) + "-light")
	for _, theme := range []string{"dark", "dim"} {
		b.theme(theme)
		b.scan(what+" "+theme, true)
		b.shot(fileName(what) + "-" + theme)
	}
}

// theme shows the page in a theme, as the server sends it when it was chosen.
func (b *tab) theme(name string) { b.Helper(); probed[bool](b, "setTheme", name) }

// fits checks that the page is no wider than the screen, and that no text is
// cut off or lies on another.
func (b *tab) fits(what string) {
	b.Helper()
	b.none(what, "is too wide", "tooWide")
	b.none(what, "is cut off", "cutOff")
	b.none(what, "is broken within", "broken")
	b.none(what, "lie on each other", "overlaps")
}

// none reports what a function of probe.js finds.
func (b *tab) none(what, fault, name string, arguments ...any) {
	b.Helper()
	for _, found := range probed[[]string](b, name, arguments...) {
		b.Errorf("%s: %s %s", what, found, fault)
	}
}

var notInNames = regexp.MustCompile(`[^A-Za-z0-9]+`)

// fileName makes a name for a picture.
func fileName(what string) string {
	name := strings.Trim(notInNames.ReplaceAllString(what, "-"), "-")
	return name[:min(len(name), 100)]
}
