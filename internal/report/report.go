// Package report writes documents as PDF: the bench sheet of a make day, the
// lists of a session and the report of a trial. Each is drawn from the read
// model that the pages show, so that paper and screen can not say different
// things.
//
// The same document twice is the same bytes: no clock is read, and fonts and
// objects are written in one order.
package report

import (
	"bytes"
	"fmt"
	"time"

	"codeberg.org/go-pdf/fpdf"
	"github.com/go-fonts/dejavu/dejavusans"
	"github.com/go-fonts/dejavu/dejavusansbold"
	"github.com/go-fonts/dejavu/dejavusansmono"

	"pinset/internal/lab"
	"pinset/internal/picture"
)

// Paper is the size of a sheet.
type Paper string

// The papers.
const (
	A4     Paper = "a4"     // 210 × 297 mm
	Letter Paper = "letter" // 8.5 × 11 in
)

// Units is the units that amounts are printed in.
type Units string

// The units.
const (
	Metric Units = "metric"
	US     Units = "us" // pounds, ounces, cups, with grams beside them
)

// Options says how a document is printed. The zero Options are A4 and metric.
type Options struct {
	Paper Paper
	Units Units
	Farm  string // name of the farm, "" if none

	plain bool // no compression, for tests
}

// Check returns o with what was left out filled in, or an Invalid Problem.
func (o Options) Check() (Options, error) {
	if o.Paper == "" {
		o.Paper = A4
	}
	if o.Units == "" {
		o.Units = Metric
	}
	if o.Paper != A4 && o.Paper != Letter {
		return o, lab.Invalidf("paper", "choose a4 or letter", "paper %q is not known", string(o.Paper))
	}
	if o.Units != Metric && o.Units != US {
		return o, lab.Invalidf("units", "choose metric or us", "units %q are not known", string(o.Units))
	}
	return o, nil
}

// fonts are the fonts of all documents. Source: DejaVu, version 2.37.
var fonts = picture.Fonts{Sans: "sans", Mono: "mono"}

// Margins of a page, mm. Printers leave 5 mm blank and hole punches take 12.
const (
	left   = 16.0
	right  = 12.0
	top    = 12.0
	bottom = 16.0
)

// document is a PDF being written, in mm.
type document struct {
	*fpdf.Fpdf
	o          Options
	wide, tall float64 // of the page
	foot       string  // left in the footer
	lacks      bool    // a letter could not be printed
}

// begin starts a document. when is the date that it bears, not the clock's.
func begin(o Options, title, foot string, when time.Time) *document {
	size := "A4"
	if o.Paper == Letter {
		size = "Letter"
	}
	d := &document{Fpdf: fpdf.New("P", "mm", size, ""), o: o, foot: foot}
	d.wide, d.tall = d.GetPageSize()
	d.SetCompression(!o.plain)
	d.SetCatalogSort(true)
	if when.IsZero() {
		when = time.Date(2000, 1, 1, 0, 0, 0, 0, time.UTC)
	}
	d.SetCreationDate(when)
	d.SetModificationDate(when)
	d.SetTitle(picture.Printable(title), true)
	d.SetProducer("Pinset", true)
	d.SetLang("en")
	d.SetMargins(left, top, right)
	d.SetAutoPageBreak(false, bottom)
	d.AddUTF8FontFromBytes(fonts.Sans, "", dejavusans.TTF)
	d.AddUTF8FontFromBytes(fonts.Sans, "B", dejavusansbold.TTF)
	d.AddUTF8FontFromBytes(fonts.Mono, "", dejavusansmono.TTF)
	d.SetFooterFunc(d.footer)
	d.AliasNbPages("{pages}")
	d.AddPage()
	return d
}

// Text writes text with its base line at y.
func (d *document) Text(x, y float64, text string) {
	clean := picture.Printable(text)
	d.lacks = d.lacks || clean != text
	d.Fpdf.Text(x, y, clean)
}

// GetStringWidth is how wide Text draws text.
func (d *document) GetStringWidth(text string) float64 {
	return d.Fpdf.GetStringWidth(picture.Printable(text))
}

func (d *document) footer() {
	y := d.tall - 9
	d.ink(soft)
	d.SetFont(fonts.Sans, "", 7.5)
	d.Text(left, y, d.foot)
	page := fmt.Sprintf("page %d of {pages}", d.PageNo())
	d.Text(d.wide-right-d.GetStringWidth("page 8 of 8"), y, page)
	d.ink(black)
}

// bytes ends the document.
func (d *document) bytes() ([]byte, error) {
	if d.lacks {
		d.room(8)
		d.remark("Letters are missing.", "A □ stands for a letter that the printed font does not have. The page on the screen shows it.")
	}
	var b bytes.Buffer
	if err := d.Output(&b); err != nil {
		return nil, fmt.Errorf("report: write the PDF: %w", err)
	}
	return b.Bytes(), nil
}

// shade is a grey or a colour.
type shade struct{ r, g, b int }

var (
	black = shade{20, 20, 20}
	soft  = shade{95, 95, 95}
	line  = shade{190, 190, 190}
	pale  = shade{242, 242, 240}
	alert = shade{150, 30, 20}
)

func (d *document) ink(s shade)  { d.SetTextColor(s.r, s.g, s.b) }
func (d *document) pen(s shade)  { d.SetDrawColor(s.r, s.g, s.b) }
func (d *document) fill(s shade) { d.SetFillColor(s.r, s.g, s.b) }

// inner is the width between the margins.
func (d *document) inner() float64 { return d.wide - left - right }

// room begins a new page unless tall mm are left on this one.
func (d *document) room(tall float64) {
	if d.GetY()+tall > d.tall-bottom {
		d.AddPage()
	}
}

// heading writes a heading, with what must follow it on the same page.
func (d *document) heading(text, beside string, with float64) {
	d.room(10 + with)
	y := d.GetY() + 6.5
	d.SetFont(fonts.Sans, "B", 12)
	d.Text(left, y, text)
	x := left + d.GetStringWidth(text) + 3
	d.SetFont(fonts.Sans, "", 8.5)
	d.ink(soft)
	d.Text(x, y, beside)
	d.ink(black)
	d.SetY(y + 2.5)
}

// lines breaks text so that no line is wider than wide in the font that is set.
func (d *document) lines(text string, wide float64) []string {
	var out []string
	now := ""
	for _, word := range fieldsKeeping(text) {
		next := word
		if now != "" {
			next = now + " " + word
		}
		if d.GetStringWidth(next) <= wide || now == "" {
			now = next
			continue
		}
		out, now = append(out, now), word
	}
	if now != "" {
		out = append(out, now)
	}
	for i, l := range out {
		out[i] = d.cut(l, wide)
	}
	return out
}

// cut ends text that is one word wider than the line with an ellipsis.
func (d *document) cut(text string, wide float64) string {
	if d.GetStringWidth(text) <= wide {
		return text
	}
	runes := []rune(text)
	for n := len(runes) - 1; n > 0; n-- {
		if s := string(runes[:n]) + "…"; d.GetStringWidth(s) <= wide {
			return s
		}
	}
	return "…"
}
