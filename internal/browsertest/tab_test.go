package browsertest

import (
	"context"
	_ "embed"
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/cdproto/input"
	"github.com/chromedp/cdproto/log"
	"github.com/chromedp/cdproto/network"
	"github.com/chromedp/cdproto/page"
	"github.com/chromedp/cdproto/runtime"
	"github.com/chromedp/chromedp"
)

// screen is what is looked at, in CSS pixels.
type screen struct {
	name          string
	width, height int64
	phone         bool
}

var (
	phone = screen{"phone", 390, 844, true}
	desk  = screen{"desk", 1280, 800, false}
	// A desk of 1280 by 800 at 200 % zoom has half as many CSS pixels.
	zoomed = screen{"zoomed", 640, 400, false}
	// 1280 px at 400 % zoom, which WCAG 2.2, 1.4.10 asks for.
	narrow = screen{"narrow", 320, 568, true}
)

//go:embed testdata/probe.js
var probe string

// tab is one page of the browser, in a profile of its own.
type tab struct {
	testing.TB
	*site
	ctx  context.Context
	name string // what the test calls it
	taps int    // what it cost

	mu      sync.Mutex
	told    []string // by the console: faults and what the policy refused
	asked   []string // addresses
	weights map[network.RequestID]float64
	kinds   map[network.RequestID]network.ResourceType
}

// newTab opens a tab on x, as wide and high as s.
func newTab(t testing.TB, x *site, s screen) *tab { t.Helper(); return newTabIn(t, theBrowser, x, s) }

func newTabIn(t testing.TB, start func() browser, x *site, s screen) *tab {
	t.Helper()
	b := unopened(t, x)
	b.begin(in(t, start), s, chromedp.WithNewBrowserContext())
	return b
}

// unopened is a tab that is not open yet.
func unopened(t testing.TB, x *site) *tab {
	return &tab{TB: t, site: x, weights: map[network.RequestID]float64{}, kinds: map[network.RequestID]network.ResourceType{}}
}

// begin opens the tab.
func (b *tab) begin(browser context.Context, s screen, o ...chromedp.ContextOption) {
	b.Helper()
	t := b.TB
	ctx, cancel := chromedp.NewContext(browser, append(o, chromedp.WithListener(b.hear))...)
	t.Cleanup(cancel)
	if err := chromedp.Do(ctx); err != nil {
		t.Fatalf("open a tab: %v", err)
	}
	ctx, cancel = context.WithTimeout(ctx, patience)
	t.Cleanup(cancel)
	b.ctx = ctx
	// Several tabs are open side by side; each is the one that has the keyboard.
	call(b, emulation.SetFocusEmulationEnabled, emulation.SetFocusEmulationEnabledParams{Enabled: true})
	b.show(s)
}

// hear notes what the browser tells. It runs in the loop that reads the
// browser's messages.
func (b *tab) hear(event any) {
	b.mu.Lock()
	defer b.mu.Unlock()
	switch e := event.(type) {
	case *network.EventRequestWillBeSent:
		b.asked = append(b.asked, e.Request.URL)
		b.kinds[e.RequestID] = e.Type
	case *network.EventLoadingFinished:
		b.weights[e.RequestID] += e.EncodedDataLength
	case *log.EventEntryAdded:
		// A form that came back to be mended answers 422, which is no fault; and
		// a header that only HTTPS knows is passed over on plain HTTP.
		if e.Entry.Level == log.EntryLevelError && !strings.Contains(e.Entry.Text, "status of 422") && !strings.Contains(e.Entry.Text, "Cross-Origin-Opener-Policy header has been ignored") {
			b.told = append(b.told, e.Entry.Text+" "+e.Entry.URL)
		}
	case *runtime.EventConsoleAPICalled:
		b.told = append(b.told, fmt.Sprintf("console.%s: %s", e.Type, arguments(e.Args)))
	case *runtime.EventExceptionThrown:
		b.told = append(b.told, e.ExceptionDetails.Text+" "+describe(e.ExceptionDetails.Exception))
	}
}

func arguments(all []*runtime.RemoteObject) string {
	var out []string
	for _, a := range all {
		out = append(out, string(a.Value)+a.Description)
	}
	return strings.Join(out, " ")
}

func describe(o *runtime.RemoteObject) string {
	if o == nil {
		return ""
	}
	return o.Description
}

// forget empties what was heard so far.
func (b *tab) forget() {
	b.mu.Lock()
	defer b.mu.Unlock()
	b.told, b.asked = nil, nil
	clear(b.weights)
	clear(b.kinds)
}

// quiet checks that the console was silent and that nobody else was asked.
func (b *tab) quiet(what string) {
	b.Helper()
	b.mu.Lock()
	defer b.mu.Unlock()
	for _, line := range b.told {
		b.Errorf("%s: the console says %s", what, line)
	}
	for _, url := range b.asked {
		if !strings.HasPrefix(url, b.url+"/") && !strings.HasPrefix(url, "data:") {
			b.Errorf("%s: the page asks %s", what, url)
		}
	}
}

// weight is how many bytes of pages, styles and scripts came over the line.
func (b *tab) weight() int {
	b.mu.Lock()
	defer b.mu.Unlock()
	sum := 0.0
	for id, n := range b.weights {
		switch b.kinds[id] {
		case network.ResourceTypeDocument, network.ResourceTypeStylesheet, network.ResourceTypeScript:
			sum += n
		}
	}
	return int(sum)
}

// do runs steps, or ends the test.
func (b *tab) do(what string, steps ...chromedp.Action[chromedp.Void]) {
	b.Helper()
	if err := chromedp.Do(b.ctx, steps...); err != nil {
		b.Fatalf("%s: %v", what, err)
	}
}

// call sends one command to the browser, or ends the test.
func call[P, R any](b *tab, command cdp.Command[P, R], params P) R {
	b.Helper()
	r, err := chromedp.Call(b.ctx, command, params)
	if err != nil {
		b.Fatalf("%s: %v", command.Method, err)
	}
	return r
}

// show changes the screen.
func (b *tab) show(s screen) {
	b.Helper()
	if s.phone {
		b.do("show a "+s.name, chromedp.EmulateViewport(s.width, s.height, chromedp.EmulateMobile, chromedp.EmulatePortrait, chromedp.EmulateTouch))
		return
	}
	b.do("show a "+s.name, chromedp.EmulateViewport(s.width, s.height))
}

// system sets what the system says about light and dark.
func (b *tab) system(scheme string) {
	b.Helper()
	call(b, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{Features: []*emulation.MediaFeature{
		{Name: "prefers-color-scheme", Value: scheme}, {Name: "prefers-reduced-motion", Value: "reduce"},
	}})
}

// withoutScripts turns scripts off for the pages that follow.
func (b *tab) withoutScripts() {
	b.Helper()
	call(b, emulation.SetScriptExecutionDisabled, emulation.SetScriptExecutionDisabledParams{Value: true})
}

// open goes to a path, which must answer 200.
func (b *tab) open(path string) {
	b.Helper()
	r, err := chromedp.Run(b.ctx, chromedp.NavigateResponse(b.url+path))
	if err != nil {
		b.Fatalf("open %s: %v", path, err)
	}
	if r.Status != 200 {
		b.Fatalf("open %s: status %d", path, r.Status)
	}
}

// back goes back to the page before, which is at path. The browser may show it
// as it was left, without loading it.
func (b *tab) back(path string) {
	b.Helper()
	b.do("go back", chromedp.Evaluate[chromedp.Void]("history.back()"))
	b.until("the page before is "+path, func() bool { return b.path() == path && probed[bool](b, "ready") })
}

// until waits until something is so.
func (b *tab) until(what string, so func() bool) {
	b.Helper()
	for end := time.Now().Add(time.Minute); !so(); time.Sleep(50 * time.Millisecond) {
		if time.Now().After(end) {
			b.Fatalf("on %s it does not come to be so that %s: %s", b.path(), what, b.text("main"))
		}
	}
}

// path is the path and query of the page that is shown.
func (b *tab) path() string {
	b.Helper()
	url, err := chromedp.Run(b.ctx, chromedp.Location())
	if err != nil {
		b.Fatal(err)
	}
	return strings.TrimPrefix(url, b.url)
}

// ask calls a function of probe.js.
func ask[T any](b *tab, name string, arguments ...any) (T, error) {
	list, err := json.Marshal(append([]any{}, arguments...))
	if err != nil {
		b.Fatal(err)
	}
	return chromedp.Run(b.ctx, chromedp.Evaluate[T](fmt.Sprintf("%s.%s(...%s)", strings.TrimSpace(probe), name, list)))
}

// probed calls a function of probe.js, or ends the test.
func probed[T any](b *tab, name string, arguments ...any) T {
	b.Helper()
	v, err := ask[T](b, name, arguments...)
	if err != nil {
		b.Fatalf("on %s, %s%q: %v", b.path(), name, arguments, err)
	}
	return v
}

// spot is a point of the screen.
type spot struct {
	X float64 `json:"x"`
	Y float64 `json:"y"`
}

func (b *tab) click(at spot) chromedp.Action[chromedp.Void] { return chromedp.MouseClickXY(at.X, at.Y) }

// press presses what bears the label and stays on the page.
func (b *tab) press(label string) {
	b.Helper()
	b.do("press "+label, b.click(probed[spot](b, "press", label)))
}

// tick ticks the box with the label, if it is not ticked.
func (b *tab) tick(label string) {
	b.Helper()
	if !probed[bool](b, "ticked", label) {
		b.press(label)
	}
	if !probed[bool](b, "ticked", label) {
		b.Fatalf("%s: %q can not be ticked", b.path(), label)
	}
}

// follow presses what bears the label and waits for the next page, whose
// status must be what is wanted.
func (b *tab) follow(label string, status int64) {
	b.Helper()
	b.arrive("press "+label, status, b.click(probed[spot](b, "press", label)))
}

// arrive takes steps that lead to another page, and waits for it.
func (b *tab) arrive(what string, status int64, steps ...chromedp.Action[chromedp.Void]) {
	b.Helper()
	ctx, cancel := context.WithTimeout(b.ctx, time.Minute)
	defer cancel()
	from := b.path()
	r, err := chromedp.RunResponse(ctx, steps...)
	if err != nil {
		b.Fatalf("on %s, %s: no page follows: %v", from, what, err)
	}
	if r.Status != status {
		b.Fatalf("on %s, %s: status %d, want %d: %s", from, what, r.Status, status, b.text("main"))
	}
}

// fill types text into the field with the label, over what stood there.
func (b *tab) fill(label, text string) {
	b.Helper()
	probed[string](b, "reach", label)
	if text == "" {
		b.keys("\b")
		return
	}
	b.insert(text)
}

// insert puts text where the keyboard stands.
func (b *tab) insert(text string) {
	b.Helper()
	call(b, input.InsertText, input.InsertTextParams{Text: text})
}

// choose chooses an option of the field with the label.
func (b *tab) choose(label, option string) {
	b.Helper()
	probed[bool](b, "choose", label, option)
}

// focused is what the keyboard stands on.
type focused struct {
	Tag   string `json:"tag"`
	Field string `json:"field"`
	Name  string `json:"name"`
	Go    bool   `json:"go"`   // the one thing to do
	Ring  bool   `json:"ring"` // there is a ring around it
	Seen  bool   `json:"seen"` // it is on the screen, and nothing covers it
}

// enter presses Enter as a keyboard does: a page that takes the key for itself
// keeps it from sending the form. chromedp.KeyEvent sends the character all
// the same.
func enter(ctx context.Context, t *chromedp.Target) (chromedp.Void, error) {
	key := input.DispatchKeyEventParams{Type: input.DispatchKeyEventTypeKeyDown, Key: "Enter", Code: "Enter", WindowsVirtualKeyCode: 13, Text: "\r", UnmodifiedText: "\r"}
	if _, err := cdp.Call(ctx, t, input.DispatchKeyEvent, key); err != nil {
		return chromedp.Void{}, err
	}
	key.Type, key.Text, key.UnmodifiedText = input.DispatchKeyEventTypeKeyUp, "", ""
	_, err := cdp.Call(ctx, t, input.DispatchKeyEvent, key)
	return chromedp.Void{}, err
}

// keys presses keys one after the other.
func (b *tab) keys(keys string) {
	b.Helper()
	b.do(fmt.Sprintf("type %q", keys), chromedp.KeyEvent(keys))
}

// value is what stands in the field with the label.
func (b *tab) value(label string) string { b.Helper(); return probed[string](b, "value", label) }

// text is what the element says to those who see.
func (b *tab) text(selector string) string { b.Helper(); return probed[string](b, "text", selector) }

// says checks that the page, as it is seen, says s.
func (b *tab) says(s string) {
	b.Helper()
	if text := b.text("main"); !strings.Contains(text, s) {
		b.Errorf("%s does not say %q, but: %s", b.path(), s, text)
	}
}

// await waits until the element says s.
func (b *tab) await(selector, s string) {
	b.Helper()
	b.until(selector+" says "+s, func() bool { return strings.Contains(b.text(selector), s) })
}

// shot writes a picture of the whole page, if somebody wants to look.
func (b *tab) shot(name string) {
	b.Helper()
	if os.Getenv(shotsVar) == "" {
		return
	}
	size := call(b, page.GetLayoutMetrics, cdp.Empty{}).CSSContentSize
	whole := true
	picture := call(b, page.CaptureScreenshot, page.CaptureScreenshotParams{
		CaptureBeyondViewport: &whole, OptimizeForSpeed: &whole,
		Clip: &page.Viewport{Width: size.Width, Height: min(size.Height, 6000), Scale: 1},
	})
	b.keepShot(name+".png", picture.Data)
}

// keepShot writes a file into the folder of pictures, if there is one.
func (b *tab) keepShot(name string, data []byte) {
	b.Helper()
	dir := os.Getenv(shotsVar)
	if dir == "" {
		return
	}
	if err := os.MkdirAll(dir, 0o777); err != nil {
		b.Fatal(err)
	}
	if err := os.WriteFile(filepath.Join(dir, name), data, 0o666); err != nil {
		b.Fatal(err)
	}
}
