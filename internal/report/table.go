package report

import "strings"

// column is one column of a table.
type column struct {
	head  string
	wide  float64 // mm
	right bool    // figures are set flush right
	write bool    // left blank, to be written on
	mono  bool
}

// cell is what stands in a row.
type cell struct {
	text  string
	small string // below it, in small letters
	bold  bool
	box   bool // a box to tick, after the text
}

// rowTall is the height of a row to write in by hand.
const rowTall = 7.2

// table draws rows below d's place, with the head again on each page. It is
// drawn at x.
func (d *document) table(x float64, columns []column, rows [][]cell) {
	d.tableHead(x, columns)
	for i, row := range rows {
		tall := rowTall
		for _, c := range row {
			if c.small != "" {
				tall = rowTall + 2.6
			}
		}
		if i > 0 && d.GetY()+tall > d.tall-bottom {
			d.AddPage()
			d.tableHead(x, columns)
		}
		d.row(x, tall, columns, row)
	}
}

func (d *document) tableHead(x float64, columns []column) {
	y := d.GetY()
	d.SetFont(fonts.Sans, "", 7.5)
	d.ink(soft)
	at := x
	for _, c := range columns {
		text := d.cut(c.head, c.wide-1)
		if c.right {
			d.Text(at+c.wide-1.5-d.GetStringWidth(text), y+3.6, text)
		} else {
			d.Text(at+1, y+3.6, text)
		}
		at += c.wide
	}
	d.ink(black)
	d.pen(soft)
	d.SetLineWidth(0.3)
	d.Line(x, y+5, at, y+5)
	d.SetY(y + 5)
}

func (d *document) row(x, tall float64, columns []column, row []cell) {
	y := d.GetY()
	at := x
	for i, c := range columns {
		if i < len(row) {
			d.cell(at, y, c, row[i])
		}
		if c.write {
			d.pen(line)
			d.SetLineWidth(0.2)
			d.Rect(at+0.6, y+0.7, c.wide-1.2, rowTall-1.4, "D")
		}
		at += c.wide
	}
	d.pen(line)
	d.SetLineWidth(0.15)
	d.Line(x, y+tall, at, y+tall)
	d.SetY(y + tall)
}

func (d *document) cell(x, y float64, c column, v cell) {
	family, weight := fonts.Sans, ""
	if c.mono {
		family = fonts.Mono
	} else if v.bold {
		weight = "B"
	}
	d.SetFont(family, weight, 9.5)
	room := c.wide - 2.5
	if v.box {
		room -= 4.5
		d.pen(soft)
		d.SetLineWidth(0.3)
		d.Rect(x+c.wide-4.6, y+2.1, 3.2, 3.2, "D")
	}
	text := d.cut(v.text, room)
	tx := x + 1
	if c.right {
		tx = x + 1 + room - d.GetStringWidth(text)
	}
	d.Text(tx, y+4.9, text)
	if v.small == "" {
		return
	}
	d.SetFont(fonts.Sans, "", 6.8)
	d.ink(soft)
	small := d.cut(v.small, c.wide-2)
	sx := x + 1
	if c.right {
		sx = x + c.wide - 1.5 - d.GetStringWidth(small)
	}
	d.Text(sx, y+8, small)
	d.ink(black)
}

// caution draws a caution in a frame over the whole width.
func (d *document) caution(title, text string, s shade) {
	d.SetFont(fonts.Sans, "", 8.5)
	lines := d.lines(text, d.inner()-8)
	tall := 7 + 3.9*float64(len(lines))
	d.room(tall + 2)
	y := d.GetY() + 1
	d.pen(s)
	d.fill(pale)
	d.SetLineWidth(0.4)
	d.Rect(left, y, d.inner(), tall, "FD")
	d.fill(s)
	d.Rect(left, y, 1.6, tall, "F")
	d.SetFont(fonts.Sans, "B", 9)
	d.ink(s)
	d.Text(left+4, y+4.6, title)
	d.ink(black)
	d.SetFont(fonts.Sans, "", 8.5)
	for i, l := range lines {
		d.Text(left+4, y+8.6+3.9*float64(i), l)
	}
	d.SetY(y + tall + 1)
}

// remark writes a line of small text, the first words bold.
func (d *document) remark(bold, text string) {
	d.SetFont(fonts.Sans, "B", 8)
	indent := 0.0
	if bold != "" {
		indent = d.GetStringWidth(bold) + 1.5
	}
	d.SetFont(fonts.Sans, "", 8)
	lines := d.lines(text, d.inner()-2)
	if indent > 0 { // the first line has less room
		lines = d.hang(text, indent)
	}
	d.room(3.8*float64(len(lines)) + 1)
	y := d.GetY() + 3.6
	if bold != "" {
		d.SetFont(fonts.Sans, "B", 8)
		d.Text(left+1, y, bold)
	}
	d.SetFont(fonts.Sans, "", 8)
	for i, l := range lines {
		x := left + 1
		if i == 0 {
			x += indent
		}
		d.Text(x, y+3.8*float64(i), l)
	}
	d.SetY(y + 3.8*float64(len(lines)-1) + 1.2)
}

// hang breaks text whose first line begins indent mm in.
func (d *document) hang(text string, indent float64) []string {
	text = strings.Join(strings.Fields(text), " ")
	first := d.lines(text, d.inner()-2-indent)
	if len(first) < 2 {
		return first
	}
	rest, ok := strings.CutPrefix(text, first[0])
	if !ok { // a word wider than the line was cut
		return first
	}
	return append(first[:1], d.lines(rest, d.inner()-2)...)
}
