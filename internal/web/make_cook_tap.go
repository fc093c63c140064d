package web

import (
	"math"
	"time"

	"pinset/internal/lab"
)

// tapRow offers what is mostly measured, so that one tap with a wet glove is
// enough for it.
type tapRow struct {
	Event lab.Event
	Label string
	Taps  []choice // what is logged, and a word about it
}

// tapForm is one row with the page that it stands on.
type tapForm struct {
	*cookPage
	Row tapRow
}

// Tap is the form of a row.
func (p *cookPage) Tap(row tapRow) tapForm { return tapForm{p, row} }

// TakesWater reports whether water is poured in by hand: an autoclave fills
// itself.
func (p *cookPage) TakesWater() bool { return p.Run.Kind != lab.Autoclave }

// Begun reports whether the cook is under way: the heat is on, or a mark says
// that it was.
func (p *cookPage) Begun() bool {
	for _, s := range p.Run.Logged {
		if s.Event == lab.HeatOn {
			return true
		}
	}
	return len(p.Stretches) > 0 || p.isOff()
}

// isOff reports whether the heat is off.
func (p *cookPage) isOff() bool {
	for _, m := range p.Marks {
		if !m.Undone && m.Event == lab.HeatOff {
			return true
		}
	}
	return false
}

// Reads reports whether a reading can be typed: while the cook is under way,
// or again because what was typed was no reading.
func (p *cookPage) Reads() bool {
	return p.Begun() && !p.isOff() || p.Run.Over || lab.Event(p.Form.Get("event")) == p.ReadingEvent() && p.Form.Bad("typed") != nil
}

// FirstTaps are the rows of taps before the heat goes on.
func (p *cookPage) FirstTaps() []tapRow {
	a := p.Run.Advice
	if a == nil || p.Begun() {
		return nil
	}
	var out []tapRow
	if p.Run.StartC == nil {
		out = append(out, tapRow{lab.StartAt, "How warm is the load?", []choice{{Value: "5 °C", Label: "fridge"}, {Value: "12 °C", Label: "cellar"}, {Value: "20 °C", Label: "room"}}})
	}
	if p.Run.AsksLid {
		out = append(out, tapRow{lab.LidAt, "How do the lids vent?", []choice{{Value: "vented", Label: "hole, or loose"}, {Value: "filter", Label: "or a patch"}, {Value: "foil", Label: "over the mouth"}, {Value: "tight", Label: "shut"}}})
	}
	if a.PouredL == nil && p.TakesWater() {
		out = append(out, tapRow{lab.WaterIn, "Water poured in", waterTaps(a.PourL)})
	}
	return out
}

// ReadingTaps are the readings that are mostly taken, while the heat is on.
func (p *cookPage) ReadingTaps() []tapRow {
	if len(p.Run.Near) == 0 || !p.Begun() || p.isOff() || p.Run.Over {
		return nil
	}
	row := tapRow{p.ReadingEvent(), "The gauge reads", nil}
	if row.Event == lab.ReadsAt {
		row.Label = "The thermometer reads"
	}
	for _, n := range p.Run.Near {
		c := choice{Value: n.Says}
		if n.Target {
			c.Label = "target"
		}
		row.Taps = append(row.Taps, c)
	}
	return []tapRow{row}
}

// waterTaps are what is needed, rounded up to a tenth of a litre, and more;
// usual amounts where what is needed is not known.
func waterTaps(need *float64) []choice {
	if need == nil {
		return []choice{{Value: "2 L"}, {Value: "3 L"}, {Value: "4 L"}}
	}
	least := math.Ceil(*need*10-1e-6) / 10
	return []choice{{Value: fix(1, least) + " L", Label: "at least"}, {Value: fix(1, least+0.5) + " L"}, {Value: fix(1, least+1) + " L"}}
}

// AdvisedUntil is when the advised hold will be over if the target stays, and
// AdvisedLeft whether it is still to come.
func (p *cookPage) AdvisedUntil() time.Time {
	return p.Open().From.Add(time.Duration(*p.Run.AdvisedMin * float64(time.Minute)))
}

// AdvisedLeft reports whether the advised hold is still to be held.
func (p *cookPage) AdvisedLeft() bool {
	return p.Run.AdvisedMin != nil && p.Open() != nil && p.Open().Minutes < *p.Run.AdvisedMin
}

// AnyLeft reports whether the rule, or what is advised, is still to be held.
func (p *cookPage) AnyLeft() bool { return p.Left() > 0 || p.AdvisedLeft() }
