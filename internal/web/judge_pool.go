package web

import (
	"fmt"
	"net/http"
	"net/url"

	"pinset/internal/app"
	"pinset/internal/lab"
	"pinset/internal/report"
)

// pooledPage shows what past trials add up to: one contrast, or the list of what
// was tried.
type pooledPage struct {
	frame
	app.Past
	Pool    *app.Pooled // nil while none is chosen
	Ask     app.PoolAsk
	Wanting *lab.Problem // why there is nothing to add up, nil if there is
	Picture *drawing
	Orders  []*drawing // of the rankings
}

func (pooledPage) template() string { return "judge/pooled" }

// getPooled serves GET /pooled: all that was tried; with of= one contrast, and
// with outcome=, own=, versions= how it is added up.
func (s *server) getPooled(w http.ResponseWriter, r *http.Request) error {
	f := formOf(r)
	p := &pooledPage{frame: frame{Title: "What past trials add up to", Section: "/trials"}}
	p.Ask = app.PoolAsk{Of: f.Get("of"), Outcome: f.Get("outcome"), OwnOnly: f.Get("own") == "yes", AnyVersion: f.Get("versions") == "any"}
	if p.Ask.Of == "" {
		return s.showTried(w, r, p)
	}
	pooled, err := s.farm.Pool(r.Context(), p.Ask)
	if lab.IsKind(err, lab.Invalid) && pooled.Key != "" {
		p.Wanting, _ = lab.AsProblem(err)
	} else if err != nil {
		return err
	}
	p.Pool, p.Title = &pooled, capital(pooled.Title())
	if p.Wanting == nil {
		p.Picture = newDrawing("forest", deskWide, report.Forest(pooled).Draw)
	}
	return s.show(w, r, http.StatusOK, p)
}

func (s *server) showTried(w http.ResponseWriter, r *http.Request, p *pooledPage) error {
	var err error
	if p.Past, err = s.farm.Past(r.Context()); err != nil {
		return err
	}
	for _, rank := range p.Rankings {
		p.Orders = append(p.Orders, newDrawing("order-"+string(rank.Is), deskWide, report.RankForest(rank).Draw))
	}
	return s.show(w, r, http.StatusOK, p)
}

// Where is the address of the contrast, added up as asked but for one thing.
func (p *pooledPage) Where(but, value string) string {
	q := url.Values{"of": {p.Ask.Of}}
	if p.Pool != nil {
		q.Set("of", p.Pool.Key)
	}
	set := func(name, value string) {
		if value != "" {
			q.Set(name, value)
		}
	}
	set("outcome", p.Ask.Outcome)
	if p.Ask.OwnOnly {
		q.Set("own", "yes")
	}
	if p.Ask.AnyVersion {
		q.Set("versions", "any")
	}
	q.Del(but)
	set(but, value)
	return "/pooled?" + q.Encode()
}

// Of is the address of a contrast.
func (p *pooledPage) Of(key string) string { return "/pooled?of=" + url.QueryEscape(key) }

// Words says what an outcome is.
func (p *pooledPage) Words(outcome string) string { return lab.OutcomeWords(outcome) }

// Ending is how the mean ends, in words.
func (p *pooledPage) Ending() string { return endings[string(p.Pool.Ending)] }

// Hint says how the forest is read.
func (p *pooledPage) Hint() string { return report.ForestHint }

// Weight is the share of a trial in the mean.
func (p *pooledPage) Weight(x app.PooledRow) string { return fmt.Sprintf("%.0f %%", 100*x.Weight) }

// Chance says how sure it is that the first gives more at all.
func (p *pooledPage) Chance() string {
	return fmt.Sprintf("%.0f of 100", 100*p.Pool.Answer.Result.Above)
}

// Spread says how far trials differ beyond chance.
func (p *pooledPage) Spread() string {
	x := p.Pool.Answer.Result.Spread
	if p.Pool.Ratio {
		return fmt.Sprintf("about %.0f %% (%.0f to %.0f %%)", 100*x.Value, 100*x.Low, 100*x.High)
	}
	return fmt.Sprintf("about %.0f points (%.0f to %.0f)", x.Value, x.Low, x.High)
}

// Shift says how many places a row lost or won by being drawn to the others.
func (p *pooledPage) Shift(r app.Ranked) string {
	switch {
	case r.Fell > 0:
		return "down " + count(r.Fell, "place")
	case r.Fell < 0:
		return "up " + count(-r.Fell, "place")
	}
	return ""
}
