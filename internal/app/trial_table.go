package app

import (
	"fmt"
	"slices"
	"strconv"
	"time"

	"pinset/internal/calc/trialstat"
	"pinset/internal/lab"
)

// primaries are what the judge calls the outcomes of a trial.
var primaries = map[string]string{
	lab.PerInoculated: trialstat.PerInoculated, lab.PerPicked: trialstat.PerPicked, lab.ByFruited: trialstat.ByFruited,
	lab.ByClean: trialstat.ByClean, lab.ByPins: trialstat.ByCount, lab.ByColour: trialstat.ByScore,
}

// overs are what the judge calls what arms are spread over.
var overs = map[string]string{"culture lot": "lc", "person": "person", "day": "day", "room": "room"}

// input is the table that is judged, and what is asked of it.
func (ev evidence) input() trialstat.CompareInput {
	in := trialstat.CompareInput{
		Control: label(ev.trial.Control), Primary: primaries[ev.trial.Primary], MattersPct: &ev.trial.Matters, Rows: ev.rows(), ArmsDifferIn: words(ev.trial.Differ),
	}
	if len(in.ArmsDifferIn) == 0 {
		in.ArmsDifferIn = []string{string(lab.ByTreatment)}
	}
	if ev.allotment != nil {
		in.Seed = &ev.allotment.Seed
	}
	if over := ev.trial.Details.Over; len(over) > 0 {
		in.Within = []string{"cook", "layer", "shelf"}
		for _, o := range over {
			in.Within = append(in.Within, overs[o.Is])
		}
	}
	ev.factors(&in)
	return in
}

// factors writes down what the arms cross, and what they are set on. Those of a blind
// trial are left out while its key is closed.
func (ev evidence) factors(in *trialstat.CompareInput) {
	of := ev.trial.Details.Factors
	if ev.mask.closed() || len(of) == 0 {
		return
	}
	if len(of) == 1 {
		in.Unit = string(of[0].On)
		if _, ladder := ev.trial.Ladder(); !ladder {
			return
		}
	}
	for _, f := range of {
		in.Factors = append(in.Factors, trialstat.CompareFactor{Name: label(f.Name), On: string(f.On), Unit: f.Unit})
	}
}

// levels writes the levels of its arm into the row of a jar: of a ladder the dose, of
// a crossing one of each factor.
func (ev evidence) levels(row *trialstat.CompareRow, arm string) {
	of := ev.trial.Details.Factors
	i := slices.IndexFunc(ev.trial.Arms, func(a lab.Arm) bool { return lab.NameKey(a.Name) == lab.NameKey(arm) })
	if ev.mask.closed() || len(of) == 0 || i < 0 {
		return
	}
	if f, ladder := ev.trial.Ladder(); ladder {
		if k := ev.trial.LevelOf(ev.trial.Arms[i], 0); k >= 0 {
			row.Dose = &f.Doses[k]
		}
		return
	}
	if len(of) < 2 {
		return
	}
	for k, to := range []*trialstat.Label{&row.Level1, &row.Level2, &row.Level3}[:len(of)] {
		at := ev.trial.LevelOf(ev.trial.Arms[i], k)
		switch {
		case at < 0:
		case len(of[k].Doses) > 0:
			*to = label(strconv.FormatFloat(of[k].Doses[at], 'g', -1, 64))
		default:
			*to = label(of[k].Levels[at])
		}
	}
}

// jarCount is what was counted on a jar, nil if it was not.
type jarCount struct {
	pins, colour *float64
	coloured     bool // a first colour was seen, counted or not
}

// countSeen finds the last counts among what was seen, by jar.
func countSeen(current []lab.Seen) map[lab.JarID]jarCount {
	current = slices.Clone(current)
	slices.SortStableFunc(current, func(a, b lab.Seen) int { return a.At.Time.Compare(b.At.Time) })
	out := make(map[lab.JarID]jarCount)
	for _, s := range current {
		c, n := out[s.Jar], float64(s.Count)
		switch {
		case (s.Stage == lab.Pins || s.Stage == lab.Ready) && s.Count > 0:
			c.pins = &n
		case s.Stage == lab.Colour:
			c.coloured = true
			if s.Count > 0 {
				c.colour = &n
			}
		}
		out[s.Jar] = c
	}
	return out
}

// into writes the counts of a jar into its row. A jar that is done and never showed
// any colour scores 0.
func (c jarCount) into(row *trialstat.CompareRow, fate lab.Fate) {
	row.Count, row.Score = c.pins, c.colour
	if none := 0.0; c.colour == nil && !c.coloured && (fate == lab.Picked || fate == lab.Spent || fate == lab.Barren) {
		row.Score = &none
	}
}

// rows turns the trial's jars into the plain table of a comparison. Jars that
// were never inoculated and blanks are left out: they were not in the trial.
func (ev evidence) rows() []trialstat.CompareRow {
	var rows []trialstat.CompareRow
	for _, j := range ev.jars {
		if j.Blank || j.Inoculated.IsZero() {
			continue
		}
		row := trialstat.CompareRow{
			Jar: label(fmt.Sprintf("%s·%d", ev.batches[j.Batch], j.Number)), Arm: label(j.Arm), Fate: string(j.Fate),
			Culture: label(ev.names.Cultures[j.Carries]), Container: label(ev.names.Containers[j.Container]),
			Recipe: label(ev.names.Recipes[j.Recipe]), MixMade: label(j.MixMade), Shelf: label(j.Shelf), Person: label(ev.past[j.Jar.ID].by),
		}
		if j.Cook != "" {
			row.Cook = label(ev.cooks[j.Cook].String())
		}
		if j.Layer > 0 {
			row.Layer = label(strconv.Itoa(j.Layer))
		}
		if d, ok := j.Inoculated.Day(ev.zone); ok {
			row.Day = label(d.Format(time.DateOnly))
		}
		if j.Picks > 0 {
			grams := float64(j.Grams)
			row.Value = &grams
		}
		if slices.ContainsFunc(ev.trial.Details.Over, func(o lab.TrialOver) bool { return o.Is == "culture lot" }) {
			row.LC, row.Culture = row.Culture, ""
		}
		ev.past[j.Jar.ID].count.into(&row, j.Fate)
		ev.levels(&row, j.Arm)
		rows = append(rows, row)
	}
	return rows
}
