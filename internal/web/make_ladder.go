package web

import (
	"net/http"
	"strconv"
	"strings"

	"pinset/internal/app"
	"pinset/internal/lab"
)

// ladderPage plans a small trial that steps one amount of a recipe.
type ladderPage struct {
	frame
	app.RecipeView
	Form       form
	Steps      []string // what can be stepped
	Lots       []string
	Cultures   []string
	Containers []string
	Draft      *app.Ladder
}

func (ladderPage) template() string { return "make/ladder" }

// getLadder serves GET /recipes/{recipe}/ladder, with the steps to look at.
func (s *server) getLadder(w http.ResponseWriter, r *http.Request) error {
	f := formOf(r)
	if !f.Has("step") {
		return s.showLadder(w, r, http.StatusOK, f, nil)
	}
	in, err := ladderOf(r, f)
	var draft app.Ladder
	if err == nil {
		draft, err = s.farm.DraftLadder(r.Context(), in)
	}
	if err != nil {
		if f, err = f.with(err); err != nil {
			return err
		}
		return s.showLadder(w, r, http.StatusUnprocessableEntity, f, nil)
	}
	return s.showLadder(w, r, http.StatusOK, f, &draft)
}

func ladderOf(r *http.Request, f form) (app.LadderInput, error) {
	in := app.LadderInput{
		Recipe: r.PathValue("recipe"), Step: f.Get("step"), From: f.Get("from"), To: f.Get("to"), By: f.Get("by"), Lot: f.Get("lot"),
		Name: f.Get("name"), Culture: f.Get("culture"), Container: f.Get("container"), Closing: f.Get("closing"),
	}
	var err error
	if in.Jars, err = f.whole("jars", 1, 100, 3); err != nil {
		return in, err
	}
	if in.Blanks, err = f.whole("blanks", 0, 20, 1); err != nil {
		return in, err
	}
	cook := app.PlanCook{Hold: f.Get("hold"), Gauge: f.Get("gauge")}
	for n := range strings.SplitSeq(f.Get("places"), ",") {
		if strings.TrimSpace(n) == "" {
			continue
		}
		places, err := strconv.Atoi(strings.TrimSpace(n))
		if err != nil {
			return in, lab.Invalidf("places", "write the jars that each layer takes, the bottom first, such as 7, 7", "%q is not a number of jars", clipped(n, 20))
		}
		cook.Places = append(cook.Places, places)
	}
	if len(cook.Places) > 0 {
		in.Cooks = []app.PlanCook{cook}
	}
	return in, nil
}

func (s *server) showLadder(w http.ResponseWriter, r *http.Request, status int, f form, draft *app.Ladder) error {
	ctx := r.Context()
	v, err := s.farm.RecipeView(ctx, r.PathValue("recipe"), 1)
	if err != nil {
		return err
	}
	p := &ladderPage{frame: frame{Title: "A ladder of " + v.Recipe.Name, Section: "/supplies"}, RecipeView: v, Form: f, Draft: draft}
	for _, m := range v.Mixes {
		for _, l := range m.Lines {
			p.Steps = append(p.Steps, l.Ingredient)
		}
	}
	for _, fill := range v.Fills {
		p.Steps = append(p.Steps, fill.Mix)
	}
	for _, l := range v.Lots {
		p.Lots = append(p.Lots, l.String())
	}
	cultures, err := s.farm.Cultures(ctx)
	if err != nil {
		return err
	}
	for _, c := range cultures {
		p.Cultures = append(p.Cultures, c.Name)
	}
	containers, err := s.farm.Containers(ctx)
	if err != nil {
		return err
	}
	for _, c := range containers {
		p.Containers = append(p.Containers, c.Name)
	}
	return s.show(w, r, status, p)
}

// postLadder serves POST /recipes/{recipe}/ladder: keeps recipes and trial.
func (s *server) postLadder(w http.ResponseWriter, r *http.Request) error {
	f := formOf(r)
	in, err := ladderOf(r, f)
	var k app.Kept
	if err == nil {
		k, err = s.farm.KeepLadder(r.Context(), act(r), in)
	}
	if err != nil {
		if f, err = f.with(err); err != nil {
			return err
		}
		return s.showLadder(w, r, http.StatusUnprocessableEntity, f, nil)
	}
	remember(w, r, "", k.Batch.Title()+" planned")
	return seeOther(w, r, at("batches", k.Batch.String()))
}

// Again are the fields of the draft, to be sent on.
func (p *ladderPage) Again() [][2]string {
	var out [][2]string
	for _, name := range []string{"step", "from", "to", "by", "lot", "jars", "blanks", "places", "hold", "gauge", "name", "culture", "container", "closing"} {
		if v := p.Form.Get(name); v != "" {
			out = append(out, [2]string{name, v})
		}
	}
	return out
}

// Path is the address of the ladder.
func (p *ladderPage) Path() string { return at("recipes", p.Recipe.Name, "ladder") }
