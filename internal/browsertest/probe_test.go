package browsertest

import (
	"fmt"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"
)

// TestProbesSeeFaults shows the checks a small page with one fault each, and
// the same page without it.
func TestProbesSeeFaults(t *testing.T) {
	t.Parallel()
	var body string
	server := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, _ *http.Request) {
		fmt.Fprintf(w, `<!doctype html><html lang="en"><head><title>t</title><meta name="viewport" content="width=device-width">
<link rel="icon" href="data:,"><style>body{margin:0}.vh{position:absolute;width:1px;height:1px;overflow:hidden;clip-path:inset(50%%)}</style></head>
<body><main>%s</main></body></html>`, body)
	}))
	t.Cleanup(server.Close)
	b := newTab(t, &site{url: server.URL}, phone)
	const cut = `<p style="width:4em;overflow:hidden;white-space:nowrap;%s"%s>much too long for its box</p>`
	for _, c := range []struct {
		probe     string
		arguments []any
		bad, good string
	}{
		{"tooWide", nil, `<p style="width:500px">wide</p>`, `<div style="overflow-x:auto"><p style="width:500px">wide in a box of its own</p></div>`},
		{"tooWide", nil, `<p style="white-space:nowrap">` + strings.Repeat("w", 80) + `</p>`, `<p style="overflow-wrap:anywhere">` + strings.Repeat("w", 80) + `</p>`},
		{"cutOff", nil, fmt.Sprintf(cut, "", ""), `<p class="vh">for those who listen</p>`},
		{"cutOff", nil, fmt.Sprintf(cut, "text-overflow:ellipsis", ""), fmt.Sprintf(cut, "text-overflow:ellipsis", ` title="all of it"`)},
		{"overlaps", nil, `<p>one</p><p style="margin-top:-1.8em">two</p>`, `<p style="line-height:1;margin:0">one</p><p style="line-height:1;margin:0">two</p>`},
		{"broken", nil, `<button style="width:4em;overflow-wrap:anywhere">Inoculate</button>`, `<button style="width:4em;overflow-wrap:anywhere">Keep it now</button>`},
		{"small", []any{44, 0}, `<button style="height:40px">Go</button>`, `<button style="height:44px">Go</button>`},
		{"small", []any{44, 72}, `<form><button style="height:60px">Go</button></form>`, `<form><button style="height:72px">Go</button></form>`},
		{"underBars", nil, `<p>last</p><div class="rail" style="position:fixed;bottom:0;height:100%">bar</div>`, `<p>last</p><div class="rail" style="position:fixed;bottom:0;height:50px">bar</div>`},
		{"onPaper", nil, `<button>Go</button>`, `<p>Go</p>`},
	} {
		body = c.bad
		b.open("/bad")
		if found := probed[[]string](b, c.probe, c.arguments...); len(found) == 0 {
			t.Errorf("%s sees nothing in %s", c.probe, c.bad)
		}
		body = c.good
		b.open("/good")
		if found := probed[[]string](b, c.probe, c.arguments...); len(found) > 0 {
			t.Errorf("%s sees %q in %s", c.probe, found, c.good)
		}
	}
	b.covered(&body)
	b.strangers(&body)
}

// covered checks that what lies under something else can not be pressed or
// stood on unseen.
func (b *tab) covered(body *string) {
	*body = `<button>Go</button><div style="position:fixed;inset:0;background:white">over all of it</div>`
	b.open("/covered")
	b.keys("\t")
	if at := probed[focused](b, "focus"); at.Seen || at.Name != "Go" {
		b.Errorf("a button under a sheet is said to be seen: %+v", at)
	}
	if _, err := ask[spot](b, "press", "Go"); err == nil || !strings.Contains(err.Error(), "is covered by") {
		b.Errorf("a button under a sheet can be pressed: %v", err)
	}
	*body = `<button style="outline:0">Go</button>`
	b.open("/ring")
	b.keys("\t")
	if at := probed[focused](b, "focus"); at.Ring || !at.Seen {
		b.Errorf("a button without a ring: %+v", at)
	}
}

// strangers checks that faults in scripts and requests to others are heard,
// and that axe sees letters that are hardly there.
func (b *tab) strangers(body *string) {
	*body = `<script>console.log("x"); undefinedName()</script><img alt="" src="http://127.0.0.1:9/x.png"><p style="color:#ddd;background:#fff">pale</p>`
	b.forget()
	b.open("/strangers")
	heard := &recorder{TB: b.TB}
	b.TB = heard
	b.quiet("strangers")
	b.scan("strangers", true)
	b.TB = heard.TB
	for _, want := range []string{"undefinedName", "console.log", "asks http://127.0.0.1:9/x.png", "color-contrast"} {
		if !strings.Contains(heard.text, want) {
			b.Errorf("of a page with faults, %q is not reported, but: %s", want, heard.text)
		}
	}
}

// recorder takes errors down instead of failing.
type recorder struct {
	testing.TB
	text string
}

func (r *recorder) Errorf(format string, a ...any) { r.text += fmt.Sprintf(format, a...) + "\n" }
