package picture

import (
	"fmt"
	"math"
	"slices"

	"pinset/internal/figure"
)

// Timetable is the cooks of a few days on a clock: a band for each day, a line
// for each cooker in it, a bar for each cook.
type Timetable struct {
	Name    string
	Cookers []string // in the order of their lines
	Begin   float64  // of the working day, in minutes after midnight
	DayMin  float64  // of work in a day, > 0
	Bars    []TimetableBar
}

// TimetableBar is one cook.
type TimetableBar struct {
	Day    int     // from 1
	Cooker int     // index of Cookers
	From   float64 // minutes after the begin of the day
	Min    float64 // that it takes
	Jars   int
	Places int    // that it could have taken; 0 if that is not known
	Says   string // "20 pint"
}

// mostDays bounds the days that are drawn; the table holds all.
const mostDays = 7

// Draw returns the timetable, wide px wide.
func (t Timetable) Draw(wide float64) *Picture {
	p := &Picture{Width: wide, Title: t.Name, Desc: t.desc(), Table: t.table()}
	const head, line, gap = 22.0, 36.0, 12.0
	left := 8.0
	for _, c := range t.Cookers {
		left = max(left, 16+widthOf(fit(c, 13, wide/4), 13, false))
	}
	days := min(t.days(), mostDays)
	left = max(left, 12+widthOf(fmt.Sprintf("Day %d", days), 13, true)+widthOf(t.clock(0), 12, false)/2)
	x := scale{0, t.DayMin, left, wide - 10}
	band := head + line*float64(len(t.Cookers)) + gap
	p.Height = band * float64(days)
	for d := range days {
		t.drawDay(p, d+1, band*float64(d), x, band-gap)
	}
	for _, b := range t.Bars {
		if b.Day <= days {
			t.drawBar(p, b, band*float64(b.Day-1)+head+line*float64(b.Cooker)+4, line-8, x)
		}
	}
	return p
}

func (t Timetable) days() int {
	days := 1
	for _, b := range t.Bars {
		days = max(days, b.Day)
	}
	return days
}

func (t Timetable) drawDay(p *Picture, day int, y float64, x scale, high float64) {
	p.write(4, y+14, fmt.Sprintf("Day %d", day), label{size: 13, ink: Text, bold: true})
	step := 60.0
	for (x.at(step)-x.at(0)) < 44 && step < t.DayMin {
		step *= 2
	}
	for at := 0.0; at <= t.DayMin+1e-9; at += step {
		p.line(x.at(at), y+18, x.at(at), y+high, Line, 1, Solid)
		p.write(x.at(at), y+14, t.clock(at), label{size: 12, at: anchorNear(x.at(at), p.Width), ink: Soft, halo: true})
	}
	for i, name := range t.Cookers {
		base := y + 22 + 36*float64(i)
		p.write(4, base+23, fit(name, 13, p.Width/4), label{size: 13, ink: Text})
		p.line(x.at(0), base+34, x.at(t.DayMin), base+34, Line, 1, Solid)
	}
}

// drawBar draws one cook; the part of it that stays empty is left open.
func (t Timetable) drawBar(p *Picture, b TimetableBar, y, high float64, x scale) {
	from, to := x.at(b.From)+1, x.at(b.From+b.Min)-1
	p.rect(from, y, to-from, high, style{fill: Ground, stroke: Edge, width: 1.5})
	share := 1.0
	if b.Places > 0 {
		share = min(1, float64(b.Jars)/float64(b.Places))
	}
	p.rect(from, y, (to-from)*share, high, style{fill: DueSoft, stroke: Edge, width: 1.5})
	text := fit(b.Says, 12, to-from-6)
	if widthOf(fmt.Sprint(b.Jars), 12, false) > to-from-6 {
		return // the table says it
	}
	if len([]rune(text)) < len([]rune(b.Says)) {
		text = fmt.Sprint(b.Jars)
	}
	p.write((from+to)/2, y+high/2+4, text, label{size: 12, at: middle, ink: Text, halo: true})
}

// clock prints a minute of the working day as a time: "08:30".
func (t Timetable) clock(min float64) string {
	m := int(math.Round(t.Begin + min))
	return fmt.Sprintf("%02d:%02d", m/60%24, m%60)
}

func (t Timetable) desc() string {
	if len(t.Bars) == 0 {
		return "No cook."
	}
	last := slices.MaxFunc(t.Bars, func(a, b TimetableBar) int {
		if a.Day != b.Day {
			return a.Day - b.Day
		}
		return int(math.Copysign(1, a.From+a.Min-b.From-b.Min))
	})
	text := fmt.Sprintf("%s in %s; the last ends on day %d at %s.", figure.Counted(len(t.Bars), "cook"), figure.Counted(len(t.Cookers), "cooker"), last.Day, t.clock(last.From+last.Min))
	if t.days() > mostDays {
		text += fmt.Sprintf(" The first %d days are drawn.", mostDays)
	}
	return text
}

func (t Timetable) table() Table {
	out := Table{Head: []string{"Day", "From", "To", "Cooker", "Load", "Jars", "Places"}}
	for _, b := range t.Bars {
		places := "–"
		if b.Places > 0 {
			places = fmt.Sprint(b.Places)
		}
		out.Rows = append(out.Rows, []string{
			fmt.Sprint(b.Day), t.clock(b.From), t.clock(b.From + b.Min), t.Cookers[b.Cooker], b.Says, fmt.Sprint(b.Jars), places,
		})
	}
	return out
}
