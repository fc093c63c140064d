package picture

import (
	"fmt"
	"time"
)

// Season is the calendar with a line for each batch or jar.
type Season struct {
	Name  string
	From  time.Time // first day shown
	To    time.Time // last day shown
	Today time.Time // zero if not shown
	Lines []SeasonLine
}

// SeasonLine is one batch or jar along the calendar.
type SeasonLine struct {
	Name    string
	Note    string // small, below the name
	From    time.Time
	To      time.Time // until it closes or is done
	Marks   []SeasonMark
	Windows []SeasonWindow
}

// SeasonMark is something seen or done on a day.
type SeasonMark struct {
	Day  time.Time
	Sign MarkSign
	Says string // "full cover"
}

// SeasonWindow is when something is expected: 4 of 5 from From to To, half of
// them from NearFrom to NearTo.
type SeasonWindow struct {
	From, To         time.Time
	NearFrom, NearTo time.Time
	Likely           time.Time
	Says             string
}

// MarkSign is the shape of a mark: each event has one.
type MarkSign string

// The signs along a season line.
const (
	Cooked    MarkSign = "cooked"  // a square, open
	DroppedIn MarkSign = "drop"    // a drop: inoculated
	Covered   MarkSign = "covered" // a disc, open
	Lit       MarkSign = "lit"     // a disc with rays
	Pinning   MarkSign = "pinning" // three short strokes
	PickedOff MarkSign = "picked"  // a disc, filled
	Foul      MarkSign = "foul"    // a cross
	Closing   MarkSign = "closing" // an upright end
)

// Draw returns the season line, wide px wide.
func (s Season) Draw(wide float64) *Picture {
	p := &Picture{Width: wide, Title: s.Name, Desc: s.desc(), Table: s.table()}
	const row, head = 48.0, 26.0
	p.Height = head + row*float64(len(s.Lines)) + 6
	days := s.To.Sub(s.From).Hours() / 24
	x := scale{0, max(1, days), 8, wide - 8}
	at := func(t time.Time) float64 { return x.at(min(max(t.Sub(s.From).Hours()/24, 0), days)) }
	s.drawMonths(p, at, head)
	if !s.Today.IsZero() && !s.Today.Before(s.From) && !s.Today.After(s.To) {
		p.line(at(s.Today), 18, at(s.Today), p.Height, Go, 1.5, Dotted)
		p.write(at(s.Today), 14, "today", label{size: 12, at: anchorNear(at(s.Today), wide), ink: Go, bold: true, halo: true})
	}
	for i, l := range s.Lines {
		s.drawLine(p, l, at, head+row*float64(i), wide)
	}
	return p
}

// anchorNear keeps a text inside the picture.
func anchorNear(x, wide float64) anchor {
	switch {
	case x > wide-40:
		return end
	case x < 40:
		return start
	}
	return middle
}

func (s Season) drawMonths(p *Picture, at func(time.Time) float64, head float64) {
	month := time.Date(s.From.Year(), s.From.Month(), 1, 0, 0, 0, 0, time.UTC)
	last := -100.0
	for ; !month.After(s.To); month = month.AddDate(0, 1, 0) {
		if month.Before(s.From) {
			continue
		}
		x := at(month)
		p.line(x, head-8, x, p.Height, Line, 1, Solid)
		now := -100.0
		if !s.Today.IsZero() {
			now = at(s.Today)
		}
		if x-last > 44 && x < p.Width-24 && (x+34 < now-30 || x > now+30) {
			p.write(x+3, 14, month.Format("Jan"), label{size: 12, ink: Soft})
			last = x
		}
	}
}

func (s Season) drawLine(p *Picture, l SeasonLine, at func(time.Time) float64, y, wide float64) {
	base := y + 34
	for _, w := range l.Windows {
		p.rect(at(w.From), base-9, max(3, at(w.To)-at(w.From)), 18, style{fill: DueSoft})
		p.rect(at(w.NearFrom), base-9, max(3, at(w.NearTo)-at(w.NearFrom)), 18, style{fill: Due, opacity: 0.35})
		p.line(at(w.Likely), base-9, at(w.Likely), base+9, Due, 1.5, Solid)
	}
	p.line(at(l.From), base, at(l.To), base, Edge, 2, Solid)
	x := at(l.From)
	name := fit(l.Name, 13, wide*0.6)
	nameWide := 1.08*widthOf(name, 13, false) + 8 // bold
	if over := x + nameWide + widthOf(l.Note, 12, false) - (wide - 4); over > 0 {
		x = max(4, x-over)
	}
	p.write(x, y+17, name, label{size: 13, ink: Text, bold: true, halo: true})
	p.write(x+nameWide, y+17, l.Note, label{size: 12, ink: Soft, halo: true})
	for _, m := range l.Marks {
		p.drawMarkSign(m.Sign, at(m.Day), base)
	}
}

func (p *Picture) drawMarkSign(sign MarkSign, x, y float64) {
	open := style{fill: Ground, stroke: Text, width: 1.5}
	switch sign {
	case Cooked:
		p.rect(x-4, y-4, 8, 8, open)
	case DroppedIn:
		p.add(mark{style: style{fill: Go}, path: []segment{
			moveTo(x, y-8), curveTo(x+1.5, y-4, x+5, y-2, x+5, y+1.5), curveTo(x+5, y+4.5, x+2.7, y+6, x, y+6),
			curveTo(x-2.7, y+6, x-5, y+4.5, x-5, y+1.5), curveTo(x-5, y-2, x-1.5, y-4, x, y-8), closed(),
		}})
	case Covered:
		p.circle(x, y, 5, open)
	case Lit:
		p.circle(x, y, 3.5, style{fill: Ground, stroke: Due, width: 1.5})
		for _, d := range []point{{0, -7.5}, {6.5, -3.7}, {6.5, 3.7}, {0, 7.5}, {-6.5, 3.7}, {-6.5, -3.7}} {
			p.line(x+0.75*d.x, y+0.75*d.y, x+d.x, y+d.y, Due, 1.5, Solid)
		}
	case Pinning:
		for _, d := range []float64{-4, 0, 4} {
			p.line(x+d, y, x+d, y-9, Crop, 2.25, Solid)
		}
	case PickedOff:
		p.circle(x, y, 5.5, style{fill: Crop, stroke: Ground, width: 1})
	case Foul:
		p.cross(x, y, 4.5, Text)
	case Closing:
		p.line(x, y-8, x, y+8, Text, 2.5, Solid)
	}
}

func (s Season) desc() string {
	return fmt.Sprintf("%d lines from %s to %s; the table below lists every mark.", len(s.Lines), s.From.Format("2 Jan 2006"), s.To.Format("2 Jan 2006"))
}

// says tells the inner days: the outer ones are in the column before.
func (w SeasonWindow) says() string {
	day := func(t time.Time) string { return t.Format("2 Jan") }
	return fmt.Sprintf("%s expected, most likely %s, half of them %s to %s", w.Says, day(w.Likely), day(w.NearFrom), day(w.NearTo))
}

func (s Season) table() Table {
	t := Table{Head: []string{"Line", "Day", "What"}}
	for _, l := range s.Lines {
		for _, m := range l.Marks {
			t.Rows = append(t.Rows, []string{l.Name, m.Day.Format("2 Jan 2006"), m.Says})
		}
		for _, w := range l.Windows {
			t.Rows = append(t.Rows, []string{l.Name, w.From.Format("2 Jan") + " to " + w.To.Format("2 Jan 2006"), w.says()})
		}
	}
	return t
}
