package web

import (
	"html/template"
	"net/http"
	"strconv"
	"strings"
	"time"

	"pinset/internal/app"
	"pinset/internal/lab"
	"pinset/internal/picture"
	"pinset/internal/report"
)

// Widths that pictures are drawn at: the phone's column, and the desk's.
const (
	phoneWide = 358
	deskWide  = 694
	boardWide = 940
)

// drawing is a picture as a page shows it: drawn once for the phone and once
// for the desk, with the table of its figures.
type drawing struct {
	Phone, Desk template.HTML
	Title       string
	Table       picture.Table
}

// newDrawing draws a picture for the phone, and for the desk at the width given.
func newDrawing(id string, desk float64, draw func(wide float64) *picture.Picture) *drawing {
	small, large := draw(phoneWide), draw(desk)
	return &drawing{Phone: small.SVG(id + "-p"), Desk: large.SVG(id + "-d"), Title: large.Title, Table: large.Table}
}

// on leaves the drawing for the desk out where the device says that it is a
// phone: it would never be shown there.
func (d *drawing) on(r *http.Request) *drawing {
	if d != nil && isPhone(r) {
		d.Desk = ""
	}
	return d
}

// isPhone reports whether a browser says that it runs on a phone: by a client
// hint, or by what browsers of phones have in their name. One that does not say
// it, or is asked for the page of a desk, gets drawings for both.
func isPhone(r *http.Request) bool {
	if hint := r.Header.Get("Sec-CH-UA-Mobile"); hint != "" {
		return hint == "?1"
	}
	agent := r.UserAgent()
	return strings.Contains(agent, "Mobi") && !strings.Contains(agent, "iPad") && !strings.Contains(agent, "Tablet")
}

// evidenceDrawing draws the jars that a verdict rests on, nil while there are none.
func evidenceDrawing(v app.TrialView) *drawing {
	if len(v.Evidence.Jars) == 0 {
		return nil
	}
	return newDrawing("evidence", deskWide, report.Evidence(v).Draw)
}

// loadDrawing draws one cook of a bench sheet from above.
func loadDrawing(id string, c app.SheetCook, signs bool) *drawing {
	l := picture.Load{Name: c.Cook.String(), Signs: signs}
	for _, layer := range c.Layers {
		drawn := picture.LoadLayer{Number: layer.Layer}
		for _, j := range layer.Jars {
			drawn.Jars = append(drawn.Jars, picture.LoadJar{Number: j.Number, Code: string(j.Code), Arm: j.ArmIndex, Blank: j.Blank})
		}
		l.Layers = append(l.Layers, drawn)
	}
	return newDrawing(id, deskWide, l.Draw)
}

// seasonSigns are the signs of what a season line marks; other stages are in
// the table only, for a line that marks all says nothing.
var seasonSigns = map[string]picture.MarkSign{
	"made": picture.Cooked, "inoculated": picture.DroppedIn, lab.Cover.Label(): picture.Covered, lab.Light.Label(): picture.Lit,
	lab.Pins.Label(): picture.Pinning, "lost": picture.Foul, "picked, flush 1": picture.PickedOff, "picked, flush 2": picture.PickedOff, "closes": picture.Closing,
}

// seasonDrawing draws the batches along the calendar, nil while there are none.
func seasonDrawing(lines []app.SeasonLine, today time.Time) *drawing {
	if len(lines) == 0 {
		return nil
	}
	s := picture.Season{Name: "The season so far", Today: today, From: lines[0].From, To: today}
	for _, l := range lines {
		if l.From.Before(s.From) {
			s.From = l.From
		}
		if l.To.After(s.To) {
			s.To = l.To
		}
		line := picture.SeasonLine{Name: l.Batch.Title(), Note: count(l.Jars, "jar"), From: l.From, To: l.To}
		for _, m := range l.Marks {
			if sign, ok := seasonSigns[m.What]; ok {
				line.Marks = append(line.Marks, picture.SeasonMark{Day: m.Day, Sign: sign, Says: m.What})
			}
		}
		for _, w := range l.Windows {
			line.Windows = append(line.Windows, picture.SeasonWindow{From: w.From, To: w.To, NearFrom: w.NearFrom, NearTo: w.NearTo, Likely: w.Likely, Says: w.Stage.Label()})
			if w.To.After(s.To) {
				s.To = w.To
			}
		}
		s.Lines = append(s.Lines, line)
	}
	return newDrawing("season", deskWide, s.Draw)
}

// lookFor is how a jar looks from the side.
func lookFor(j lab.Jar, s lab.Standing) picture.Look {
	switch {
	case s.Fate == lab.Lost:
		return picture.Look{State: picture.Gone}
	case j.Blank:
		return picture.Look{State: picture.Blank}
	case s.Fate == lab.Picked, s.Fate == lab.Spent, s.Fate == lab.Barren:
		return picture.Look{State: picture.Taken}
	case s.Inoculated.IsZero():
		return picture.Look{State: picture.Bare}
	}
	switch s.Stage {
	case lab.Growth:
		return picture.Look{State: picture.Covering, Cover: 0.3}
	case lab.Cover, lab.Light:
		return picture.Look{State: picture.Covering, Cover: 1}
	case lab.Colour:
		return picture.Look{State: picture.Coloured}
	case lab.Pins:
		return picture.Look{State: picture.Pinned}
	case lab.Ready:
		return picture.Look{State: picture.Fruiting, Ready: true}
	}
	return picture.Look{State: picture.Given}
}

// boardDrawing draws the jars of one batch on one shelf.
func boardDrawing(id, name, batch string, jars []app.JarRow) *drawing {
	board := picture.ShelfBoard{}
	for _, j := range jars {
		_, word := lookOf(j.Jar, j.Standing)
		board.Jars = append(board.Jars, picture.ShelfJar{
			Name: batch + "·" + strconv.Itoa(j.Number), Number: j.Number, Word: word, Link: at("j", string(j.Code)), Arm: -1, Look: lookFor(j.Jar, j.Standing),
		})
	}
	return newDrawing(id, boardWide, picture.Shelf{Name: name, Boards: []picture.ShelfBoard{board}}.Draw)
}
