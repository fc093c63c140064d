package app

import (
	"fmt"
	"slices"
	"strings"

	"pinset/internal/calc/trialstat"
	"pinset/internal/lab"
)

// PlanUnit is something that is set on whole cooks, shelves or makings, with how
// many of them each level has.
type PlanUnit struct {
	Factor string   `json:"factor"` // "the arms" for a trial without factors
	On     lab.Unit `json:"on"`
	Levels []string `json:"levels"`
	Units  []int    `json:"units"`           // by level
	Found  bool     `json:"found,omitempty"` // it was not said: the layout is like that

	level map[string]string // by arm
}

// Least is how many units the level with the fewest has.
func (u PlanUnit) Least() int { return slices.Min(u.Units) }

// unitsOf returns what sits on more than a jar: what was said to, and what the
// layout gave to whole cooks or shelves.
func (p *Plan) unitsOf() []PlanUnit {
	var out []PlanUnit
	for k, f := range p.Trial.Details.Factors {
		level := make(map[string]string)
		for _, a := range p.Trial.Arms {
			level[a.Name] = a.Levels[k]
		}
		if f.On != lab.OnJar {
			out = append(out, p.countUnits(PlanUnit{Factor: f.Name, On: f.On, Levels: f.Levels, level: level}))
		} else if on := p.sitsOn(level); on != lab.OnJar {
			out = append(out, p.countUnits(PlanUnit{Factor: f.Name, On: on, Levels: f.Levels, Found: true, level: level}))
		}
	}
	if len(p.Trial.Details.Factors) > 0 {
		return out
	}
	u := PlanUnit{Factor: "the arms", Found: true, level: make(map[string]string)}
	for _, a := range p.Trial.Arms {
		u.Levels, u.level[a.Name] = append(u.Levels, a.Name), a.Name
	}
	if u.On = p.sitsOn(u.level); u.On != lab.OnJar {
		out = append(out, p.countUnits(u))
	}
	return out
}

// unitOf names the unit of a kind that a jar is in, "" if none is known.
func unitOf(on lab.Unit, s PlanSlot) string {
	switch on {
	case lab.OnCook:
		return fmt.Sprint(s.Cook)
	case lab.OnShelf:
		return s.Shelf
	case lab.OnMaking:
		return s.MixMade
	}
	return ""
}

// sitsOn returns the cook or the shelf if each holds one level only and every level
// has two or more, else the jar.
func (p *Plan) sitsOn(level map[string]string) lab.Unit {
	for _, on := range []lab.Unit{lab.OnCook, lab.OnShelf} {
		of, units := make(map[string]string), make(map[string]int)
		alone := true
		for _, s := range p.Slots {
			unit, l := unitOf(on, s), level[s.Arm]
			if s.Blank || unit == "" {
				alone = alone && s.Blank
				continue
			}
			was, ok := of[unit]
			if !ok {
				of[unit] = l
				units[l]++
			}
			alone = alone && (!ok || was == l)
		}
		for _, l := range level {
			alone = alone && units[l] > 1
		}
		if alone {
			return on
		}
	}
	return lab.OnJar
}

// countUnits counts the units that each level stands in.
func (p *Plan) countUnits(u PlanUnit) PlanUnit {
	for _, l := range u.Levels {
		seen := make(map[string]bool)
		for _, s := range p.Slots {
			if unit := unitOf(u.On, s); !s.Blank && u.level[s.Arm] == l && unit != "" {
				seen[unit] = true
			}
		}
		u.Units = append(u.Units, len(seen))
	}
	return u
}

// column is what a table calls the unit.
func (u PlanUnit) column() string {
	if u.On == lab.OnMaking {
		return "mix_made"
	}
	return string(u.On)
}

// setOn is what sits on more than a jar as the columns of a table know it.
func (p *Plan) setOn() []trialstat.SetOn {
	var out []trialstat.SetOn
	for _, u := range p.Units {
		out = append(out, trialstat.SetOn{Unit: u.column(), Level: u.level})
	}
	return out
}

// sayUnits says what is counted where a factor sits on more than a jar.
func (p *Plan) sayUnits() {
	for _, u := range p.Units {
		said := fmt.Sprintf("%s is set on the %s", u.Factor, u.On)
		if u.Found {
			said = fmt.Sprintf("Laid out like this %s sits on the %s", u.Factor, u.On)
			if u.Factor == "the arms" {
				said = fmt.Sprintf("Laid out like this the arms sit on the %s: every %s holds one arm", u.On, u.On)
			}
		}
		switch n := u.Least(); {
		case n == 0:
			p.addSentence(fmt.Sprintf("%s, but the plan names none: name the %s, two or more to each level.", capital(said), u.On.Many()))
		case n == 1:
			p.addSentence(fmt.Sprintf("%s, and a level has one: a difference between two %s would look exactly like one of %s, however many jars stand in them. No verdict on it will be possible; plan two %s or more to each level.", capital(said), u.On.Many(), u.Factor, u.On.Many()))
		default:
			p.addSentence(fmt.Sprintf("%s, so the %s is the unit: %s are counted, not the jars in them.", capital(said), u.On, u.says()))
		}
	}
}

// says counts the units by level: "2 cooks at 60 min and 2 at 90 min".
func (u PlanUnit) says() string {
	var parts []string
	for i, l := range u.Levels {
		word := ""
		if i == 0 {
			word = " " + u.On.Many()
			if u.Units[i] == 1 {
				word = " " + string(u.On)
			}
		}
		parts = append(parts, fmt.Sprintf("%d%s at %s", u.Units[i], word, l))
	}
	return strings.TrimSpace(join2(parts))
}
