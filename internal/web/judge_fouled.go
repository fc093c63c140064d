package web

import (
	"fmt"
	"html/template"
	"net/http"
	"strings"

	"pinset/internal/app"
	"pinset/internal/lab"
)

// fouledPage shows what fouled jars have in common: the suspects first, then
// the counts, then what else a suspect touched.
type fouledPage struct {
	frame
	app.FouledView
	Asked []string // batches that were asked for, none for the last ones
}

func (fouledPage) template() string { return "judge/fouled" }

// getFouled serves GET /fouled, with batch= for one or several batches and
// last= for how many of the last ones.
func (s *server) getFouled(w http.ResponseWriter, r *http.Request) error {
	f := formOf(r)
	in := app.FouledInput{Last: f.int("last", 0)}
	for _, name := range r.Form["batch"] {
		if name = strings.TrimSpace(name); name != "" {
			in.Batches = append(in.Batches, name)
		}
	}
	v, err := s.farm.Fouled(r.Context(), in)
	if err != nil {
		return err
	}
	return s.show(w, r, http.StatusOK, &fouledPage{frame{Title: "Who fouled it?", Section: "/trials"}, v, in.Batches})
}

// fouledWords are the factors as the page calls them.
var fouledWords = map[string]string{
	"cook": "Cook", "layer": "Layer", "lc": "Liquid culture", "culture": "Culture", "mix_made": "Making of the mix", "ingredient_lot": "Ingredient lot",
	"recipe": "Recipe", "container": "Container", "person": "Inoculated by", "day": "Inoculated on", "shelf": "Shelf", "room": "Room",
}

// Word is what a factor is called.
func (p *fouledPage) Word(name string) string { return fouledWords[name] }

// Bar draws the share of jars that fouled. The numbers stand beside it.
func (p *fouledPage) Bar(bad, total int) template.HTML {
	share := 0.0
	if total > 0 {
		share = 96 * float64(bad) / float64(total)
	}
	return template.HTML(fmt.Sprintf(`<svg width="98" height="10" viewBox="-1 -1 98 10" aria-hidden="true"><rect width="96" height="8" fill="none" stroke="currentColor"/><rect width="%.1f" height="8" fill="currentColor"/></svg>`, share))
}

// Chances says the p of a factor in words.
func (p *fouledPage) Chances(f app.FouledFactor) string {
	if f.P == nil {
		return "one level only, or nothing to tell apart"
	}
	text := "p " + chanceOf(*f.P)
	if f.PWithin != nil {
		text += ", " + chanceOf(*f.PWithin) + " among jars alike in " + strings.ToLower(fouledWords[f.Within])
	}
	if f.PAdjusted != nil {
		text += ", " + chanceOf(*f.PAdjusted) + " over all factors"
	}
	return text
}

func chanceOf(p float64) string {
	if p < 0.001 {
		return "under 0.001"
	}
	return significant(2, p)
}

// Others are the suspects after the first, whose sentence leads the page.
func (p *fouledPage) Others() []app.FouledSuspect {
	if s := p.Answer.Result.Suspects; len(s) > 1 {
		return s[1:]
	}
	return nil
}

// Which names the batches that were looked at.
func (p *fouledPage) Which() string {
	names := make([]string, len(p.Batches))
	for i, b := range p.Batches {
		names[i] = b.String()
	}
	return strings.Join(names, ", ")
}

// Marks writes the numbers of touched jars: "B3·1–4".
func (p *fouledPage) Marks(b app.TouchedBatch) string {
	return b.Batch.String() + "·" + lab.ShowNumbers(b.Numbers)
}
