package picture

import "math"

// Forest shows one contrast from several cooks or trials, their mean, and
// what the next grow may show.
type Forest struct {
	Title   string
	Finding string
	Unit    string // of the axis, such as "times the control"
	Column  string // head of the column of names in the table
	Rows    []ForestRow
	Mean    *ForestBand // nil while there is none
	Next    *ForestBand
	None    float64 // what says "no difference"
	ByDrawn bool    // figures in words are those drawn towards the others, not those given
	Ratio   bool    // values are ratios: the axis is even in their logarithm
	Matters [2]float64
}

// ForestRow is one trial.
type ForestRow struct {
	Name   string
	Note   string // such as "12 and 11 jars"
	Weight float64
	Away   bool // from elsewhere: drawn open
	Given  ForestBand
	Drawn  *ForestBand // towards the others; nil if not known
}

// ForestBand is an estimate with its 95 % interval.
type ForestBand struct{ Value, Low, High float64 }

// The height of a row, and how much higher it is where the name has a line of
// its own.
const forestRow, forestLine = 44.0, 18.0

// Draw returns the picture, wide px wide: 340 and more.
func (f Forest) Draw(wide float64) *Picture {
	p := &Picture{Width: wide, Title: f.Title, Desc: f.Finding, Table: f.table()}
	x, ticks := f.axis(wide)
	const top = 10.0
	bottom := top + 6
	for _, r := range f.Rows {
		bottom += f.tall(p, r)
	}
	for _, b := range []*ForestBand{f.Mean, f.Next} {
		if b != nil {
			bottom += forestRow
		}
	}
	if f.Matters[0] < f.Matters[1] {
		low, high := f.held(x, f.Matters[0]), f.held(x, f.Matters[1])
		p.rect(low, top, high-low, bottom-top, style{fill: Sunken})
	}
	p.line(f.held(x, f.None), top, f.held(x, f.None), bottom, Text, 1.25, Dotted)
	for _, v := range ticks {
		p.line(f.at(x, v), bottom, f.at(x, v), bottom+4, Edge, 1, Solid)
		p.write(f.at(x, v), bottom+18, f.say(v), label{size: 12, at: middle, ink: Soft})
	}
	p.line(x.from, bottom, x.to, bottom, Edge, 1, Solid)
	p.write(x.to, bottom+35, f.Unit, label{size: 12, at: end, ink: Soft})
	y := top
	for _, r := range f.Rows {
		f.drawRow(p, x, y, r)
		y += f.tall(p, r)
	}
	y = f.drawMean(p, x, y)
	f.drawNext(p, x, y)
	p.Height = bottom + 42
	return p
}

// axis is even in the logarithm for ratios. An interval that would push all
// others together is cut at it.
func (f Forest) axis(wide float64) (scale, []float64) {
	low, high := f.scaled(f.None), f.scaled(f.None)
	bands := []*ForestBand{f.Mean, f.Next}
	for i := range f.Rows {
		bands = append(bands, &f.Rows[i].Given)
	}
	for _, b := range bands {
		if b == nil {
			continue
		}
		value, reach := f.scaled(b.Value), 0.0
		if f.Mean != nil {
			reach = 6 * math.Max(math.Abs(f.scaled(f.Mean.High)-f.scaled(f.Mean.Low)), 0.05)
		}
		for _, v := range []float64{f.scaled(b.Low), f.scaled(b.High)} {
			if reach > 0 && f.Ratio {
				v = math.Min(math.Max(v, value-reach), value+reach)
			}
			low, high = math.Min(low, v), math.Max(high, v)
		}
	}
	if !f.Ratio {
		from, to, step := nice(low, high, 5)
		var ticks []float64
		for v := from; v <= to+step/2; v += step {
			ticks = append(ticks, v)
		}
		return scale{from, to, 16, wide - 16}, ticks
	}
	pad := 0.04 * math.Max(high-low, 0.1)
	x := scale{low - pad, high + pad, 16, wide - 16}
	return x, ratioTicks(math.Exp(x.low), math.Exp(x.high), int(wide/80))
}

// ratioTicks returns round ratios from low to high, at most so many.
func ratioTicks(low, high float64, most int) []float64 {
	for _, marks := range [][]float64{
		{1, 1.1, 1.25, 1.5, 1.75, 2, 2.5, 3, 4, 5, 6, 7, 8, 9},
		{1, 1.25, 1.5, 2, 3, 4, 5, 8},
		{1, 1.5, 2, 3, 5},
		{1, 2, 5},
		{1},
	} {
		var out []float64
		for power := math.Floor(math.Log10(low)); power <= math.Ceil(math.Log10(high)); power++ {
			for _, m := range marks {
				if v := m * math.Pow(10, power); v >= low && v <= high {
					out = append(out, v)
				}
			}
		}
		if len(out) <= max(3, most) {
			return out
		}
	}
	return nil
}

func (f Forest) scaled(v float64) float64 {
	if f.Ratio {
		return math.Log(v)
	}
	return v
}

func (f Forest) at(x scale, v float64) float64 { return x.at(f.scaled(v)) }

// held is where v is drawn, kept within the axis.
func (f Forest) held(x scale, v float64) float64 {
	return math.Min(math.Max(f.at(x, v), x.from), x.to)
}

func (f Forest) say(v float64) string {
	if f.Ratio {
		return short(v)
	}
	return signed(v)
}

func (f Forest) words(b ForestBand) string {
	return f.say(b.Value) + " (" + f.say(b.Low) + " to " + f.say(b.High) + ")"
}

// tall is how high a row is: its name has a line of its own if it would have
// to be cut beside the figures.
func (f Forest) tall(p *Picture, r ForestRow) float64 {
	if 1.1*widthOf(r.Name, 13, false) > roomFor(p, r.from(), f.said(r)) {
		return forestRow + forestLine
	}
	return forestRow
}

// roomFor is how wide a name may be that stands beside where it is from and its
// figures.
func roomFor(p *Picture, away, figures string) float64 {
	room := p.Width - widthOf(figures, 12, false) - 36
	if away != "" {
		room -= widthOf(away, 12, true) + 12
	}
	return room
}

// from says where a trial is from, "" if it is one's own.
func (r ForestRow) from() string {
	if r.Away {
		return "elsewhere"
	}
	return ""
}

// said is the figures of a row in words.
func (f Forest) said(r ForestRow) string {
	if f.ByDrawn && r.Drawn != nil {
		return f.words(*r.Drawn)
	}
	return f.words(r.Given)
}

// drawRow writes a name over its interval; the square is the larger, the more
// the trial weighs.
func (f Forest) drawRow(p *Picture, x scale, y float64, r ForestRow) {
	name := r.Name
	if f.tall(p, r) > forestRow {
		p.write(8, y+16.5, fit(name, 13, p.Width-16), label{size: 13, ink: Text, halo: true})
		y, name = y+forestLine, ""
	}
	f.name(p, y, name, r.from(), r.Note, f.said(r), false)
	base := y + 32
	f.bar(p, x, base, r.Given, Soft, 2)
	half := 3 + 5*math.Sqrt(math.Min(math.Max(r.Weight, 0), 1))
	square := style{fill: Text}
	if r.Away {
		square = style{fill: Ground, stroke: Text, width: 1.75}
	}
	at := f.held(x, r.Given.Value)
	p.rect(at-half, base-half, 2*half, 2*half, square)
	if r.Drawn != nil {
		drawn := f.held(x, r.Drawn.Value)
		p.line(drawn, base-9, drawn, base+9, Go, 2.5, Solid)
	}
}

// name writes a name, where it is away from, and a note where there is room.
func (f Forest) name(p *Picture, y float64, name, away, note, figures string, bold bool) {
	w, at := widthOf(figures, 12, false), 8.0
	p.write(p.Width-8, y+16.5, figures, label{size: 12, at: end, ink: Text, halo: true})
	if name != "" {
		p.write(8, y+16.5, name, label{size: 13, ink: Text, bold: bold, halo: true})
		at += 1.1*widthOf(name, 13, false) + 8
	}
	if away != "" {
		p.write(at, y+16.5, away, label{size: 12, ink: Text, bold: true, halo: true})
		at += 1.1*widthOf(away, 12, true) + 8
	}
	if at+widthOf(note, 12, false) < p.Width-w-20 {
		p.write(at, y+16.5, note, label{size: 12, ink: Soft, halo: true})
	}
}

// bar draws an interval; an end that is cut at the axis has no stop.
func (f Forest) bar(p *Picture, x scale, y float64, b ForestBand, ink Ink, width float64) {
	low, high := f.held(x, b.Low), f.held(x, b.High)
	p.line(low, y, high, y, ink, width, Solid)
	for _, v := range []float64{b.Low, b.High} {
		if at := f.held(x, v); at == f.at(x, v) {
			p.line(at, y-5, at, y+5, ink, width, Solid)
		}
	}
}

// drawMean draws the mean as a diamond from end to end and returns where the
// next row begins.
func (f Forest) drawMean(p *Picture, x scale, y float64) float64 {
	if f.Mean == nil {
		return y
	}
	p.line(8, y+1, p.Width-8, y+1, Line, 1, Solid)
	f.name(p, y, "Mean of all", "", "", f.words(*f.Mean), true)
	base, low, high, at := y+32, f.held(x, f.Mean.Low), f.held(x, f.Mean.High), f.held(x, f.Mean.Value)
	p.polygon([]point{{low, base}, {at, base - 8}, {high, base}, {at, base + 8}}, style{fill: Go})
	return y + forestRow
}

func (f Forest) drawNext(p *Picture, x scale, y float64) {
	if f.Next == nil {
		return
	}
	f.name(p, y, "The next grow", "", "", f.words(*f.Next), true)
	low, high := f.held(x, f.Next.Low), f.held(x, f.Next.High)
	p.rect(low, y+27, high-low, 10, style{fill: Go, opacity: 0.3})
	p.line(f.held(x, f.Next.Value), y+25, f.held(x, f.Next.Value), y+39, Go, 2.5, Solid)
}

func (f Forest) table() Table {
	t := Table{Head: []string{f.Column, f.Unit, "95 % from", "to", "beside the others", ""}}
	band := func(name string, b ForestBand, drawn, note string) {
		t.Rows = append(t.Rows, []string{name, f.say(b.Value), f.say(b.Low), f.say(b.High), drawn, note})
	}
	for _, r := range f.Rows {
		drawn, note := "", r.Note
		if r.Drawn != nil {
			drawn = f.words(*r.Drawn)
		}
		if r.Away {
			note = joined(note, "from elsewhere")
		}
		band(r.Name, r.Given, drawn, note)
	}
	if f.Mean != nil {
		band("Mean of all", *f.Mean, "", "")
	}
	if f.Next != nil {
		band("The next grow", *f.Next, "", "")
	}
	return t
}

func joined(a, b string) string {
	if a == "" {
		return b
	}
	return a + ", " + b
}
