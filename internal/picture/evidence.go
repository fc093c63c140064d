package picture

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
)

// Evidence is what the evidence picture shows: every jar, every arm's mean,
// and the differences against the smallest that matters.
type Evidence struct {
	Unit        string // such as "g per jar inoculated"
	Arms        []EvidenceArm
	Jars        []EvidenceJar
	Differences []EvidenceDifference
	Matters     float64 // smallest difference that matters, in grams; 0 if not known
	Finding     string  // the verdict's sentence
}

// EvidenceArm is one arm with its mean and 95 % interval, which may be unknown.
type EvidenceArm struct {
	Name            string
	Sign            int // which of the arm signs, from 0
	Mean, Low, High *float64
}

// EvidenceJar is one jar.
type EvidenceJar struct {
	Name  string // such as "B2·13"
	Arm   int    // index into Arms
	Block string // the cook and layer it stood in, "" if not recorded
	Grams float64
	Lost  bool // counted as 0 g
}

// EvidenceDifference is one arm less another, in grams.
type EvidenceDifference struct {
	Name             string // such as "millet less oats"
	Sign             int
	Value, Low, High float64
	Joint            bool // the interval is widened for several comparisons
}

// Draw returns the evidence picture, wide px wide: 340 and more.
func (e Evidence) Draw(wide float64) *Picture {
	p := &Picture{Width: wide, Title: "Every jar, " + e.Unit, Desc: e.Finding, Table: e.table()}
	const top, dots, foot = 14.0, 230.0, 44.0
	y := scale{low: 0, from: top + dots, to: top}
	ticks := e.gramsScale(&y)
	left := 8.0
	for _, text := range ticks {
		left = math.Max(left, 8+widthOf(text, 13, false))
	}
	p.gramsAxis(y, ticks, left, wide)
	columns := e.columns(left+10, wide-8)
	blocks := e.blocks()
	e.joinBlocks(p, y, columns, blocks)
	e.drawDots(p, y, columns, blocks)
	e.drawMeans(p, y, columns)
	p.Height = top + dots + foot
	e.nameArms(p, columns, top+dots+28.5)
	e.drawDifferences(p)
	return p
}

// nameArms writes the names of the arms below their columns; where one does
// not fit, all get letters there and a key below.
func (e Evidence) nameArms(p *Picture, columns []column, y float64) {
	short := slices.ContainsFunc(e.Arms, func(a EvidenceArm) bool {
		return widthOf(a.Name, 13, false) > columns[0].wide-24
	})
	for i, a := range e.Arms {
		c, name := columns[i], a.Name
		if short {
			name = ArmLetter(a.Sign)
		}
		w := 20 + widthOf(name, 13, false)
		p.marker(a.Sign, c.from+(c.wide-w)/2+5, y-4.5, 4.5)
		p.write(c.from+(c.wide-w)/2+16, y, name, label{size: 13, ink: Text, bold: short})
	}
	if !short {
		return
	}
	const row = 20.0
	x := 16.0
	y += 24
	for _, a := range e.Arms {
		name := fit(a.Name, 13, p.Width-60)
		w := 34 + widthOf(name, 13, false)
		if x+w > p.Width-8 && x > 16 {
			x, y = 16, y+row
		}
		p.marker(a.Sign, x+5, y-4.5, 4.5)
		p.write(x+16, y, ArmLetter(a.Sign), label{size: 13, ink: Text, bold: true})
		p.write(x+32, y, name, label{size: 13, ink: Text})
		x += w + 16
	}
	p.Height = y + 16
}

// gramsScale sets the ends of y and returns the texts of its ticks, low first.
func (e Evidence) gramsScale(y *scale) []string {
	high := 0.0
	for _, j := range e.Jars {
		high = math.Max(high, j.Grams)
	}
	for _, a := range e.Arms {
		if a.High != nil {
			high = math.Max(high, *a.High)
		}
	}
	var step float64
	_, y.high, step = nice(0, math.Max(high, 1), 4)
	var ticks []string
	for v := 0.0; v <= y.high+step/2; v += step {
		ticks = append(ticks, short(v))
	}
	return ticks
}

func (p *Picture) gramsAxis(y scale, ticks []string, left, wide float64) {
	for i, text := range ticks {
		at := y.at(y.high * float64(i) / float64(len(ticks)-1))
		ink := Line
		if i == 0 {
			ink = Edge
		}
		p.line(left+4, at, wide, at, ink, 1, Solid)
		p.write(left, at+4.5, text, label{size: 13, at: end, ink: Soft})
	}
}

// column is where one arm stands.
type column struct{ from, wide float64 }

func (e Evidence) columns(left, right float64) []column {
	out := make([]column, len(e.Arms))
	w := (right - left) / float64(max(1, len(e.Arms)))
	for i := range out {
		out[i] = column{left + w*float64(i), w}
	}
	return out
}

// blocks lists the blocks in the order of the jars.
func (e Evidence) blocks() []string {
	var out []string
	for _, j := range e.Jars {
		if !slices.Contains(out, j.Block) {
			out = append(out, j.Block)
		}
	}
	return out
}

// dotsRight leaves the right part of a column to the mean.
const dotsRight = 0.74

func (c column) block(i, n int) float64 {
	return c.from + c.wide*dotsRight*(float64(i)+0.5)/float64(max(1, n))
}

// joinBlocks joins the means of one block over the arms by faint lines.
func (e Evidence) joinBlocks(p *Picture, y scale, columns []column, blocks []string) {
	if len(blocks) < 2 || len(blocks) > 8 {
		return
	}
	dashes := []Dash{Solid, Dashed, Dotted}
	for b, block := range blocks {
		var points []point
		for i := range e.Arms {
			sum, n := 0.0, 0
			for _, j := range e.Jars {
				if j.Arm == i && j.Block == block {
					sum += j.Grams
					n++
				}
			}
			if n > 0 {
				points = append(points, point{columns[i].block(b, len(blocks)), y.at(sum / float64(n))})
			}
		}
		if len(points) > 1 {
			p.polygon(points, style{stroke: Edge, width: 1, dash: dashes[b%len(dashes)], opacity: 0.55})
		}
	}
}

func (e Evidence) drawDots(p *Picture, y scale, columns []column, blocks []string) {
	r := 4.5
	if len(e.Jars) > 120 {
		r = 2.5
	}
	type cell struct{ arm, block, row int }
	taken := make(map[cell]int)
	for _, j := range e.Jars {
		b := slices.Index(blocks, j.Block)
		at := y.at(j.Grams)
		c := cell{j.Arm, b, int(at / (2 * r))}
		n := taken[c]
		taken[c]++
		shift := float64((n+1)/2) * 2.1 * r // beside each other, left and right in turn
		if n%2 == 1 {
			shift = -shift
		}
		x := columns[j.Arm].block(b, len(blocks)) + shift
		if j.Lost {
			p.cross(x, at, r, ArmInk(e.Arms[j.Arm].Sign))
		} else {
			p.marker(e.Arms[j.Arm].Sign, x, at, r)
		}
	}
}

func (e Evidence) drawMeans(p *Picture, y scale, columns []column) {
	for i, a := range e.Arms {
		if a.Mean == nil {
			continue
		}
		x := columns[i].from + columns[i].wide*0.85
		ink := ArmInk(a.Sign)
		if a.Low != nil && a.High != nil {
			p.line(x, y.at(math.Max(0, *a.Low)), x, y.at(*a.High), ink, 2.5, Solid)
		}
		p.line(x-11, y.at(*a.Mean), x+11, y.at(*a.Mean), ink, 3, Solid)
	}
}

// drawDifferences adds the lying scale of differences below the jars.
func (e Evidence) drawDifferences(p *Picture) {
	if len(e.Differences) == 0 {
		return
	}
	low, high := -e.Matters, e.Matters
	for _, d := range e.Differences {
		low, high = math.Min(low, d.Low), math.Max(high, d.High)
	}
	pad := 0.06 * (high - low)
	from, to, step := nice(math.Min(low-pad, 0), math.Max(high+pad, 0), 5)
	x := scale{from, to, 16, p.Width - 16}
	const row = 44.0
	top := p.Height + 22
	bottom := top + row*float64(len(e.Differences))
	if e.Matters > 0 {
		p.rect(x.at(-e.Matters), top-4, x.at(e.Matters)-x.at(-e.Matters), bottom-top+4, style{fill: Sunken})
		p.write(x.at(0), top-9, "too small to matter", label{size: 12, at: middle, ink: Soft, halo: true})
	}
	p.line(x.at(0), top-4, x.at(0), bottom, Text, 1.25, Dotted)
	for v := from; v <= to+step/2; v += step {
		p.line(x.at(v), bottom, x.at(v), bottom+4, Edge, 1, Solid)
		p.write(x.at(v), bottom+18, signed(v), label{size: 12, at: middle, ink: Soft})
	}
	p.line(x.from, bottom, x.to, bottom, Edge, 1, Solid)
	for i, d := range e.Differences {
		e.drawDifference(p, x, top+row*float64(i)+row*0.68, d)
	}
	p.Height = bottom + 26
}

func (e Evidence) drawDifference(p *Picture, x scale, y float64, d EvidenceDifference) {
	p.line(x.at(d.Low), y, x.at(d.High), y, ArmInk(d.Sign), 2.5, Solid)
	for _, v := range []float64{d.Low, d.High} {
		p.line(x.at(v), y-5, x.at(v), y+5, ArmInk(d.Sign), 2, Solid)
	}
	p.marker(d.Sign, x.at(d.Value), y, 6)
	text := fmt.Sprintf("%s: %s g (%s to %s)", d.Name, signed(d.Value), signed(d.Low), signed(d.High))
	w := widthOf(text, 13, false)
	at := math.Min(math.Max(x.at(d.Value), 4+w/2), p.Width-4-w/2)
	p.write(at, y-12, text, label{size: 13, at: middle, ink: Text, bold: true, halo: true})
}

func (e Evidence) table() Table {
	t := Table{Head: []string{"Jar", "Arm", "Cook and layer", "g", ""}}
	for _, j := range e.Jars {
		lost := ""
		if j.Lost {
			lost = "lost, counted as 0 g"
		}
		t.Rows = append(t.Rows, []string{j.Name, e.Arms[j.Arm].Name, j.Block, short(j.Grams), lost})
	}
	return t
}

// short prints a figure with at most two decimals.
func short(v float64) string {
	s := strconv.FormatFloat(v, 'f', 2, 64)
	return strings.TrimSuffix(strings.TrimRight(s, "0"), ".")
}

// signed prints a difference with its sign, one decimal, and a true minus.
func signed(v float64) string {
	s := strconv.FormatFloat(math.Abs(v), 'f', 1, 64)
	s = strings.TrimSuffix(s, ".0")
	switch {
	case s == "0":
		return "0"
	case v < 0:
		return "−" + s
	}
	return "+" + s
}
