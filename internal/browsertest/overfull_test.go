package browsertest

import (
	"slices"
	"strings"
	"testing"
)

// TestOverfullNames shows pages on which everything has one name that is too
// long, or of other letters: nothing is too wide, cut off or written over.
func TestOverfullNames(t *testing.T) {
	for what, name := range map[string]string{
		"no place to break": strings.Repeat("w", 60),
		"many words":        "The one with the slightly wetter millet from the second sack",
		"Hangul":            "동충하초 현미 배지 스무 병을 서른다섯 밀리리터씩 나누어 담아 위층과 아래층에 번갈아 놓은 것",
		"Arabic":            "بيئة الدخن الثانية التي خففت بالماء الدافئ ووضعت في الطبقة العليا من القدر",
		"marks":             `a "b" <c> & d/e\f 100 % #1 ?`,
	} {
		t.Run(what, func(t *testing.T) {
			t.Parallel()
			x := newSite(t)
			x.nameEverything(t, name)
			b := newTab(t, x, phone)
			for _, path := range ofTheFarm(walk(t, x)) {
				b.onBoth(what, path)
			}
			b.quiet(what)
		})
	}
}

// ofTheFarm returns one page of each kind that shows something of the farm:
// the calculators are the same on all farms, and what stands behind a question
// mark only chooses.
func ofTheFarm(pages []string) []string {
	return slices.DeleteFunc(oneOfEach(pages), func(p string) bool {
		return strings.HasPrefix(p, "/reckoner/") || strings.Contains(p, "?")
	})
}

// onBoth opens a page on a phone, and turns the phone into a desk.
func (b *tab) onBoth(what, path string) {
	b.Helper()
	b.show(phone)
	b.open(path)
	for _, s := range []screen{phone, desk} {
		b.show(s)
		b.fits(s.name + ", " + what + ": " + clipped(path))
		b.shot(fileName("full-" + what + "-" + s.name + "-" + kindOf(path)))
	}
}

func clipped(path string) string {
	if len(path) > 60 {
		return path[:60] + "…"
	}
	return path
}

// TestOverfullCounts shows farms with no jar, one, a dozen and many.
func TestOverfullCounts(t *testing.T) {
	for _, c := range []struct {
		what    string
		prepare func(*testing.T, *site)
		bounded bool // pages that list jars keep to the bound too
	}{
		{"no jar", func(*testing.T, *site) {}, true},
		{"1 jar", func(t *testing.T, x *site) { x.keep(t, plain("one", 1)) }, true},
		{"12 jars", func(t *testing.T, x *site) { x.keep(t, trial("a dozen", 6)); x.grow(t) }, true},
		{"400 jars", func(t *testing.T, x *site) { x.keep(t, trial("many", 200)); x.grow(t) }, false},
	} {
		t.Run(c.what, func(t *testing.T) {
			t.Parallel()
			x := newSite(t)
			c.prepare(t, x)
			b := newTab(t, x, phone)
			for _, path := range ofTheFarm(walk(t, x)) {
				b.forget()
				b.onBoth(c.what, path)
				b.quiet(c.what + ": " + path)
				if n := b.weight(); n > mostBytes && (c.bounded || !strings.HasPrefix(path, "/batches/")) {
					t.Errorf("%s: %s weighs %d bytes, %d are the most", c.what, path, n, mostBytes)
				}
			}
		})
	}
}

// grow cooks, inoculates and picks B1.
func (x *site) grow(t testing.TB) {
	t.Helper()
	x.cook(t, "1")
	x.inoculate(t, "B1")
	x.pick(t, "B1")
}
