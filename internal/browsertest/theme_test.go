package browsertest

import (
	"bytes"
	"fmt"
	"image/png"
	"strings"
	"testing"

	"github.com/chromedp/cdproto/network"
	"github.com/chromedp/cdproto/page"
	"github.com/chromedp/chromedp"
)

// TestThemeIsThereFromTheStart chooses a theme on one page and opens another:
// the very first HTML carries it, and before any style has come the screen is
// as dark as the theme.
func TestThemeIsThereFromTheStart(t *testing.T) {
	t.Parallel()
	x := newSite(t)
	b := newTab(t, x, phone)
	for _, c := range []struct {
		button, theme, scheme, system string
		dark                          bool
	}{
		{"Dark room", "dim", "dark", "light", true},
		{"Dark", "dark", "dark", "light", true},
		{"Light", "light", "light", "dark", false},
		{"As the system", "", "light dark", "dark", true},
		{"As the system", "", "light dark", "light", false},
	} {
		what := fmt.Sprintf("%s, the system is %s", c.button, c.system)
		b.system(c.system)
		b.open("/settings")
		b.follow(c.button, 200)

		served := b.served("/plan")
		head, _, _ := strings.Cut(served, `rel="stylesheet"`)
		if has := strings.Contains(head, `data-theme=`); has != (c.theme != "") || has && !strings.Contains(head, `data-theme="`+c.theme+`"`) {
			t.Errorf("%s: before the style the page says %s", what, head)
		}
		if want := `<meta name="color-scheme" content="` + c.scheme + `">`; !strings.Contains(head, want) {
			t.Errorf("%s: before the style the page does not say %s", what, want)
		}

		b.stylesBlocked(true)
		b.open("/plan")
		b.isDark(what+", before the style has come", c.dark)
		b.stylesBlocked(false)
		b.open("/plan")
		b.isDark(what, c.dark)
	}
}

// TestRoundsAreDark: in the grow room the page is dark, unless a theme was
// chosen.
func TestRoundsAreDark(t *testing.T) {
	t.Parallel()
	b := newTab(t, inDemo(t), phone)
	b.system("light")
	b.open("/batches/B7/rounds")
	b.isDark("rounds, nothing chosen", true)
	b.open("/settings")
	b.follow("Light", 200)
	b.open("/batches/B7/rounds")
	b.isDark("rounds, light chosen", false)
}

// served returns the HTML of a page as it comes over the line.
func (b *tab) served(path string) string {
	b.Helper()
	script := fmt.Sprintf("fetch(%q).then((r) => r.text())", path)
	text, err := chromedp.Run(b.ctx, chromedp.Evaluate[string](script, chromedp.EvalAwaitPromise))
	if err != nil {
		b.Fatalf("fetch %s: %v", path, err)
	}
	return text
}

// stylesBlocked keeps style sheets from coming, as a slow line does.
func (b *tab) stylesBlocked(blocked bool) {
	b.Helper()
	call(b, network.SetCacheDisabled, network.SetCacheDisabledParams{CacheDisabled: true})
	params := network.SetBlockedURLsParams{}
	if blocked {
		params.URLPatterns = []*network.BlockPattern{{URLPattern: "*://*/*.css", Block: true}}
	}
	call(b, network.SetBlockedURLs, params)
}

// isDark checks how light the upper right of the screen is, where a page has
// nothing but its ground.
func (b *tab) isDark(what string, want bool) {
	b.Helper()
	picture := call(b, page.CaptureScreenshot, page.CaptureScreenshotParams{Clip: &page.Viewport{X: 0, Y: 0, Width: 390, Height: 4, Scale: 1}})
	pixels, err := png.Decode(bytes.NewReader(picture.Data))
	if err != nil {
		b.Fatal(err)
	}
	r, g, bl, _ := pixels.At(389, 0).RGBA()
	light := float64(r+g+bl) / 3 / 0xffff
	if dark := light < 0.25; dark != want || !want && light < 0.75 {
		b.Errorf("%s: the ground of the page has %.0f %% of white", what, 100*light)
	}
}
