package app

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"slices"
	"strconv"
	"strings"
	"time"

	"pinset/internal/datapackage"
	"pinset/internal/figure"
	"pinset/internal/lab"
	"pinset/internal/store"
)

// Package is a trial as a Data Package: plain tables, the plan and the
// analysis, with what each can be held to.
type Package = datapackage.Package

// packing is a trial with all that its package is made from.
type packing struct {
	ev      evidence
	entries jarEntries
	plan    packedPlan
	cooks   []CookRow
	farm    string
}

// PackageTrial writes the trial called name as a package. While a trial is
// blind its arms go by letters in it, and nothing in it tells them: no draw, no
// seed, no shelf, no level. Notes and photos are not in it.
//
// It is an Invalid Problem if nothing can be judged yet.
func (f *Farm) PackageTrial(ctx context.Context, name string) (*Package, error) {
	var x packing
	err := f.store.Read(ctx, func(r store.Reader) error {
		t, err := r.TrialByName(ctx, name)
		if err != nil {
			return err
		}
		x, err = f.gatherPacking(ctx, r, t)
		return err
	})
	if err != nil {
		return nil, err
	}
	return x.pack(f.clock())
}

func (f *Farm) gatherPacking(ctx context.Context, r store.Reader, t lab.Trial) (packing, error) {
	ev, err := f.gatherEvidence(ctx, r, t)
	x := packing{ev: ev}
	if err != nil {
		return x, err
	}
	if x.entries, err = entriesOf(ctx, r, idsOf(ev.jars)); err != nil {
		return x, err
	}
	x.entries.seen = lab.Current(x.entries.seen)
	slices.SortStableFunc(x.entries.seen, func(a, b lab.Seen) int { return a.At.Time.Compare(b.At.Time) })
	x.ev.past = pastOf(x.entries) // in the order in which they are written
	s, err := readSettings(ctx, r)
	if err != nil {
		return x, err
	}
	x.farm = s.Name
	if x.cooks, err = f.cooksOf(ctx, r, ev.jars); err != nil {
		return x, err
	}
	draws, err := r.Allotments(ctx, t.ID)
	if err != nil {
		return x, err
	}
	if ev.mask.closed() {
		x.cover()
		draws = nil
	}
	x.plan, err = planOf(ctx, r, x.ev, draws)
	return x, err
}

// cover takes from the evidence of a blind trial what could tell its arms
// though they go by letters.
func (x *packing) cover() {
	x.ev.allotment = nil
	x.ev.trial.Details = lab.TrialDetails{Blind: true, Spread: x.ev.trial.Details.Spread, Loss: x.ev.trial.Details.Loss}
	jars := slices.Clone(x.ev.jars)
	for i := range jars {
		jars[i].Shelf, jars[i].Reason = "", plainReason(jars[i].Reason)
	}
	x.ev.jars = jars
	x.entries.seen = slices.Clone(x.entries.seen)
	for i, s := range x.entries.seen {
		x.entries.seen[i].Reason = plainReason(s.Reason)
	}
}

// untoldReason stands for a reason that somebody wrote in words of their own.
const untoldReason = "in own words"

// plainReason is a reason as a blind package tells it: one of the list, for
// other words may name the arm.
func plainReason(reason string) string {
	if reason == "" || slices.Contains(lab.Reasons, strings.ToLower(reason)) {
		return reason
	}
	return untoldReason
}

// planOf puts names in the place of what only means something at this farm.
func planOf(ctx context.Context, r store.Reader, ev evidence, draws []lab.Allotment) (packedPlan, error) {
	t := ev.trial
	p := packedPlan{
		Name: t.Name, Question: t.Question, Differ: t.Differ, Arms: []packedArm{}, Control: t.Control, Matters: t.Matters, Primary: t.Primary,
		Closing: t.Closing.String(), Planned: t.Planned, Blind: ev.mask.closed(), Details: t.Details, Draws: []packedDraw{},
	}
	p.Details.Repeats = ""
	for _, a := range t.Arms {
		arm := packedArm{Name: a.Name, Culture: ev.names.Cultures[a.Culture], Container: ev.names.Containers[a.Container], Treatment: a.Treatment, Levels: a.Levels}
		if a.Recipe != "" {
			recipe, err := r.Recipe(ctx, a.Recipe)
			if err != nil {
				return p, err
			}
			arm.Recipe = recipe.String()
		}
		p.Arms = append(p.Arms, arm)
	}
	for _, a := range draws {
		p.Draws = append(p.Draws, packedDraw{
			Procedure: a.Procedure, Version: a.Version, Seed: a.Seed, Bound: a.Bound, Stage: a.Stage, Made: a.Made, Succeeds: a.Succeeds != "", Design: a.Design,
		})
	}
	return p, nil
}

// pack writes all files and seals them.
func (x packing) pack(now time.Time) (*Package, error) {
	p := datapackage.New(x.plan.Name, x.plan.Name, x.describe(), datapackage.Program, datapackage.Format, now)
	if x.farm != "" {
		p.Contributors = []datapackage.Contributor{{Title: x.farm, Roles: []string{"creator"}}}
	}
	for _, t := range x.tables() {
		if err := p.AddTable(t); err != nil {
			return nil, err
		}
	}
	if err := p.AddJSON(planFile, "The plan", "what was asked, the arms, and every draw with its seed", x.plan); err != nil {
		return nil, err
	}
	answer, err := x.ev.answer(now)
	if err != nil {
		return nil, err
	}
	if err := p.AddJSON(answerFile, "The analysis", "what was judged, by which version and seed, and what came of it", answer); err != nil {
		return nil, err
	}
	return p, p.Seal()
}

func (x packing) describe() string {
	text := x.plan.Question
	if x.plan.Blind {
		text = strings.TrimSpace(text + " Its key was closed when this was written: the arms are letters.")
	}
	return text
}

// answer judges the evidence as it is written down.
func (ev evidence) answer(now time.Time) (packedAnswer, error) {
	a := packedAnswer{Version: analysisVersion, Made: now, Records: append([]figure.Caution{}, ev.cautions...)}
	v, err := ev.verdict()
	if err != nil {
		return a, err
	}
	if a.Data, a.DataHash, err = ev.data(); err != nil {
		return a, err
	}
	if a.Result, err = json.Marshal(v); err != nil {
		return a, fmt.Errorf("write down the verdict of %s: %w", ev.trial.Name, err)
	}
	if ev.allotment != nil {
		a.Seed = &ev.allotment.Seed
	}
	d, err := ev.days(nil)
	a.Days = packedDays{d.Stages, d.Cover}
	return a, err
}

func (x packing) tables() []datapackage.Table {
	return []datapackage.Table{
		{Name: jarsTable, Title: "Jars", Description: "one row for each jar of the trial, blanks too", Fields: jarFields, Key: []string{"jar"}, Rows: x.jarRows()},
		{Name: layoutTable, Title: "Layout", Description: "where each jar stood", Fields: layoutFields, Key: []string{"jar"}, Refers: ofJars, Rows: x.layoutRows()},
		{Name: seenTable, Title: "Seen", Description: "what was seen on a jar on a day, in the order of entry", Fields: seenFields, Refers: ofJars, Rows: x.seenRows()},
		{Name: picksTable, Title: "Picks", Description: "what was picked from a jar", Fields: pickFields, Refers: ofJars, Rows: x.pickRows()},
		{Name: cooksTable, Title: "Cooks", Description: "the runs of the cooker", Fields: cookFields, Key: []string{"cook"}, Rows: x.cookRows()},
	}
}

func (x packing) jarName(j lab.Jar) string {
	return fmt.Sprintf("%s·%d", x.ev.batches[j.Batch], j.Number)
}

// onDay is the farm's calendar day of w, blank if it is not known.
func (x packing) onDay(w lab.When) string {
	if d, ok := w.Day(x.ev.zone); ok {
		return d.Format(time.DateOnly)
	}
	return ""
}

func (x packing) jarRows() [][]string {
	var rows [][]string
	for _, j := range x.ev.jars {
		rows = append(rows, []string{
			x.jarName(j.Jar), x.ev.batches[j.Batch].String(), strconv.Itoa(j.Number), strconv.FormatBool(j.Blank), j.Arm,
			x.ev.names.Recipes[j.Recipe], x.ev.names.Cultures[j.Carries], x.ev.names.Containers[j.Container], j.MixMade, exact(float64(j.DryGrams)),
			strconv.FormatBool(!j.Inoculated.IsZero()), x.onDay(j.Inoculated), x.ev.past[j.Jar.ID].by, string(j.Fate), x.onDay(j.FateAt), j.Reason,
		})
	}
	return rows
}

func (x packing) layoutRows() [][]string {
	var rows [][]string
	for _, j := range x.ev.jars {
		cook := ""
		if j.Cook != "" {
			cook = x.ev.cooks[j.Cook].String()
		}
		rows = append(rows, []string{x.jarName(j.Jar), cook, strconv.Itoa(j.Layer), j.Shelf})
	}
	return rows
}

func (x packing) seenRows() [][]string {
	jars := x.byID()
	var rows [][]string
	for _, s := range lab.Current(x.entries.seen) {
		if s.Stage == "" && s.Sign == "" && s.Fate == "" {
			s.Sign = lab.AsBefore // a note alone: the jar was looked at
		}
		rows = append(rows, []string{
			x.jarName(jars[s.Jar]), x.onDay(s.At), string(s.Stage), strconv.Itoa(s.Covered), string(s.Sign), strconv.Itoa(s.Count), string(s.Fate), s.Reason,
		})
	}
	return rows
}

func (x packing) pickRows() [][]string {
	jars := x.byID()
	var rows [][]string
	for _, p := range lab.Current(x.entries.picks) {
		rows = append(rows, []string{x.jarName(jars[p.Jar]), x.onDay(p.At), strconv.Itoa(p.Flush), exact(float64(p.Grams))})
	}
	return rows
}

func (x packing) cookRows() [][]string {
	var rows [][]string
	for _, c := range x.cooks {
		rows = append(rows, []string{c.String(), x.onDay(c.Day), exact(float64(c.Hold)), exact(c.Longest), string(c.State)})
	}
	return rows
}

func (x packing) byID() map[lab.JarID]lab.Jar {
	out := make(map[lab.JarID]lab.Jar, len(x.ev.jars))
	for _, j := range x.ev.jars {
		out[j.Jar.ID] = j.Jar
	}
	return out
}

// exact prints all digits of a number, so that it is read back as it was.
func exact(v float64) string { return strconv.FormatFloat(v, 'f', -1, 64) }

// compacted is JSON without spaces, as its hash is taken.
func compacted(raw json.RawMessage) []byte {
	var b bytes.Buffer
	if err := json.Compact(&b, raw); err != nil {
		return raw
	}
	return b.Bytes()
}
