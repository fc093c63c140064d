package web

import (
	"net/http"
	"slices"
	"strconv"
	"strings"

	"pinset/internal/app"
	"pinset/internal/lab"
)

// planForm takes a plan and shows its draft.
type planForm struct {
	frame
	Form       form
	Trial      bool
	Differ     []lab.Factor
	Arms       []int // 1, 2 …
	Recipes    []string
	Cultures   []string
	Containers []string
	Draft      *draftView   // nil before the first draft
	Learnt     []string     // by the trial that this one repeats
	Factors    []factorForm // that the arms cross; none if they are a plain list
	Levels     [][]string   // by arm of a crossing
	shared     []lab.Factor // that two factors are of, so that each arm names it
}

func (planForm) template() string { return "plan/form" }

// postDraft serves POST /plan/draft: works the plan out and stores nothing.
// With "repair" it takes the repaired layout over first.
func (s *server) postDraft(w http.ResponseWriter, r *http.Request) error {
	f := formOf(r)
	if f.Has("redraw") {
		f.values.Del("seed")
	}
	in, plan, err := s.draft(r, f)
	if err == nil && f.Has("repair") && plan.Repair != nil {
		takeRepair(f, *plan.Repair)
		in, plan, err = s.draft(r, f)
	}
	if err != nil {
		if f, err = f.with(atPlanField(err)); err != nil {
			return err
		}
		return s.showPlan(w, r, http.StatusUnprocessableEntity, f, nil)
	}
	return s.showPlan(w, r, http.StatusOK, f, newDraft(in, plan))
}

func (s *server) draft(r *http.Request, f form) (app.PlanInput, app.Plan, error) {
	in, err := planOf(f)
	if err != nil {
		return in, app.Plan{}, err
	}
	plan, err := s.farm.DraftPlan(r.Context(), in)
	return in, plan, err
}

// postKeep serves POST /plan/keep: allots the jars and keeps the plan.
func (s *server) postKeep(w http.ResponseWriter, r *http.Request) error {
	f := formOf(r)
	in, err := planOf(f)
	var kept app.Kept
	if err == nil {
		kept, err = s.farm.KeepPlan(r.Context(), act(r), in)
	}
	if err != nil {
		if f, err = f.with(atPlanField(err)); err != nil {
			return err
		}
		return s.showPlan(w, r, http.StatusUnprocessableEntity, f, nil)
	}
	remember(w, r, "", kept.Batch.Title()+" is planned")
	return seeOther(w, r, at("batches", kept.Batch.String(), "bench"))
}

// takeRepair puts the places of the repaired layout into the form.
func takeRepair(f form, repair app.PlanInput) {
	for i, a := range repair.Arms {
		arm := "arm" + strconv.Itoa(i+1)
		f.values.Set(arm+"_cook", placeText(a.Cook))
		f.values.Set(arm+"_layer", placeText(a.Layer))
	}
	f.values.Del("each")
	if repair.MakePerCook {
		f.values.Set("each", "yes")
	}
}

func placeText(n int) string {
	if n == 0 {
		return ""
	}
	return strconv.Itoa(n)
}

func (s *server) showPlan(w http.ResponseWriter, r *http.Request, status int, f form, draft *draftView) error {
	return s.showPlanForm(w, r, status, &planForm{Form: f, Draft: draft})
}

func (s *server) showLearnt(w http.ResponseWriter, r *http.Request, f form, draft *draftView, learnt []string) error {
	return s.showPlanForm(w, r, http.StatusOK, &planForm{Form: f, Draft: draft, Learnt: learnt})
}

func (s *server) showPlanForm(w http.ResponseWriter, r *http.Request, status int, p *planForm) error {
	f := p.Form
	p.frame, p.Trial = frame{Title: "Plan a batch", Section: "/plan"}, f.Get("kind") == "trial"
	if p.Trial {
		p.Title = "Plan a trial"
		p.Differ, _ = lab.ParseFactors(f.values["differ"]) // unknown ones were refused before
		arms := armCount(f)
		if crossOf(f) > 0 {
			arms = p.cross(f)
		}
		for i := range arms {
			p.Arms = append(p.Arms, i+1)
		}
	}
	recipes, err := s.farm.Recipes(r.Context())
	if err != nil {
		return err
	}
	for _, x := range recipes {
		p.Recipes = append(p.Recipes, x.Name)
	}
	containers, err := s.farm.Containers(r.Context())
	if err != nil {
		return err
	}
	for _, x := range containers {
		p.Containers = append(p.Containers, x.Name)
	}
	if p.Cultures, err = s.cultureNames(r); err != nil {
		return err
	}
	return s.show(w, r, status, p)
}

// cross lays out the fields of factors and their arms, and returns how many arms
// there are.
func (p *planForm) cross(f form) int {
	p.Factors, p.Differ = factorForms(f), nil
	factors := readFactors(f)
	p.Levels = crossArms(factors)
	for _, is := range lab.Factors {
		if slices.ContainsFunc(factors, func(x app.PlanFactor) bool { return x.Is == string(is) }) {
			p.Differ = append(p.Differ, is)
		}
		if is != lab.ByTreatment && sharedRecord(factors, is) {
			p.shared = append(p.shared, is)
		}
	}
	return len(p.Levels)
}

// ArmNames reports whether each arm must name its own record of a kind: by choice,
// or because two factors are of it.
func (p *planForm) ArmNames(factor string) bool {
	if len(p.Factors) > 0 {
		return slices.Contains(p.shared, lab.Factor(factor))
	}
	return p.Differs(factor)
}

// LevelsOf says what arm n has: "malt, 16 mm".
func (p *planForm) LevelsOf(n int) string {
	if n > len(p.Levels) {
		return ""
	}
	return strings.Join(p.Levels[n-1], ", ")
}

func armCount(f form) int { return min(12, max(fewestArms, f.int("arms", fewestArms))) }

// Lacks names what must be written down before anything can be planned.
func (p *planForm) Lacks() []string {
	var out []string
	if len(p.Recipes) == 0 {
		out = append(out, "a recipe")
	}
	if len(p.Containers) == 0 {
		out = append(out, "a container")
	}
	if len(p.Cultures) == 0 {
		out = append(out, "a culture")
	}
	return out
}

// Differs reports whether the arms are meant to differ in the factor.
func (p *planForm) Differs(factor string) bool { return slices.Contains(p.Differ, lab.Factor(factor)) }

// DifferWords says what the arms differ in: "recipe and culture".
func (p *planForm) DifferWords() string {
	words := make([]string, len(p.Differ))
	for i, d := range p.Differ {
		words[i] = string(d)
	}
	return strings.Join(words, " and ")
}

// ArmField returns a field of arm n.
func (p *planForm) ArmField(n int, name, label string) field {
	return p.Form.Field("arm"+strconv.Itoa(n)+"_"+name, label)
}

// ArmChoice returns a field of arm n in which one of options is chosen.
func (p *planForm) ArmChoice(n int, name, label string, options []string) field {
	return p.Form.Choice("arm"+strconv.Itoa(n)+"_"+name, label, options)
}

// Layers are the layers that can be chosen by hand.
func (p *planForm) Layers() []string {
	most := 0
	for part := range strings.SplitSeq(p.Form.Get("places"), " / ") {
		places, err := readPlaces(part)
		if err != nil {
			return nil
		}
		most = max(most, len(places))
	}
	return upTo(most)
}

// Cooks are the cooks that can be chosen by hand.
func (p *planForm) Cooks() []string { return upTo(min(50, max(1, p.Form.int("cooks", 1)))) }

func upTo(n int) []string {
	out := make([]string, n)
	for i := range out {
		out[i] = strconv.Itoa(i + 1)
	}
	return out
}

// MoreOpen reports whether anything in the folded part was filled in or is
// wrong.
func (p *planForm) MoreOpen() bool {
	for _, name := range []string{"question", "spread", "loss", "made", "cooker", "shelves", "over"} {
		if p.Form.Get(name) != "" || p.Form.Bad(name) != nil {
			return true
		}
	}
	return p.placed()
}

// placed reports whether any arm is placed by hand.
func (p *planForm) placed() bool {
	for _, n := range p.Arms {
		arm := "arm" + strconv.Itoa(n)
		if p.Form.Get(arm+"_layer") != "" || p.Form.Get(arm+"_cook") != "" {
			return true
		}
	}
	return false
}
