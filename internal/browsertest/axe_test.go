package browsertest

import (
	"crypto/sha256"
	_ "embed"
	"encoding/hex"
	"fmt"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"
)

//go:embed testdata/axe.min.js
var axe string

// TestAxeIsUnchanged holds the file to the one of the npm package axe-core
// 4.14.1.
func TestAxeIsUnchanged(t *testing.T) {
	const want = "29348999450cdf2849a8e70b7912fc2da85a849da39c0d0d5394f51d4a9ed95c"
	sum := sha256.Sum256([]byte(axe))
	if got := hex.EncodeToString(sum[:]); got != want {
		t.Errorf("SHA-256 of axe.min.js is %s, want %s", got, want)
	}
	if !strings.HasPrefix(axe, "/*! axe v4.14.1\n") {
		t.Errorf("axe.min.js begins with %q", axe[:40])
	}
}

// violation is a rule that a page breaks, and where.
type violation struct {
	ID    string   `json:"id"`
	Help  string   `json:"help"`
	Nodes []string `json:"nodes"`
}

// scanned is what axe finds wrong by WCAG 2.2, levels A and AA. It looks at
// colours alone if asked to: all else does not change with the theme.
const scanned = `(async (colours) => {
  const only = colours
    ? { type: "rule", values: ["color-contrast", "link-in-text-block"] }
    : { type: "tag", values: ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"] };
  const found = await axe.run(document, { runOnly: only, resultTypes: ["violations"], iframes: false });
  return found.violations.map((v) => ({
    id: v.id, help: v.help,
    nodes: v.nodes.slice(0, 3).map((n) => n.target.join(" ") + ": " + n.failureSummary.split("\n")[1].trim()),
  }));
})(%v)`

// scan has axe look at the page and reports what it finds.
func (b *tab) scan(what string, coloursOnly bool) {
	b.Helper()
	if !probed[bool](b, "scanner") {
		b.do("load axe", chromedp.Evaluate[chromedp.Void](axe))
	}
	b.until(what+" stands still", func() bool { return evaluated[int](b, "document.getAnimations().length") == 0 })
	found, err := chromedp.Run(b.ctx, chromedp.Evaluate[[]violation](fmt.Sprintf(scanned, coloursOnly), chromedp.EvalAwaitPromise))
	if err != nil {
		b.Fatalf("%s: axe: %v", what, err)
	}
	for _, v := range found {
		b.Errorf("%s: %s (%s): %s", what, v.Help, v.ID, strings.Join(v.Nodes, " | "))
	}
}
