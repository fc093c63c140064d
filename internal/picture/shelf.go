package picture

import (
	"math"
	"strconv"

	"pinset/internal/figure"
)

// Shelf is a rack seen from the front, its shelves from the top down.
type Shelf struct {
	Name   string
	Boards []ShelfBoard
}

// ShelfBoard is one shelf with its jars in walking order.
type ShelfBoard struct {
	Name string
	Jars []ShelfJar
}

// ShelfJar is one jar on a shelf.
type ShelfJar struct {
	Name   string // such as "B7·13"
	Number int
	Word   string // its state in one word
	Link   string // where a tap leads
	Vessel Vessel
	Look   Look
	Arm    int // sign, from 0; −1 without
}

// jarStamp tells drawings of jars apart.
type jarStamp struct {
	vessel Vessel
	look   Look
}

// perMillimetre is how large a jar is drawn on the shelf.
const perMillimetre = 0.46

// Draw returns the shelf map, wide px wide. Jars stand side by side to one
// scale; a row that is full goes on below.
func (s Shelf) Draw(wide float64) *Picture {
	p := &Picture{Width: wide, Title: s.Name, Desc: s.desc(), Table: s.table()}
	y := 4.0
	for _, board := range s.Boards {
		y = s.drawBoard(p, board, y)
	}
	p.Height = y
	return p
}

func (s Shelf) drawBoard(p *Picture, board ShelfBoard, y float64) float64 {
	const post, foot = 6.0, 40.0
	head := 6.0
	if board.Name != "" { // else the page names it
		head = 26
		p.write(post+6, y+14, board.Name, label{size: 14, ink: Text, bold: true})
		p.write(p.Width-post-6, y+14, figure.Counted(len(board.Jars), "jar"), label{size: 13, at: end, ink: Soft})
	}
	tallest, widest := 0.0, 44.0
	for _, j := range board.Jars {
		v := j.Vessel.orUsual()
		tallest = math.Max(tallest, v.Height*perMillimetre)
		widest = math.Max(widest, v.Bore*perMillimetre+8)
	}
	top := y
	perRow := max(1, int((p.Width-2*post-8)/widest))
	rows := max(1, (len(board.Jars)+perRow-1)/perRow)
	for row := range rows {
		base := y + head + tallest + 10
		for i := row * perRow; i < min((row+1)*perRow, len(board.Jars)); i++ {
			x := post + 4 + widest*(float64(i-row*perRow)+0.5)
			s.drawPlace(p, board.Jars[i], x, base, widest)
		}
		p.line(post, base+1.5, p.Width-post, base+1.5, Edge, map[bool]float64{true: 5, false: 2.5}[row == rows-1], Solid)
		y = base + foot - head
	}
	ground := y + head - foot + 2
	p.line(2, top, 2, ground, Edge, 3, Solid)
	p.line(p.Width-2, top, p.Width-2, ground, Edge, 3, Solid)
	return y + head + 4
}

// drawPlace draws one jar and below the board its number and word.
func (s Shelf) drawPlace(p *Picture, j ShelfJar, x, base, wide float64) {
	from := len(p.marks)
	p.set(x, base, jarStamp{j.Vessel, j.Look}, func(sheet *Picture) { sheet.drawJar(0, 0, perMillimetre, j.Vessel, j.Look) })
	number := strconv.Itoa(j.Number)
	at := x
	if j.Arm >= 0 {
		p.set(x-widthOf(number, 14, false)/2-3, base+14, j.Arm, func(sheet *Picture) { sheet.marker(j.Arm, 0, 0, 3.5) })
		at += 5
	}
	p.write(at, base+18.5, number, label{size: 14, at: middle, ink: Text, bold: true})
	p.write(x, base+31, fit(j.Word, 11, wide-2), label{size: 11, at: middle, ink: Soft})
	if j.Link != "" {
		p.group(from, j.Link, j.Name+" "+j.Word)
	}
}

// group makes one link of the marks from the one at from on.
func (p *Picture) group(from int, link, says string) {
	p.marks[from].link, p.marks[from].says = link, says
	p.marks[from].group = len(p.marks) - from
}

func (s Shelf) desc() string {
	jars := 0
	for _, b := range s.Boards {
		jars += len(b.Jars)
	}
	return figure.Counted(jars, "jar") + " on " + figure.Count(len(s.Boards), "shelf", "shelves") + ", seen from the front."
}

func (s Shelf) table() Table {
	t := Table{Head: []string{"Shelf", "Jar", "State"}}
	for _, b := range s.Boards {
		for _, j := range b.Jars {
			t.Rows = append(t.Rows, []string{b.Name, j.Name, j.Word})
		}
	}
	return t
}
