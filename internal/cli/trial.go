package cli

import (
	"fmt"
	"io"
	"slices"
	"strconv"
	"strings"

	"pinset/internal/app"
	"pinset/internal/figure"
	"pinset/internal/lab"
	"pinset/internal/report"
)

type trialCmds struct {
	Plan      trialPlanCmd      `cmd:"" help:"Draft a comparison; --keep makes its batch, cooks and jars."`
	List      trialListCmd      `cmd:"" help:"List the trials."`
	Show      trialShowCmd      `cmd:"" help:"Show one trial: its arms, its allotment, its verdict."`
	Days      trialDaysCmd      `cmd:"" help:"Say when its jars came to each stage, and were covered."`
	Package   trialPackageCmd   `cmd:"" help:"Write a trial as a Data Package that anybody can judge again."`
	Verify    trialVerifyCmd    `cmd:"" help:"Check a package, and judge it again from its files alone."`
	Take      trialTakeCmd      `cmd:"" help:"Take a friend's package in, to be added up with yours."`
	Printed   trialPrintedCmd   `cmd:"" help:"Type a comparison in that was printed somewhere."`
	Elsewhere trialElsewhereCmd `cmd:"" help:"List the trials that were taken in from elsewhere."`
	Call      trialCallCmd      `cmd:"" help:"Say what a thing in a trial from elsewhere is called here."`
	Aside     trialAsideCmd     `cmd:"" help:"Set a trial from elsewhere aside."`
	Pool      trialPoolCmd      `cmd:"" help:"Say what past trials of the same comparison add up to."`
	Verdict   trialVerdictCmd   `cmd:"" help:"Judge a trial by its jars as they stand."`
	Judge     trialJudgeCmd     `cmd:"" help:"Judge a trial and keep the reading: data, seed, answer."`
	Report    trialReportCmd    `cmd:"" help:"Write the report of a trial as PDF or HTML."`
	Open      trialOpenCmd      `cmd:"" help:"Open the key of a blind trial."`
	Light     trialLightCmd     `cmd:"" help:"Deal the growing jars out to places in the light, by lot."`
	Redraw    trialRedrawCmd    `cmd:"" help:"Draw the places in the cooker anew, before a cook has run."`
	Again     trialAgainCmd     `cmd:"" help:"Print the plan of a repeat, with what was learnt."`
}

// planFlags are what a plan is made of, as flags or as a file.
type planFlags struct {
	In        string   `help:"JSON file with the whole plan, - for standard input." placeholder:"FILE"`
	Name      string   `arg:"" optional:"" help:"Name of it."`
	Recipe    string   `help:"Recipe of all jars." placeholder:"NAME"`
	Culture   string   `help:"Culture of all jars." placeholder:"NAME"`
	Container string   `help:"Container of all jars." placeholder:"NAME"`
	Jars      int      `help:"Jars: of each arm, or of a plain batch in all." placeholder:"N"`
	Blanks    int      `help:"Blanks in each cook." default:"1"`
	Cook      []string `help:"One for each cook: jars that each layer takes, bottom first, such as 7,7." sep:"none" placeholder:"7,7"`
	Hold      string   `help:"Your own rule for the hold." placeholder:"60min"`
	Gauge     string   `help:"Target on the gauge." placeholder:"15psi"`
	Shelf     []string `help:"Shelf and its places, such as top=12." placeholder:"NAME=PLACES"`
	Made      string   `help:"Make day; today if left out." placeholder:"DAY"`
	Closing   string   `help:"Closing day: after it a jar without fruit is barren." placeholder:"DAY"`
	Seed      string   `help:"Seed of the draw; one is drawn if left out." placeholder:"N"`
	Keep      bool     `help:"Make it; without this nothing is stored."`
}

type trialPlanCmd struct {
	signed
	planFlags
	Question string   `help:"What is asked." placeholder:"TEXT"`
	Differ   []string `help:"What the arms differ in: recipe, culture, container, treatment." name:"arms-differ-in" placeholder:"FACTOR"`
	Arm      []string `help:"One for each arm: NAME: key=value, … with recipe, culture, container, treatment, cook, layer." sep:"none" placeholder:"'A: recipe=oats'"`
	Factor   []string `help:"One for each of 1 to 3 factors that the arms cross: 'NAME [of RECORD] [on UNIT]: LEVEL, LEVEL', the record recipe, culture, container or treatment, the unit jar, cook, shelf or making. Arms may then be left out." sep:"none" placeholder:"'hold on cook: 60 min, 90 min'"`
	Over     []string `help:"What every arm is spread over besides cooks, layers and shelves: culture lot, person, day or room." sep:"none" placeholder:"'person: AB, CD'"`
	Control  string   `help:"The arm that is the usual." placeholder:"NAME"`
	Matters  float64  `help:"Smallest difference that matters, per cent." default:"20"`
	Primary  string   `help:"What decides: grams per jar inoculated or picked, the share that fruited or stayed clean, pins, or colour." default:"inoculated" enum:"inoculated,picked,fruited,clean,pins,colour"`
	Spread   float64  `help:"Spread between jars, per cent; 25 if left out." placeholder:"PERCENT"`
	Loss     float64  `help:"Share of jars that is usually lost, per cent; from your own jars if left out." placeholder:"PERCENT"`
	Blind    bool     `help:"At the shelf the arms go by letters until the key is opened."`
	PerCook  bool     `help:"Make every mix anew for each cook." name:"make-per-cook"`
}

func (c *trialPlanCmd) Run(r *run) error {
	in, err := c.input(r)
	if err != nil {
		return err
	}
	if c.In == "" {
		in.Question, in.Differ, in.Control, in.Matters, in.Primary = c.Question, c.Differ, c.Control, c.Matters, c.Primary
		in.Spread, in.MakePerCook, in.Loss, in.Blind = c.Spread, c.PerCook, c.Loss, c.Blind
		for i, text := range c.Arm {
			arm, err := readArm(i, text)
			if err != nil {
				return err
			}
			in.Arms = append(in.Arms, arm)
		}
		if err := c.designed(&in); err != nil {
			return err
		}
	}
	if len(in.Arms)+len(in.Factors) == 0 {
		return lab.Invalidf("arms", "name at least two with --arm, cross levels with --factor, or use pinset batch plan", "a trial without arms compares nothing")
	}
	return r.plan(c.signed, in, c.Keep)
}

// input reads the plan from its file, or from the flags.
func (p planFlags) input(r *run) (app.PlanInput, error) {
	if p.In != "" {
		raw, err := r.readInput(p.In, "the plan as JSON")
		if err != nil {
			return app.PlanInput{}, err
		}
		return app.ReadPlan(raw)
	}
	in := app.PlanInput{
		Name: p.Name, Recipe: p.Recipe, Culture: p.Culture, Container: p.Container, Jars: p.Jars, BlanksPerCook: p.Blanks,
		Made: p.Made, Closing: p.Closing, Seed: p.Seed,
	}
	for _, text := range p.Cook {
		cook := app.PlanCook{Hold: p.Hold, Gauge: p.Gauge}
		for n := range strings.SplitSeq(text, ",") {
			places, err := strconv.Atoi(strings.TrimSpace(n))
			if err != nil {
				return in, lab.Invalidf("cook", "write the jars that each layer takes, bottom first, such as 7,7", "%q is not a number of jars", n)
			}
			cook.Places = append(cook.Places, places)
		}
		in.Cooks = append(in.Cooks, cook)
	}
	var err error
	in.Shelves, err = readShelves(p.Shelf)
	return in, err
}

// readArm reads "A: recipe=oats, layer=1".
func readArm(i int, text string) (app.PlanArm, error) {
	name, rest, _ := strings.Cut(text, ":")
	arm := app.PlanArm{Name: strings.TrimSpace(name)}
	for part := range strings.SplitSeq(rest, ",") {
		key, value, ok := strings.Cut(part, "=")
		key, value = strings.TrimSpace(key), strings.TrimSpace(value)
		number, numberErr := strconv.Atoi(value)
		switch {
		case strings.TrimSpace(part) == "":
		case !ok:
			return arm, lab.Invalidf("arm", "write it like 'A: recipe=oats, layer=1'", "arm %d: %q is not key=value", i+1, part)
		case key == "recipe":
			arm.Recipe = value
		case key == "culture":
			arm.Culture = value
		case key == "container":
			arm.Container = value
		case key == "treatment":
			arm.Treatment = value
		case (key == "cook" || key == "layer") && numberErr != nil:
			return arm, lab.Invalidf("arm", "count cooks and layers from 1", "arm %d: %s can not be %q", i+1, key, value)
		case key == "cook":
			arm.Cook = number
		case key == "layer":
			arm.Layer = number
		default:
			return arm, lab.Invalidf("arm", "the keys are recipe, culture, container, treatment, cook, layer", "arm %d: the key %q is not known", i+1, key)
		}
	}
	return arm, nil
}

// planView is a plan for printing.
type planView struct {
	Kept       bool             `json:"kept"`
	Batch      string           `json:"batch,omitempty"`
	Trial      string           `json:"trial,omitempty"`
	Cooks      []int            `json:"cooks,omitempty"`
	Deed       lab.DeedID       `json:"deed,omitempty"`
	Seed       uint64           `json:"seed"`
	Bound      string           `json:"bound"`
	Power      string           `json:"power"`
	Unit       lab.Unit         `json:"unit,omitempty"`
	Each       int              `json:"each,omitempty"`
	Units      []app.PlanUnit   `json:"units"`
	Ways       []app.PlanWay    `json:"ways"`
	Curve      []app.PlanChance `json:"curve"`
	Spread     float64          `json:"cv_pct"`
	Loss       float64          `json:"loss_pct"`
	Sentences  []string         `json:"sentences"`
	Efficiency *float64         `json:"efficiency"`
	Aliased    []string         `json:"aliased"`
	Partly     []string         `json:"partly_aliased"`
	Repair     *app.PlanInput   `json:"repair"`
	RepairText string           `json:"repair_text,omitempty"`
	Jars       []app.PlanSlot   `json:"jars"`
	Cautions   []figure.Caution `json:"cautions"`
}

// plan drafts in, and makes it if keep is set.
func (r *run) plan(s signed, in app.PlanInput, keep bool) error {
	onFarm := r.onFarm
	if keep {
		onFarm = r.beginFarm
	}
	return onFarm(s.records, func(f *app.Farm) error {
		draft, err := f.DraftPlan(r.ctx, in)
		if err != nil {
			return err
		}
		v := planView{
			Seed: draft.Seed, Bound: draft.Bound, Power: draft.Power, Sentences: draft.Sentences, Efficiency: draft.Efficiency,
			Aliased: draft.Aliased, Partly: draft.PartlyAliased, Repair: draft.Repair, RepairText: draft.RepairText,
			Jars: draft.Slots, Cautions: draft.Cautions, Curve: draft.Curve, Spread: draft.Spread, Loss: draft.Loss,
			Unit: draft.Unit, Each: draft.Each, Units: draft.Units, Ways: draft.Ways,
		}
		if keep {
			in.Seed = strconv.FormatUint(draft.Seed, 10)
			kept, err := f.KeepPlan(r.ctx, s.act(), in)
			if err != nil {
				return err
			}
			v.Kept, v.Batch, v.Deed = true, kept.Batch.String(), kept.Deed
			if kept.Trial != nil {
				v.Trial = kept.Trial.Name
			}
			for _, c := range kept.Cooks {
				v.Cooks = append(v.Cooks, c.Number)
			}
		}
		v.fillLists()
		return r.print(v, v.write)
	})
}

// fillLists makes empty lists of those that are nil, for JSON.
func (v *planView) fillLists() {
	for _, list := range []*[]string{&v.Sentences, &v.Aliased, &v.Partly} {
		if *list == nil {
			*list = []string{}
		}
	}
	if v.Curve == nil {
		v.Curve = []app.PlanChance{}
	}
	if v.Units == nil {
		v.Units = []app.PlanUnit{}
	}
	if v.Ways == nil {
		v.Ways = []app.PlanWay{}
	}
	if v.Cautions == nil {
		v.Cautions = []figure.Caution{}
	}
}

func (v planView) write(w io.Writer) {
	said := append([]string{v.Power}, v.Sentences...)
	for _, s := range said {
		if s != "" {
			wrap(w, "", s)
			fmt.Fprintln(w)
		}
	}
	if v.RepairText != "" {
		wrap(w, "Mend: ", v.RepairText+" Leave out cook= and layer= of the arms.")
		fmt.Fprintln(w)
	}
	if v.Efficiency != nil {
		fmt.Fprintf(w, "Efficiency of the layout: %.2f\n\n", *v.Efficiency)
	}
	v.writeJars(w)
	if v.Bound != "" {
		fmt.Fprintln(w)
		wrap(w, "", fmt.Sprintf("Seed %d. %s", v.Seed, v.Bound))
	}
	printCautions(w, slices.DeleteFunc(slices.Clone(v.Cautions), func(c figure.Caution) bool { return slices.Contains(said, c.Text) }))
	if v.Kept {
		fmt.Fprintf(w, "\nMade: %s. Next: pinset batch sheet %s\n", v.Batch, v.Batch)
	} else {
		fmt.Fprintf(w, "\nNothing is stored. With --keep --seed %d it is made like this.\n", v.Seed)
	}
}

// writeJars prints what each jar is given.
func (v planView) writeJars(w io.Writer) {
	over := slices.ContainsFunc(v.Jars, func(j app.PlanSlot) bool { return len(j.Over) > 0 })
	head := []string{"jar", "arm", "cook", "layer", "shelf", "mix"}
	if over {
		head = append(head, "with")
	}
	t := newTable(head...)
	for _, j := range v.Jars {
		arm := j.Arm
		if j.Blank {
			arm = "blank"
		}
		row := []any{j.Number, arm, j.Cook, j.Layer, j.Shelf, j.MixMade}
		if over {
			row = append(row, strings.Join(j.Over, ", "))
		}
		t.row(row...)
	}
	t.write(w)
}

type trialListCmd struct{ records }

// trialView is a trial for printing.
type trialView struct {
	Name     string       `json:"name"`
	Question string       `json:"question"`
	Differ   []lab.Factor `json:"arms_differ_in"`
	Arms     []string     `json:"arms"`
	Batches  []string     `json:"batches"`
	Growing  int          `json:"growing"`
	Closed   bool         `json:"closed"`
	Closing  string       `json:"closing"`
}

func viewTrial(t app.TrialRow) trialView {
	v := trialView{Name: t.Name, Question: t.Question, Differ: t.Differ, Growing: t.Growing, Closed: t.Closed, Closing: t.Trial.Closing.String(), Batches: []string{}}
	for _, a := range t.Arms {
		v.Arms = append(v.Arms, a.Name)
	}
	for _, b := range t.Batches {
		v.Batches = append(v.Batches, b.Batch.String())
	}
	return v
}

func (c *trialListCmd) Run(r *run) error {
	return r.onFarm(c.records, func(f *app.Farm) error {
		rows, err := f.Trials(r.ctx)
		if err != nil {
			return err
		}
		views := []trialView{}
		for _, t := range rows {
			views = append(views, viewTrial(t))
		}
		return r.print(views, func(w io.Writer) {
			t := newTable("trial", "arms", "batches", "growing", "closes")
			for _, v := range views {
				t.row(v.Name, strings.Join(v.Arms, ", "), strings.Join(v.Batches, ", "), v.Growing, v.Closing)
			}
			t.write(w)
		})
	})
}

type trialShowCmd struct {
	records
	Name string `arg:"" help:"Name of the trial."`
}

func (c *trialShowCmd) Run(r *run) error {
	return r.onFarm(c.records, func(f *app.Farm) error {
		v, err := f.TrialView(r.ctx, c.Name)
		if err != nil {
			return err
		}
		type shown struct {
			trialView
			Seed      *uint64         `json:"seed"`
			Bound     string          `json:"bound"`
			Procedure string          `json:"procedure"`
			Cells     []app.TrialCell `json:"cells"`
			Sentence  string          `json:"sentence"`
			Ending    string          `json:"ending"`
		}
		out := shown{trialView: viewTrial(v.TrialRow), Cells: v.Cells, Sentence: v.Verdict.Result.Sentence, Ending: string(v.Verdict.Result.Ending)}
		if a := v.Allotment; a != nil {
			out.Seed, out.Bound, out.Procedure = &a.Seed, a.Bound, fmt.Sprintf("%s, version %d", a.Procedure, a.Version)
		}
		return r.print(out, func(w io.Writer) {
			for _, s := range []string{strings.TrimSuffix(out.Name+"\n"+out.Question, "\n"), out.Sentence} {
				for p := range strings.SplitSeq(s, "\n") {
					wrap(w, "", p)
				}
				fmt.Fprintln(w)
			}
			t := newTable(append([]string{"cook", "layer"}, out.Arms...)...)
			for _, cell := range out.Cells {
				row := []any{cell.Cook, cell.Layer}
				for _, n := range cell.Jars {
					row = append(row, n)
				}
				t.row(row...)
			}
			t.write(w)
			if out.Seed != nil {
				fmt.Fprintln(w)
				wrap(w, "", fmt.Sprintf("Allotted by seed %d (%s). %s", *out.Seed, out.Procedure, out.Bound))
			} else {
				fmt.Fprintln(w)
				wrap(w, "", "No draw is known: the interval covers chance, not how the jars were placed.")
			}
		})
	})
}

type trialVerdictCmd struct {
	records
	Name    string `arg:"" help:"Name of the trial."`
	Working bool   `help:"Print the working too."`
}

func (c *trialVerdictCmd) Run(r *run) error {
	return r.onFarm(c.records, func(f *app.Farm) error {
		v, err := f.Verdict(r.ctx, c.Name)
		if err != nil {
			return err
		}
		return r.print(v, func(w io.Writer) {
			wrap(w, "", v.Result.Sentence)
			fmt.Fprintln(w)
			writeArms(w, v)
			printCautions(w, v.Cautions)
			if c.Working {
				printWorking(w, v.Working)
			}
		})
	})
}

// writeArms prints the arms of a verdict, then its other comparisons.
func writeArms(w io.Writer, v app.Verdict) {
	t := newTable("arm", "inoculated", "lost", "barren", "picked", "growing", "g per jar", "g if picked", "spread %")
	for _, a := range v.Result.Arms {
		t.row(a.Name, a.Inoculated, a.Lost, a.Barren, a.Picked, a.Growing, decimals(a.MeanInoculated, 2), decimals(a.MeanPicked, 2), decimals(a.CVPct, 0))
	}
	t.write(w)
	writeFindings(w, v)
}

// writeFindings prints what a verdict says after its first sentence.
func writeFindings(w io.Writer, v app.Verdict) {
	of := app.TrialView{Verdict: v}
	rest := append(report.Findings(of), report.Dependences(of)...)
	if len(rest) > 1 {
		fmt.Fprintln(w)
		for _, f := range rest[1:] {
			wrap(w, "", f.Sentence)
		}
	}
	if parts, ok := report.Parts(of); ok {
		fmt.Fprintln(w)
		for _, row := range parts.Rows {
			wrap(w, "", fmt.Sprintf("%s: fruited %s, %s points apart, p %s; g if fruited %s apart, from %s.", row[0], row[1], row[2], row[3], row[4], row[5]))
		}
	}
	for _, s := range report.Beside(of) {
		wrap(w, "", s)
	}
}

func decimals(x *float64, n int) string {
	if x == nil {
		return unknown
	}
	return strconv.FormatFloat(*x, 'f', n, 64)
}
