package browsertest

import "testing"

// TestZoom shows one page of each kind at 200 % and at 400 % zoom: nothing is
// cut off, and nothing is found only by scrolling to the side (WCAG 2.2, 1.4.4
// and 1.4.10). Tables may scroll in a box of their own.
func TestZoom(t *testing.T) {
	x := inDemo(t)
	share(t, theBrowser, x, oneOfEach(walk(t, x)), func(b *tab, path string) {
		b.show(phone)
		b.open(path)
		for _, s := range []screen{zoomed, narrow} {
			b.show(s)
			b.fits(s.name + " " + path)
			b.shot(fileName(s.name + " " + path))
			// Half the screen is for the page itself, or it can not be read.
			if covered := probed[float64](b, "bars"); covered > 0.5 {
				b.Errorf("%s %s: bars cover %.0f %% of the screen", s.name, path, 100*covered)
			}
		}
	})
}

// TestLargeLetters shows one page of each kind to somebody who set the letters
// of the browser to twice their size (WCAG 2.2, 1.4.4).
func TestLargeLetters(t *testing.T) {
	x := inDemo(t)
	share(t, largeLetters, x, oneOfEach(walk(t, x)), func(b *tab, path string) {
		b.show(phone)
		b.open(path)
		for _, s := range []screen{phone, desk} {
			what := s.name + " with large letters " + path
			b.show(s)
			b.fits(what)
			b.shot(fileName(what))
		}
	})
}

// oneOfEach returns the first page of each kind.
func oneOfEach(pages []string) []string {
	seen := map[string]bool{}
	var out []string
	for _, p := range pages {
		if k := kindOf(p); !seen[k] {
			seen[k] = true
			out = append(out, p)
		}
	}
	return out
}
