package web

import (
	"net/http"
	"net/url"
	"strconv"
	"strings"

	"pinset/internal/app"
	"pinset/internal/lab"
)

// planPage is where plans begin: what differs, or nothing.
type planPage struct {
	frame
	Form    form
	Factors []factorTile
	Counts  []choice
	Recent  []app.BatchRow
	More    bool
	Season  *drawing // nil while nothing was made
	Recipe  string   // the plan is to begin with, "" if none
}

// factorTile offers one thing that arms may differ in.
type factorTile struct {
	Factor lab.Factor
	Says   string
	Chosen bool
}

func (planPage) template() string { return "plan/start" }

var factorSays = map[lab.Factor]string{
	lab.ByRecipe:    "grain, broth, depth",
	lab.ByCulture:   "strain, age, dose",
	lab.ByContainer: "jar, bag, lid",
	lab.ByTreatment: "light, room, way of doing it",
}

// The number of arms that the form offers.
const (
	fewestArms = 2
	mostArms   = 12
)

// getPlan serves GET /plan.
func (s *server) getPlan(w http.ResponseWriter, r *http.Request) error {
	const few = 6
	batches, more, err := s.farm.NewestBatches(r.Context(), few)
	if err != nil {
		return err
	}
	season, err := s.farm.Season(r.Context())
	if err != nil {
		return err
	}
	f := formOf(r)
	p := &planPage{frame: frame{Title: "Plan", Section: "/plan"}, Form: f, Recipe: f.Get("recipe"), Season: seasonDrawing(season, lab.OnDay(s.farm.Now()).Time).on(r)}
	for i, x := range lab.Factors {
		p.Factors = append(p.Factors, factorTile{x, factorSays[x], f.Is("differ", string(x)) || i == 0 && !f.Has("differ")})
	}
	for n := fewestArms; n <= mostArms; n++ {
		p.Counts = append(p.Counts, choice{strconv.Itoa(n), strconv.Itoa(n), n == f.int("arms", fewestArms)})
	}
	p.Recent, p.More = batches, more
	return s.show(w, r, http.StatusOK, p)
}

// getPlanTrial serves GET /plan/trial?differ=recipe&arms=3, or ?cross=2 for factors
// that the arms cross: the form of a comparison.
func (s *server) getPlanTrial(w http.ResponseWriter, r *http.Request) error {
	f := formOf(r)
	differ, err := lab.ParseFactors(f.values["differ"])
	if err != nil {
		return err
	}
	v := url.Values{"kind": {"trial"}, "arms": {strconv.Itoa(min(mostArms, max(fewestArms, f.int("arms", fewestArms))))}}
	for _, x := range differ {
		v.Add("differ", string(x))
	}
	if n := crossOf(f); n > 0 {
		v.Del("differ")
		v.Set("cross", strconv.Itoa(n))
		for k := 1; k < n; k++ { // most often one recipe is crossed with something that is done
			v.Set(factorKey(k)+"_is", string(lab.ByTreatment))
		}
	}
	return s.beginPlan(w, r, f, v)
}

// getPlanBatch serves GET /plan/batch: the form of jars without a comparison.
func (s *server) getPlanBatch(w http.ResponseWriter, r *http.Request) error {
	return s.beginPlan(w, r, formOf(r), url.Values{"kind": {"batch"}})
}

// getPlanAgain serves GET /plan/again?trial=NAME: the form of a repeat, filled
// in with what the first trial taught.
func (s *server) getPlanAgain(w http.ResponseWriter, r *http.Request) error {
	again, err := s.farm.PlanAgain(r.Context(), formOf(r).Get("trial"))
	if err != nil {
		return err
	}
	f := form{values: againValues(again.Plan)}
	in, plan, err := s.draft(r, f)
	if err != nil {
		if f, err = f.with(atPlanField(err)); err != nil {
			return err
		}
		return s.showPlan(w, r, http.StatusOK, f, nil)
	}
	return s.showLearnt(w, r, f, newDraft(in, plan), again.Learnt)
}

// againValues are the fields of the form for a plan that is there already.
func againValues(in app.PlanInput) url.Values {
	v := url.Values{
		"kind": {"trial"}, "arms": {strconv.Itoa(len(in.Arms))}, "name": {in.Name}, "question": {in.Question}, "repeats": {in.Repeats},
		"recipe": {in.Recipe}, "culture": {in.Culture}, "container": {in.Container}, "jars": {strconv.Itoa(in.Jars)}, "blanks": {strconv.Itoa(in.BlanksPerCook)},
		"cooks": {strconv.Itoa(max(1, len(in.Cooks)))}, "primary": {in.Primary}, "matters": {fix(0, in.Matters)}, "differ": in.Differ,
	}
	for name, share := range map[string]float64{"spread": in.Spread, "loss": in.Loss} {
		if share > 0 {
			v.Set(name, fix(0, share))
		}
	}
	if in.MakePerCook {
		v.Set("each", "yes")
	}
	if in.Blind {
		v.Set("blind", "yes")
	}
	if len(in.Cooks) > 0 {
		places := make([]string, len(in.Cooks[0].Places))
		for i, n := range in.Cooks[0].Places {
			places[i] = strconv.Itoa(n)
		}
		v.Set("places", strings.Join(places, ", "))
		v.Set("hold", in.Cooks[0].Hold)
		v.Set("gauge", in.Cooks[0].Gauge)
	}
	for i, a := range in.Arms {
		key := "arm" + strconv.Itoa(i+1) + "_"
		for name, value := range map[string]string{"name": a.Name, "recipe": a.Recipe, "culture": a.Culture, "container": a.Container, "treatment": a.Treatment} {
			v.Set(key+name, value)
		}
		if lab.NameKey(a.Name) == lab.NameKey(in.Control) {
			v.Set("usual", strconv.Itoa(i+1))
		}
	}
	crossValues(v, in)
	if text := overText(in.Over); text != "" {
		v.Set("over", text)
	}
	return v
}

func (s *server) beginPlan(w http.ResponseWriter, r *http.Request, asked form, v url.Values) error {
	v.Set("cooks", "1")
	v.Set("blanks", "1")
	v.Set("matters", "20")
	v.Set("primary", lab.PerInoculated)
	v.Set("usual", "1")
	if recipe := asked.Get("recipe"); recipe != "" {
		v.Set("recipe", recipe)
		v.Set("arm1_recipe", recipe)
	}
	return s.showPlan(w, r, http.StatusOK, form{values: v}, nil)
}
