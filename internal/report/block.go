package report

import (
	"bytes"
	"fmt"
	"html/template"
	"math"
	"strconv"
	"strings"
	"time"

	"pinset/internal/figure"
	"pinset/internal/picture"
)

// Report is a document that is written as HTML and as PDF from the same
// blocks, so that neither can leave out what the other says.
type Report struct {
	Title string
	Sub   string    // below the title
	When  time.Time // as of; not the clock's

	blocks []block
}

// block is one thing that a report says. A kind of block is one only if it
// can be written in every format.
type block interface {
	html(b *bytes.Buffer)
	pdf(d *document)
}

func (r *Report) add(b ...block) { r.blocks = append(r.blocks, b...) }

// HTML returns the report as a part of a page.
func (r Report) HTML() template.HTML {
	var b bytes.Buffer
	for _, x := range r.blocks {
		x.html(&b)
	}
	return template.HTML(b.String()) // every text in it is escaped by its block
}

// Page returns the report as a page that stands alone.
func (r Report) Page() []byte {
	var b bytes.Buffer
	b.WriteString(`<!doctype html><html lang="en"><head><meta charset="utf-8"><meta name="viewport" content="width=device-width, initial-scale=1"><title>`)
	b.WriteString(esc(r.Title))
	b.WriteString(`</title><style>body{font:16px/1.5 system-ui,sans-serif;max-width:46rem;margin:2rem auto;padding:0 1rem;color:#23211c;background:#fdfbf6}table{border-collapse:collapse}td,th{padding:.3rem .7rem .3rem 0;text-align:left;border-bottom:1px solid #dad4c6;vertical-align:top}.n{text-align:right}.say{font-size:1.3rem;font-weight:600}.caution{border-left:5px solid #b8650a;padding:.4rem 1rem;margin:1rem 0;background:#ebe7dc}.caution[data-weight=stop]{border-color:#9b2119}.h{font-weight:650}dt{font-weight:600}dd{margin:0 0 .5rem}svg{width:100%;height:auto}.soft{color:#5a5549}.scroll{overflow-x:auto}.vh{position:absolute;clip-path:inset(50%);width:1px;height:1px;overflow:hidden}</style></head><body><h1>`)
	b.WriteString(esc(r.Title) + `</h1><p>` + esc(r.Sub) + `</p>`)
	b.WriteString(string(r.HTML()))
	b.WriteString("</body></html>\n")
	return b.Bytes()
}

// PDF returns the report on paper. An unknown paper is an Invalid Problem.
func (r Report) PDF(o Options) ([]byte, error) {
	o, err := o.Check()
	if err != nil {
		return nil, err
	}
	d := begin(o, r.Title, strings.TrimPrefix(o.Farm+" · "+r.Title, " · "), r.When)
	d.foot = d.shortFoot()
	d.SetFont(fonts.Sans, "B", 16)
	y := top + 6.0
	for _, l := range d.lines(r.Title, d.inner()) {
		d.Text(left, y, l)
		y += 7
	}
	d.SetY(y - 3)
	d.paragraph(r.Sub, "", 9, soft)
	for i, x := range r.blocks {
		if i+1 < len(r.blocks) {
			if p, ok := r.blocks[i+1].(drawn); ok { // a heading stays with its picture
				_, tall := d.sizeOf(p)
				d.room(tall + 14)
			}
		}
		x.pdf(d)
	}
	return d.bytes()
}

// shortFoot is the footer, cut to leave room for the number of the page.
func (d *document) shortFoot() string {
	d.SetFont(fonts.Sans, "", 7.5)
	return d.cut(d.foot, d.inner()-25)
}

// paragraph writes text over the whole width, pages broken between lines.
func (d *document) paragraph(text, weight string, size float64, s shade) {
	d.SetFont(fonts.Sans, weight, size)
	tall := size * 0.45
	for _, l := range d.lines(text, d.inner()) {
		d.room(tall + 1)
		d.SetFont(fonts.Sans, weight, size) // a new page set another
		d.ink(s)
		y := d.GetY() + tall
		d.Text(left, y, l)
		d.SetY(y)
	}
	d.ink(black)
	d.SetY(d.GetY() + 1.6)
}

func esc(s string) string { return template.HTMLEscapeString(s) }

// heading begins a part.
type heading struct{ text string }

func (h heading) html(b *bytes.Buffer) { b.WriteString("<h2>" + esc(h.text) + "</h2>\n") }
func (h heading) pdf(d *document)      { d.heading(h.text, "", 16) }

// saying is the sentence that all rests on.
type saying struct{ text string }

func (s saying) html(b *bytes.Buffer) { b.WriteString(`<p class="say">` + esc(s.text) + "</p>\n") }
func (s saying) pdf(d *document)      { d.paragraph(s.text, "B", 12, black) }

// words is a plain paragraph.
type words struct{ text string }

func (w words) html(b *bytes.Buffer) { b.WriteString("<p>" + esc(w.text) + "</p>\n") }
func (w words) pdf(d *document)      { d.paragraph(w.text, "", 9.5, black) }

// doubt is a caution.
type doubt struct{ figure.Caution }

func (c doubt) html(b *bytes.Buffer) {
	fmt.Fprintf(b, `<section class="caution" data-weight="%s"><p class="h">%s</p><p>%s</p></section>`+"\n", esc(string(c.Weight)), esc(c.Title), esc(c.Text))
}

func (c doubt) pdf(d *document) {
	s := soft
	if c.Weight != figure.Note {
		s = alert
	}
	d.caution(c.Title, c.Text, s)
}

// fact is a name with what stands for it.
type fact struct{ name, value string }

// facts are listed.
type facts []fact

func (f facts) html(b *bytes.Buffer) {
	b.WriteString(`<dl class="facts">`)
	for _, x := range f {
		b.WriteString("<div><dt>" + esc(x.name) + "</dt><dd>" + esc(x.value) + "</dd></div>")
	}
	b.WriteString("</dl>\n")
}

func (f facts) pdf(d *document) {
	for _, x := range f {
		d.remark(x.name+".", x.value)
	}
	d.SetY(d.GetY() + 2)
}

// grid is a table. Columns after the first are figures, set flush right.
type grid struct {
	caption string
	head    []string
	rows    [][]string
}

func (g grid) html(b *bytes.Buffer) {
	// A wide table is scrolled by keys, too, so it can be reached by them.
	b.WriteString(`<div class="scroll" tabindex="0" role="region" aria-label="` + esc(g.name()) + `"><table class="data">`)
	if g.caption != "" {
		b.WriteString("<caption>" + esc(g.caption) + "</caption>")
	}
	b.WriteString("<thead><tr>")
	for i, h := range g.head {
		fmt.Fprintf(b, `<th scope="col"%s>%s</th>`, rightOf(i), esc(h))
	}
	b.WriteString("</tr></thead><tbody>")
	for _, row := range g.rows {
		b.WriteString("<tr>")
		for i, c := range row {
			if i == 0 {
				b.WriteString(`<th scope="row">` + esc(c) + "</th>")
				continue
			}
			fmt.Fprintf(b, "<td%s>%s</td>", rightOf(i), esc(c))
		}
		b.WriteString("</tr>")
	}
	b.WriteString("</tbody></table></div>\n")
}

// name says what a table is of.
func (g grid) name() string {
	if g.caption != "" {
		return g.caption
	}
	return "By " + strings.ToLower(g.head[0])
}

func rightOf(column int) string {
	if column == 0 {
		return ""
	}
	return ` class="n"`
}

func (g grid) pdf(d *document) {
	if g.caption != "" {
		d.room(20)
		d.paragraph(g.caption, "B", 8.5, black)
	}
	first := 0.34
	if len(g.head) > 6 {
		first = 0.24
	}
	columns := make([]column, len(g.head))
	for i, h := range g.head {
		columns[i] = column{head: h, right: true, wide: d.inner() * (1 - first) / float64(max(1, len(g.head)-1))}
	}
	columns[0].wide, columns[0].right = d.inner()*first, false
	rows := make([][]cell, len(g.rows))
	for i, row := range g.rows {
		for _, c := range row {
			rows[i] = append(rows[i], cell{text: c})
		}
	}
	d.table(left, columns, rows)
	d.SetY(d.GetY() + 3)
}

// drawn is a picture.
type drawn struct {
	id   string
	draw func(wide float64) *picture.Picture
}

func (p drawn) html(b *bytes.Buffer) {
	b.WriteString(`<figure class="drawing"><div class="at-phone">`)
	b.WriteString(string(p.draw(358).SVG(p.id + "-p")))
	b.WriteString(`</div><div class="at-desk">`)
	b.WriteString(string(p.draw(694).SVG(p.id + "-d")))
	b.WriteString("</div></figure>\n")
}

func (p drawn) pdf(d *document) {
	wide, tall := d.sizeOf(p)
	d.room(tall + 3)
	y := d.GetY() + 1
	p.draw(694).PDF(d.Fpdf, fonts, left, y, wide)
	d.ink(black)
	d.SetY(y + tall + 2)
}

// sizeOf is how large a picture is drawn, mm.
func (d *document) sizeOf(p drawn) (wide, tall float64) {
	made := p.draw(694)
	wide = d.inner()
	tall = wide * made.Height / made.Width
	if most := d.tall - top - bottom - 20; tall > most {
		wide, tall = wide*most/tall, most
	}
	return wide, tall
}

// steps are the working.
type steps []figure.Step

func (s steps) html(b *bytes.Buffer) {
	b.WriteString(`<ol class="working">`)
	for _, x := range s {
		fmt.Fprintf(b, `<li>%s <span class="f">%s</span> <b class="num">%s</b> <span class="soft">%s</span></li>`, esc(x.Step), esc(x.Formula), esc(said(x)), esc(x.Source))
	}
	b.WriteString("</ol>\n")
}

func (s steps) pdf(d *document) {
	for i, x := range s {
		text := x.Formula
		if text != "" {
			text += " = "
		}
		text += said(x)
		if x.Source != "" {
			text += " (" + x.Source + ")"
		}
		d.remark(strconv.Itoa(i+1)+". "+x.Step+".", text)
	}
}

// said is a figure of a working with its unit.
func said(s figure.Step) string {
	text := "not known"
	switch v := s.Value.(type) {
	case nil:
	case float64:
		text = plain(v)
	case *float64:
		if v != nil {
			text = plain(*v)
		}
	default:
		text = fmt.Sprint(v)
	}
	return strings.TrimSpace(text + " " + s.Unit)
}

// plain prints x to four digits.
func plain(x float64) string {
	if math.IsNaN(x) || math.IsInf(x, 0) {
		return "not known"
	}
	decimals := 0
	if a := math.Abs(x); a > 0 && a < 1000 {
		decimals = min(9, max(0, 3-int(math.Floor(math.Log10(a)))))
	}
	text := strconv.FormatFloat(x, 'f', decimals, 64)
	if strings.Contains(text, ".") {
		text = strings.TrimRight(strings.TrimRight(text, "0"), ".")
	}
	return strings.Replace(text, "-", "−", 1)
}
