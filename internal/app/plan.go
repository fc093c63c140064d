package app

import (
	"context"
	"encoding/json"
	"fmt"
	"strconv"
	"strings"

	"pinset/internal/calc/trialstat"
	"pinset/internal/figure"
	"pinset/internal/lab"
	"pinset/internal/reckoner"
	"pinset/internal/store"
	"pinset/internal/units"
)

// PlanInput is a plan as typed: a trial if it has arms, else a plain batch.
type PlanInput struct {
	Name     string    `json:"name"` // of the trial, or the batch's own
	Question string    `json:"question,omitempty"`
	Differ   []string  `json:"arms_differ_in,omitempty"` // recipe, culture, container, treatment
	Arms     []PlanArm `json:"arms,omitempty"`

	packed bool // places were estimated by the packing of circles

	Factors []PlanFactor `json:"factors,omitempty"` // that the arms cross, 1 to 3; arms may then be left out
	Over    []PlanOver   `json:"over,omitempty"`    // what every arm is spread over besides cooks, layers and shelves

	// What all jars share, by name. An arm may name its own.
	Recipe    string `json:"recipe,omitempty"`
	Culture   string `json:"culture,omitempty"`
	Container string `json:"container,omitempty"`

	Jars          int         `json:"jars"` // per arm; of a plain batch, in all
	BlanksPerCook int         `json:"blanks_per_cook"`
	Cooks         []PlanCook  `json:"cooks"`
	Shelves       []PlanShelf `json:"shelves,omitempty"`
	MakePerCook   bool        `json:"make_per_cook,omitempty"` // every mix is made anew for each cook

	Made    string  `json:"made,omitempty"`    // make day
	Closing string  `json:"closing,omitempty"` // closing day
	Control string  `json:"control,omitempty"`
	Matters float64 `json:"matters_pct,omitempty"`
	Primary string  `json:"primary,omitempty"`
	Spread  float64 `json:"cv_pct,omitempty"`   // between jars; 0 is the common planning default
	Loss    float64 `json:"loss_pct,omitempty"` // share of jars that is usually lost
	Seed    string  `json:"seed,omitempty"`     // "" draws one
	Blind   bool    `json:"blind,omitempty"`    // arms go by letters at the shelf until the key is opened
	Repeats string  `json:"repeats,omitempty"`  // name of the trial that this one repeats
}

// PlanArm is one arm as typed. Cook and Layer hold the grower's own placing,
// counted from 1; 0 leaves it to the lot.
type PlanArm struct {
	Name      string `json:"name"`
	Recipe    string `json:"recipe,omitempty"`
	Culture   string `json:"culture,omitempty"`
	Container string `json:"container,omitempty"`
	Treatment string `json:"treatment,omitempty"`
	Cook      int    `json:"cook,omitempty"`
	Layer     int    `json:"layer,omitempty"`

	Levels []string `json:"levels,omitempty"` // of PlanInput.Factors; in order of the crossing if left out
}

// PlanCook is one run of the cooker as typed.
type PlanCook struct {
	Name   string `json:"name,omitempty"`
	Cooker string `json:"cooker,omitempty"`
	Places []int  `json:"places"` // jars that each layer takes, the bottom first
	Hold   string `json:"hold,omitempty"`
	Gauge  string `json:"gauge,omitempty"`
}

// PlanShelf is one shelf and how many jars it takes.
type PlanShelf struct {
	Name   string `json:"name"`
	Places int    `json:"places"`
}

// Plan is what a plan comes to: who gets what, and what the comparison can
// and can not show.
type Plan struct {
	Trial         *lab.Trial // nil for a plain batch
	Slots         []PlanSlot
	Seed          uint64
	Bound         string
	Power         string   // what this plan can and can not show, one sentence
	Sentences     []string // what else must be known before a jar is filled
	Efficiency    *float64 // nil for a plain batch
	Aliased       []string // recorded factors that can not be told from the arms
	PartlyAliased []string
	Repair        *PlanInput // the plan with the arms spread by lot, nil if that mends nothing
	RepairText    string
	Cautions      []figure.Caution
	Working       []figure.Step // of Power
	Curve         []PlanChance  // of noticing what matters, by jars an arm; of Unit, if that is not the jar
	Unit          lab.Unit      // that Power counts: the jar, or what a factor is set on as a whole
	Each          int           // of Unit, to each level; jars an arm for the jar
	Units         []PlanUnit    // of every factor that is set on more than a jar
	Ways          []PlanWay     // to spread the same jars over more cooks; none if there are not two
	Spread        float64       // per cent, that Power reckons with
	Loss          float64

	input  PlanInput
	arms   []resolvedArm
	own    *stock
	design trialstat.Design
	layout trialstat.Layout
	blanks int // in Slots so far
	usual  usual
}

// PlanChance is the chance of a trial with so many jars an arm.
type PlanChance struct {
	Jars   int     `json:"jars"`
	Chance float64 `json:"chance"`
}

// PlanWay is one way to spread the jars of an arm over cooks.
type PlanWay = trialstat.Run

// PlanSlot is what one jar is given.
type PlanSlot struct {
	Number  int    `json:"number"`
	Arm     string `json:"arm"` // "" in a plain batch and for a blank
	Blank   bool   `json:"blank"`
	Cook    int    `json:"cook"`  // in the order of PlanInput.Cooks, from 1
	Layer   int    `json:"layer"` // 1 is the bottom
	Shelf   string `json:"shelf"`
	MixMade string `json:"mix_made"`

	Over []string `json:"over,omitempty"` // what it has of each of PlanInput.Over

	arm int // index into arms
}

// resolvedArm is an arm with the records that its names stand for.
type resolvedArm struct {
	lab.Arm
	recipe    lab.Recipe
	culture   lab.Culture
	container lab.Container
	cook      int
	layer     int
	dry       units.Gram // substrate of one jar, 0 if not known
}

// ReadPlan reads a plan from JSON. An unknown key is a fault that names the
// nearest known one.
func ReadPlan(raw []byte) (PlanInput, error) {
	var in PlanInput
	err := reckoner.Decode(raw, &in)
	return in, err
}

// DraftPlan works a plan out and stores nothing.
func (f *Farm) DraftPlan(ctx context.Context, in PlanInput) (Plan, error) {
	var p Plan
	err := f.store.Read(ctx, func(r store.Reader) (err error) {
		p, err = f.readPlan(ctx, r, in)
		return err
	})
	if err == nil {
		err = p.workOut()
	}
	if err != nil {
		return Plan{}, err
	}
	return p, nil
}

// readPlan reads all that a plan is worked out from.
func (f *Farm) readPlan(ctx context.Context, r store.Reader, in PlanInput) (Plan, error) {
	p, err := f.resolvePlan(ctx, r, in)
	if err != nil {
		return p, err
	}
	p.own, err = f.readStock(ctx, r)
	return p, err
}

// workOut weighs the arms of a plan, allots its jars and judges it.
func (p *Plan) workOut() error {
	for i := range p.arms {
		a := &p.arms[i]
		var err error
		if a.dry, err = dryPerJar(a.recipe, p.own); err != nil {
			return err
		}
	}
	if err := p.allot(); err != nil {
		return err
	}
	return p.judge()
}

// resolvePlan finds what the names stand for and checks the plan.
func (f *Farm) resolvePlan(ctx context.Context, r store.Reader, in PlanInput) (Plan, error) {
	in, factors, err := crossed(in)
	if err != nil {
		return Plan{}, err
	}
	if in, err = counted(ctx, r, in); err != nil {
		return Plan{}, err
	}
	p := Plan{input: in}
	if err := checkPlan(in); err != nil {
		return p, err
	}
	over, err := spreadOver(in)
	if err != nil {
		return p, err
	}
	seed, err := f.planSeed(in.Seed)
	if err != nil {
		return p, err
	}
	p.Seed = seed
	arms := in.Arms
	if len(arms) == 0 {
		arms = []PlanArm{{}}
	}
	for i, a := range arms {
		ra, err := resolveArm(ctx, r, in, a, i)
		if err != nil {
			return p, err
		}
		p.arms = append(p.arms, ra)
	}
	if err := checkRoom(ctx, r, in, p.arms); err != nil {
		return p, err
	}
	if len(in.Arms) == 0 {
		return p, nil
	}
	details := lab.TrialDetails{Blind: in.Blind, Spread: in.Spread, Loss: in.Loss, Factors: factors, Over: over}
	if p.Trial, err = f.planTrial(in, p.arms, details); err != nil {
		return p, err
	}
	if p.usual, err = f.usualOf(ctx, r); err != nil {
		return p, err
	}
	if in.Repeats != "" {
		before, err := r.TrialByName(ctx, in.Repeats)
		if err != nil {
			return p, nameless("repeats", err)
		}
		p.Trial.Details.Repeats = before.ID
	}
	return p, nil
}

func (f *Farm) planSeed(typed string) (uint64, error) {
	if typed = strings.TrimSpace(typed); typed == "" {
		n, err := f.draw64()
		return n % 1_000_000, err // short enough to be written on paper
	}
	n, err := strconv.ParseUint(typed, 10, 64)
	if err != nil {
		return 0, lab.Invalidf("seed", "write a whole number, or leave it out to draw one", "%q is not a seed", typed)
	}
	return n, nil
}

// nameless puts at a field that nothing bears the name in it.
func nameless(field string, err error) error {
	if p, ok := lab.AsProblem(err); ok && p.Kind == lab.NotFound {
		q := *p
		q.Field = field
		return &q
	}
	return atField(field, err)
}

// resolveArm finds the records of one arm.
func resolveArm(ctx context.Context, r store.Reader, in PlanInput, a PlanArm, i int) (resolvedArm, error) {
	ra := resolvedArm{cook: a.Cook, layer: a.Layer}
	field := fmt.Sprintf("arm%d_", i+1)
	var err error
	if name := firstOf(strings.TrimSpace(a.Recipe), strings.TrimSpace(in.Recipe)); name != "" {
		if ra.recipe, err = r.RecipeByName(ctx, name); err != nil {
			return ra, nameless(field+"recipe", err)
		}
	}
	if name := firstOf(strings.TrimSpace(a.Culture), strings.TrimSpace(in.Culture)); name != "" {
		if ra.culture, err = r.CultureByName(ctx, name); err != nil {
			return ra, nameless(field+"culture", err)
		}
	}
	if name := firstOf(strings.TrimSpace(a.Container), strings.TrimSpace(in.Container)); name != "" {
		if ra.container, err = r.ContainerByName(ctx, name); err != nil {
			return ra, nameless(field+"container", err)
		}
	}
	if ra.cook < 0 || ra.cook > len(in.Cooks) {
		return ra, lab.Invalidf(field+"cook", "choose one of the cooks, or leave it to the lot", "arm %d is to stand in cook %d, there are %d", i+1, ra.cook, len(in.Cooks))
	}
	if ra.layer < 0 {
		return ra, lab.Invalidf(field+"layer", "count layers from 1 at the bottom", "layer %d does not exist", ra.layer)
	}
	treatment, err := lab.Text(field+"treatment", a.Treatment)
	ra.Arm = lab.Arm{
		Name: a.Name, Recipe: ra.recipe.ID, Culture: ra.culture.ID, Container: ra.container.ID, Treatment: treatment, Levels: a.Levels,
	}
	return ra, err
}

// planTrial returns the trial of the plan, checked.
func (f *Farm) planTrial(in PlanInput, arms []resolvedArm, details lab.TrialDetails) (*lab.Trial, error) {
	differ, err := lab.ParseFactors(in.Differ)
	if err != nil {
		return nil, err
	}
	closing, err := lab.ParseDay("closing", in.Closing)
	if err != nil {
		return nil, err
	}
	t := lab.Trial{
		ID: newID[lab.TrialID](), Name: in.Name, Question: in.Question, Differ: differ, Control: strings.TrimSpace(in.Control),
		Matters: in.Matters, Primary: in.Primary, Closing: closing, Planned: f.clock(), Details: details,
	}
	for _, a := range arms {
		t.Arms = append(t.Arms, a.Arm)
	}
	if t, err = t.Check(); err != nil {
		return nil, err
	}
	for i := range arms {
		arms[i].Arm = t.Arms[i]
	}
	really := t.Differing()
	if len(really) == 0 {
		return nil, lab.Invalidf("arms", "say in what they differ: another recipe, culture, container or treatment", "the arms are all the same")
	}
	return &t, nil
}

// Kept is what a plan became.
type Kept struct {
	Trial  *lab.Trial
	Batch  lab.Batch
	Cooks  []lab.Cook
	Deed   lab.DeedID
	Repeat bool
}

// KeepPlan makes the plan's trial, allotment, batch, cooks and jars, all or
// nothing. The seed of a draft makes the layout of the draft.
func (f *Farm) KeepPlan(ctx context.Context, a Act, in PlanInput) (Kept, error) {
	p, err := f.DraftPlan(ctx, in)
	if err != nil {
		return Kept{}, err
	}
	var k Kept
	err = f.store.Write(ctx, func(w store.Writer) error {
		var err error
		if k, err = keptByAct(ctx, w, a); err != nil || k.Repeat {
			return err
		}
		k, err = f.keepPlan(ctx, w, a, p)
		return err
	})
	return k, err
}

// keptByAct returns what the same act of entry made before; no Repeat if it
// made nothing.
func keptByAct(ctx context.Context, r store.Reader, a Act) (Kept, error) {
	if a.ID == "" {
		return Kept{}, nil
	}
	d, err := r.Deed(ctx, a.ID)
	if lab.IsKind(err, lab.NotFound) {
		return Kept{}, nil
	}
	if err != nil {
		return Kept{}, err
	}
	return keptBefore(ctx, r, d)
}

// keptBefore returns what an earlier call with the same act made.
func keptBefore(ctx context.Context, r store.Reader, d lab.Deed) (Kept, error) {
	k := Kept{Deed: d.ID, Repeat: true}
	var err error
	if k.Batch, err = r.Batch(ctx, d.Batch); err != nil || k.Batch.Trial == "" {
		return k, err
	}
	t, err := r.Trial(ctx, k.Batch.Trial)
	k.Trial = &t
	return k, err
}

func (f *Farm) keepPlan(ctx context.Context, w store.Writer, a Act, p Plan) (Kept, error) {
	var k Kept
	made, err := f.when(ctx, w, "made", firstOf(p.input.Made, "today"))
	if err != nil {
		return k, err
	}
	last, err := w.LastBatchNumber(ctx)
	if err != nil {
		return k, err
	}
	k.Batch = lab.Batch{ID: newID[lab.BatchID](), Number: last + 1, Made: made}
	if k.Batch.Closing, err = lab.ParseDay("closing", p.input.Closing); err != nil {
		return k, err
	}
	if k.Batch.Name, err = lab.Name("batch", p.input.Name); err != nil {
		return k, err
	}
	if p.Trial != nil {
		k.Trial, k.Batch.Trial = p.Trial, p.Trial.ID
		if err := w.AddTrial(ctx, *p.Trial); err != nil {
			return k, err
		}
	}
	if err := w.AddBatch(ctx, k.Batch); err != nil {
		return k, err
	}
	deed, err := f.deed(a, k.Batch.ID, "%s planned: %s", k.Batch.Title(), figure.Counted(len(p.Slots), "jar"))
	if err != nil {
		return k, err
	}
	k.Deed = deed.ID
	if _, err := w.AddDeed(ctx, deed); err != nil {
		return k, err
	}
	if err := f.keepAllotment(ctx, w, p, k.Batch); err != nil {
		return k, err
	}
	for _, c := range p.input.Cooks {
		cook, err := f.newCook(ctx, w, NewCook{Name: c.Name, Cooker: c.Cooker, Layers: len(c.Places), Hold: c.Hold, Gauge: c.Gauge}, made)
		if err != nil {
			return k, err
		}
		k.Cooks = append(k.Cooks, cook)
	}
	return k, f.keepJars(ctx, w, p, k)
}

func (f *Farm) keepAllotment(ctx context.Context, w store.Writer, p Plan, b lab.Batch) error {
	if p.Trial == nil || p.layout.Procedure == "" {
		return nil
	}
	design, err := json.Marshal(p.design)
	if err != nil {
		return fmt.Errorf("keep the design of %s: %w", b, err)
	}
	return w.AddAllotment(ctx, lab.Allotment{
		ID: newID[lab.AllotmentID](), Trial: p.Trial.ID, Batch: b.ID, Procedure: string(p.layout.Procedure), Version: p.layout.Version,
		Seed: p.layout.Seed, Bound: p.layout.Bound, Design: design, Made: f.clock(), Stage: lab.AtMaking,
	})
}

func (f *Farm) keepJars(ctx context.Context, w store.Writer, p Plan, k Kept) error {
	codes := f.drawCodes(w)
	jars := make([]lab.Jar, len(p.Slots))
	for i, s := range p.Slots {
		a := p.arms[s.arm]
		j := lab.Jar{
			ID: newID[lab.JarID](), Batch: k.Batch.ID, Number: s.Number, Blank: s.Blank, Arm: s.Arm, Recipe: a.recipe.ID,
			Container: a.container.ID, Cook: k.Cooks[s.Cook-1].ID, Layer: s.Layer, Shelf: s.Shelf, MixMade: s.MixMade, Filled: k.Batch.Made, DryGrams: a.dry,
		}
		if !s.Blank {
			j.Culture = a.culture.ID
		}
		var err error
		if j.Code, err = codes.next(ctx); err != nil {
			return err
		}
		jars[i] = j
	}
	return w.AddJars(ctx, jars)
}
