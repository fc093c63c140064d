package browsertest

import (
	"math"
	"regexp"
	"strconv"
	"testing"

	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/chromedp"
)

// paper is a size of paper with the margins of the style sheet.
type paper struct {
	name, query string
	points      [2]float64 // wide and high
	inner       int64      // CSS pixels between the margins
}

var papers = []paper{
	{"A4", "", [2]float64{595.3, 841.9}, 695},              // 210 by 297 mm, ISO 216; less twice 13 mm
	{"Letter", "?paper=letter", [2]float64{612, 792}, 710}, // 8.5 by 11 in; less twice 14 mm
}

// TestPaper prints the bench sheet of a batch of 14 vessels, and the chain of
// one of them.
func TestPaper(t *testing.T) {
	t.Parallel()
	x := newSite(t)
	in := trial("rice or millet", 6)
	in.BlanksPerCook = 2
	x.keep(t, in)
	b := newTab(t, x, desk)
	for _, s := range []screen{phone, desk} {
		b.show(s)
		b.open("/j/B1·1/chain")
		b.look(s.name+" chain", "/j/B1·1/chain")
		b.open("/j/B1·1")
		b.look(s.name+" jar", "/j/B1·1")
	}
	for _, p := range papers {
		b.show(desk)
		b.open("/batches/B1/bench" + p.query)
		b.prints("bench on "+p.name, p, 2)
		b.show(desk)
		b.open("/j/B1·1/chain" + p.query)
		b.prints("chain on "+p.name, p, 1)
	}
}

// prints checks how many pages the sheet takes, and that nothing of it is
// beyond the right edge.
func (b *tab) prints(what string, p paper, most int) {
	b.Helper()
	pdf, err := chromedp.Run(b.ctx, chromedp.PrintToPDF(chromedp.PDFPreferCSSPageSize(), chromedp.PDFPrintBackground()))
	if err != nil {
		b.Fatalf("print %s: %v", what, err)
	}
	b.keepShot(fileName("print-"+what)+".pdf", pdf)
	if n := len(pageOfPDF.FindAll(pdf, -1)); n < 1 || n > most {
		b.Errorf("%s takes %d pages, want 1 to %d", what, n, most)
	}
	box := boxOfPDF.FindSubmatch(pdf)
	for i, want := range p.points {
		if box == nil || math.Abs(number(box[i+1])-want) > 1 { // browsers round to whole points
			b.Errorf("%s is printed on %s points, want %v", what, box, p.points)
			break
		}
	}

	call(b, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{Media: "print"})
	b.show(screen{name: what, width: p.inner, height: 1000})
	b.fits(what)
	b.none(what, "is printed, but is for the screen", "onPaper")
	call(b, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{})
}

var (
	pageOfPDF = regexp.MustCompile(`/Type\s*/Page\b[^s]`)
	boxOfPDF  = regexp.MustCompile(`/MediaBox\s*\[\s*0 0 ([\d.]+) ([\d.]+)\s*\]`)
)

func number(b []byte) float64 {
	x, err := strconv.ParseFloat(string(b), 64)
	if err != nil {
		return math.NaN()
	}
	return x
}
