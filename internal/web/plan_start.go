package web

import (
	"net/http"
	"net/url"
	"strconv"

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
	mostArms   = 6
)

// getPlan serves GET /plan.
func (s *server) getPlan(w http.ResponseWriter, r *http.Request) error {
	batches, err := s.farm.Batches(r.Context())
	if err != nil {
		return err
	}
	season, err := s.farm.Season(r.Context())
	if err != nil {
		return err
	}
	f := formOf(r)
	p := &planPage{frame: frame{Title: "Plan", Section: "/plan"}, Form: f, Recipe: f.Get("recipe"), Season: seasonDrawing(season, lab.OnDay(s.farm.Now()).Time)}
	for i, x := range lab.Factors {
		p.Factors = append(p.Factors, factorTile{x, factorSays[x], f.Is("differ", string(x)) || i == 0 && !f.Has("differ")})
	}
	for n := fewestArms; n <= mostArms; n++ {
		p.Counts = append(p.Counts, choice{strconv.Itoa(n), strconv.Itoa(n), n == f.int("arms", fewestArms)})
	}
	const few = 6
	p.Recent, p.More = batches[:min(few, len(batches))], len(batches) > few
	return s.show(w, r, http.StatusOK, p)
}

// getPlanTrial serves GET /plan/trial?differ=recipe&arms=3: the form of a
// comparison.
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
	return s.beginPlan(w, r, f, v)
}

// getPlanBatch serves GET /plan/batch: the form of jars without a comparison.
func (s *server) getPlanBatch(w http.ResponseWriter, r *http.Request) error {
	return s.beginPlan(w, r, formOf(r), url.Values{"kind": {"batch"}})
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
