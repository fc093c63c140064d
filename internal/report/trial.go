package report

import (
	"fmt"
	"slices"
	"strconv"
	"strings"
	"time"

	"pinset/internal/app"
	"pinset/internal/lab"
	"pinset/internal/picture"
)

// Trial returns the report of a trial as it stands at when: what was asked,
// planned and allotted, what happened, and what the jars support. failed is
// why there is no verdict, nil if there is one. d is when its stages came.
func Trial(v app.TrialView, d app.TrialDays, failed *lab.Problem, when time.Time) Report {
	r := Report{Title: "Trial " + v.Name, Sub: v.Question, When: when}
	r.add(heading{"The verdict"})
	if failed != nil {
		r.add(saying{sentence(failed.What)}, words{sentence(failed.Mend)})
	}
	for _, s := range verdictSentences(v) {
		r.add(saying{s})
	}
	for _, c := range v.Verdict.Cautions {
		r.add(doubt{c})
	}
	if len(v.Evidence.Jars) > 0 {
		r.add(heading{"Every jar"}, drawn{"evidence", Evidence(v).Draw}, words{EvidenceHint})
	}
	r.add(heading{"By arm"}, armGrid(v))
	if len(v.Verdict.Result.Comparisons) > 0 {
		r.add(differenceGrid(v))
	}
	for _, s := range Beside(v) {
		r.add(words{s})
	}
	if t, ok := Parts(v); ok {
		r.add(heading{"The two parts"}, gridOf("Share that fruited, and grams if fruited", t), words{PartsHint})
	}
	if of := Dependences(v); len(of) > 0 {
		r.add(heading{"Do they depend on each other?"})
		for _, x := range of {
			r.add(words{x.Sentence})
		}
	}
	if s, ok := Losses(v); ok {
		r.add(heading{"Jars that gave nothing"}, drawn{"losses", s.Draw}, words{LossHint}, gridOf("", s.Draw(694).Table))
	}
	if s, ok := Effects(v); ok {
		r.add(heading{"Cook by cook"}, drawn{"effects", s.Draw}, words{EffectHint(v)}, gridOf("", s.Draw(694).Table))
	}
	r.addDays(v, d)
	r.add(heading{"The plan"}, planFacts(v), heading{"The allotment"}, drawFacts(v))
	if len(v.Cells) > 0 {
		r.add(cellGrid(v))
	}
	r.add(heading{"What happened"}, happenedFacts(v))
	if len(v.Verdict.Working) > 0 {
		r.add(heading{"Working"}, steps(v.Verdict.Working))
	}
	r.add(heading{"Readings"}, readingFacts(v, when))
	return r
}

// The words below the pictures of a trial.
const (
	EvidenceHint = "One mark a jar, by arm and cook. A cross is a lost jar, counted as 0 g. Bars are means with their 95 % interval; faint lines join the means of one place."
	LossHint     = "Lost and barren jars of those that are done, with the 95 % interval (Wilson)."
)

// EffectHint says what the rows of the cooks rest on.
func EffectHint(v app.TrialView) string {
	if v.ByCook != nil && v.ByCook.All != nil {
		return "Each cook alone, with its 95 % interval. The last row is a cook to come: it decides."
	}
	return "Each cook alone, with its 95 % interval. The verdict rests on all of them together."
}

func sentence(s string) string {
	if s = strings.TrimSpace(s); s == "" || strings.ContainsRune(".?!:…", rune(s[len(s)-1])) {
		return capital(s)
	}
	return capital(s) + "."
}

// verdictSentences are what the ladders and the comparisons come to, one each.
func verdictSentences(v app.TrialView) []string {
	var out []string
	for _, f := range Findings(v) {
		out = append(out, f.Sentence)
	}
	if len(out) == 0 && v.Verdict.Result.Sentence != "" {
		out = append(out, sentence(v.Verdict.Result.Sentence))
	}
	return out
}

func armGrid(v app.TrialView) grid {
	g := grid{caption: "Grams per jar", head: []string{"arm", "picked", "lost", "barren", "growing", "inoculated, g", "picked, g", "spread, %"}}
	for _, a := range v.Arms {
		row := []string{a.Name, "0", "0", "0", "0", "not known", "not known", "not known"}
		for _, s := range v.Verdict.Result.Arms {
			if lab.NameKey(s.Name) == lab.NameKey(a.Name) {
				row = []string{
					a.Name, fmt.Sprintf("%d of %d", s.Picked, s.Inoculated), strconv.Itoa(s.Lost), strconv.Itoa(s.Barren), strconv.Itoa(s.Growing),
					known(s.MeanInoculated, 2, ""), known(s.MeanPicked, 2, ""), known(s.CVPct, 0, ""),
				}
			}
		}
		g.rows = append(g.rows, row)
	}
	return g
}

func differenceGrid(v app.TrialView) grid {
	g := grid{caption: "Differences, " + v.Verdict.Result.Unit, head: []string{"arms", "difference", "95 % from", "to", "per cent", "p by lot", "ends"}}
	for _, c := range v.Verdict.Result.Comparisons {
		d, at := c.Difference, c.Decides()
		g.rows = append(g.rows, []string{
			strings.Join(c.Arms, " less "), known(at.Value, 2, ""), known(at.Low, 2, ""), known(at.High, 2, ""), known(d.Pct, 0, ""), Chance(d.PRandomisation),
			strings.ReplaceAll(string(c.Ending), "_", " "),
		})
	}
	return g
}

// gridOf is a picture's own table.
func gridOf(caption string, t picture.Table) grid {
	return grid{caption: caption, head: t.Head, rows: t.Rows}
}

func planFacts(v app.TrialView) facts {
	f := facts{{"Question", orNone(v.Question)}}
	if v.Blind {
		f = append(f, fact{"Arms", "by letters A to " + v.Arms[len(v.Arms)-1].Name + ", until the key is opened"})
	} else {
		differ := make([]string, len(v.Differ))
		for i, d := range v.Differ {
			differ[i] = string(d)
		}
		f = append(f, fact{"Arms differ in", orNone(strings.Join(differ, ", "))})
		for i, a := range v.Arms {
			text := a.Name
			if a.Treatment != "" && a.Treatment != a.Name {
				text += ": " + a.Treatment
			}
			if lab.NameKey(a.Name) == lab.NameKey(v.Control) {
				text += " (the usual)"
			}
			f = append(f, fact{"Arm " + picture.ArmLetter(i), text})
		}
	}
	for _, x := range v.Details.Factors {
		f = append(f, fact{"Factor", fmt.Sprintf("%s: %s, set on the %s", x.Name, strings.Join(x.Levels, ", "), orJar(x.On))})
	}
	f = append(f, fact{"Decides", fmt.Sprintf("%s; a difference of %g %s matters", lab.OutcomeWords(v.Primary), v.Matters, lab.MattersUnit(v.Primary))})
	if v.Details.Spread > 0 {
		f = append(f, fact{"Spread planned with", fmt.Sprintf("%g %%", v.Details.Spread)})
	}
	if v.Details.Loss > 0 {
		f = append(f, fact{"Loss planned with", fmt.Sprintf("%g %%", v.Details.Loss)})
	}
	if !v.Closing.IsZero() {
		f = append(f, fact{"Closes", v.Closing.Format("2 January 2006")})
	}
	return append(f, fact{"Planned", v.Planned.Format("2 January 2006")})
}

func orJar(u lab.Unit) lab.Unit {
	if u == "" {
		return lab.OnJar
	}
	return u
}

func orNone(s string) string {
	if s == "" {
		return "not said"
	}
	return s
}

func drawFacts(v app.TrialView) facts {
	var f facts
	for i, a := range v.Draws {
		what := "to the cooker"
		if a.Stage == lab.AtLight {
			what = "to the light"
		}
		text := fmt.Sprintf("%s by lot, %s version %d, seed %d, drawn %s. %s", what, a.Procedure, a.Version, a.Seed, a.Made.Format("2 January 2006"), a.Bound)
		if a.Succeeds != "" {
			text += " It succeeds an earlier draw, which is kept."
		}
		f = append(f, fact{"Draw " + strconv.Itoa(i+1), text})
	}
	if len(f) == 0 {
		f = facts{{"By lot", "no draw is known: the interval covers chance, not how the jars were placed"}}
	}
	return f
}

func cellGrid(v app.TrialView) grid {
	g := grid{caption: "Jars of each arm by cook and layer, as they stood", head: []string{"cook and layer"}}
	for i := range v.Arms {
		g.head = append(g.head, "arm "+picture.ArmLetter(i))
	}
	for _, c := range v.Cells {
		name := c.Cook
		if c.Layer > 0 {
			name += ", layer " + strconv.Itoa(c.Layer)
		}
		row := []string{name}
		for _, n := range c.Jars {
			row = append(row, strconv.Itoa(n))
		}
		g.rows = append(g.rows, row)
	}
	return g
}

func happenedFacts(v app.TrialView) facts {
	var f facts
	for _, b := range v.Batches {
		t := b.Tally
		f = append(f, fact{capital(b.Batch.Title()), fmt.Sprintf("%s and %s: %d inoculated, %d picked, %d barren, %d lost, %d growing", count(t.Jars, "jar"), count(t.Blanks, "blank"), t.Inoculated, t.Picked, t.Barren, t.Lost, t.Growing)})
	}
	r := v.Verdict.Result
	if len(r.BlockBy) > 0 {
		f = append(f, fact{"Compared within the same", strings.ReplaceAll(strings.Join(r.BlockBy, " and "), "_", " ")})
	}
	if why := OverCooks(v); why != "" {
		f = append(f, fact{"Over cooks", why})
	}
	if r.Counted != nil {
		f = append(f, fact{"Counted", r.Counted.Sentence})
	}
	if len(r.Aliased) > 0 {
		f = append(f, fact{"Moved with the arms", strings.ReplaceAll(strings.Join(r.Aliased, ", "), "_", " ")})
	}
	for _, a := range r.PartlyAliased {
		f = append(f, fact{"Partly with the arms", fmt.Sprintf("%s, efficiency %.2f", strings.ReplaceAll(a.Factor, "_", " "), a.Efficiency)})
	}
	if v.Opened != nil {
		f = append(f, fact{"Key opened", v.Opened.Opened.Format("2 January 2006")})
	}
	if len(f) == 0 {
		f = facts{{"Nothing yet", "no batch of this trial is known"}}
	}
	return f
}

func readingFacts(v app.TrialView, when time.Time) facts {
	f := facts{{"As of", when.Format("2 January 2006")}}
	if v.DataHash != "" {
		f = append(f, fact{"Data", "SHA-256 " + v.DataHash})
	}
	for _, a := range slices.Backward(v.Analyses) {
		f = append(f, fact{a.Made.Format("2 January 2006"), fmt.Sprintf("%s. %s %s, seed %d, data %s", capital(a.Says()), sentence(a.Sentence), a.Version, a.Seed, a.DataHash[:min(12, len(a.DataHash))])})
	}
	return f
}
