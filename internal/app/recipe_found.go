package app

import (
	"context"
	"fmt"
	"math"
	"slices"
	"strings"

	"pinset/internal/calc/substrate"
	"pinset/internal/figure"
	"pinset/internal/lab"
	"pinset/internal/store"
	"pinset/internal/units"
)

// FoundInput is a recipe found elsewhere, pasted as text.
type FoundInput struct {
	Text      string
	PercentOf string // what "n %" is a share of: "weight" (also if "") or "dry"
	Moisture  string // claimed, if the text does not say it, such as "60 %"
}

// FoundAudit is what a found recipe comes to, and what of its claims holds.
type FoundAudit struct {
	Read     lab.Found         `json:"-"`
	Lines    []FoundLine       `json:"lines"`
	Unread   []string          `json:"unread"`         // of the text, as it stands
	SumPct   *float64          `json:"sum_pct"`        // of the shares; nil if it has none
	AddsUp   *bool             `json:"adds_up"`        // within half a per cent of the whole
	Moisture *FoundRange       `json:"moisture_pct"`   // nil if it can not be said
	CN       *float64          `json:"cn"`             // nil if unknown
	Guessed  []FoundGuess      `json:"guessed"`        // ingredients whose water is a range
	Claims   []FoundClaim      `json:"claims"`         // each with what it is found to be
	WaterG   *FoundRange       `json:"water_g_per_kg"` // to pour on a kilogram for the claimed moisture, where the recipe names no water
	Asks     []Ask             `json:"-"`              // what must be known before anything can be said
	Cautions []figure.Caution  `json:"cautions"`
	Working  []figure.Step     `json:"working"`
	Recipe   []lab.RecipeLine  `json:"-"`
	PerJar   *substrate.PerJar `json:"-"`
	Sentence string            `json:"sentence"`
}

// FoundLine is one line of a found recipe.
type FoundLine struct {
	Ingredient string   `json:"ingredient"`
	Typed      string   `json:"typed"`
	Grams      *float64 `json:"grams_g"` // of a mix of the size that the text gives, 1 kg if it gives none
}

// FoundRange is from the driest to the wettest that the ingredients can be.
type FoundRange struct {
	Low  float64 `json:"low"`
	High float64 `json:"high"`
}

// FoundGuess is an ingredient whose water the text and the book leave open.
type FoundGuess struct {
	Ingredient string  `json:"ingredient"`
	LowPct     float64 `json:"low_pct"`
	HighPct    float64 `json:"high_pct"`
	Source     string  `json:"source"`
}

// FoundClaim is a claim and what the amounts give.
type FoundClaim struct {
	Of      string   `json:"of"`
	Typed   string   `json:"typed"`
	Claimed float64  `json:"claimed"`
	Low     *float64 `json:"low"`
	High    *float64 `json:"high"`
	Met     string   `json:"met"`     // "met", "not met" or "can not be said"
	Reading string   `json:"reading"` // how it may have been meant, "" if it is met or no reading fits
}

// How a claim stands.
const (
	ClaimMet    = "met"
	ClaimNotMet = "not met"
	ClaimOpen   = "can not be said"
)

// AuditFound reads a recipe found elsewhere and says whether its parts add
// up, what its moisture really is, and which claims hold. What the farm
// measured goes before the book; water that neither knows is a range.
func (f *Farm) AuditFound(ctx context.Context, in FoundInput) (FoundAudit, error) {
	found, err := lab.ParseFound(in.Text)
	if err != nil {
		return FoundAudit{}, err
	}
	if len(found.Lines) == 0 {
		return FoundAudit{}, lab.Invalidf("text", "write each with its amount first, such as 2 cups oats", "the text names no amount of anything")
	}
	if in.PercentOf != "" && in.PercentOf != "weight" && in.PercentOf != "dry" {
		return FoundAudit{}, lab.Invalidf("percent_of", "choose weight or dry", "per cent of %q is not known", in.PercentOf)
	}
	if typed := strings.TrimSpace(in.Moisture); typed != "" {
		share, err := units.ParseFraction(typed)
		if err != nil {
			return FoundAudit{}, atField("moisture", err)
		}
		found.Claims = append(found.Claims, lab.Claim{Of: "moisture_pct", Value: 100 * float64(share), Typed: typed})
	}
	var s *stock
	err = f.store.Read(ctx, func(r store.Reader) (err error) { s, err = f.readStock(ctx, r); return err })
	if err != nil {
		return FoundAudit{}, err
	}
	return s.auditFound(found, in.PercentOf)
}

func (s *stock) auditFound(found lab.Found, percentOf string) (FoundAudit, error) {
	a := FoundAudit{
		Read: found, Unread: found.Unread, Recipe: found.Lines, Lines: []FoundLine{}, Guessed: []FoundGuess{}, Claims: []FoundClaim{},
		Cautions: []figure.Caution{}, Working: []figure.Step{},
	}
	if a.Unread == nil {
		a.Unread = []string{}
	}
	for _, l := range found.Lines {
		a.Lines = append(a.Lines, FoundLine{Ingredient: l.Ingredient, Typed: l.Amount})
	}
	recipe := lab.Recipe{Name: "found", Mixes: []lab.Mix{{Name: foundMix, Lines: found.Lines}}}
	a.Asks = s.asks(recipe)
	if slices.ContainsFunc(a.Asks, func(x Ask) bool { return x.Amount != "" }) {
		a.Sentence = "Nothing can be said before the measures are weighed."
		return a, nil
	}
	mix, err := a.mixOf(found, percentOf)
	if err != nil {
		return a, err
	}
	dry, wet := s.foundRecipe(mix, &a, false), s.foundRecipe(mix, &a, true)
	claims := claimsOf(found.Claims)
	low, err := substrate.Audit(substrate.AuditInput{Recipe: dry, Claims: claims})
	if err != nil {
		return a, err
	}
	high, err := substrate.Audit(substrate.AuditInput{Recipe: wet, Claims: claims})
	if err != nil {
		return a, err
	}
	a.weigh(dry)
	a.judge(found.Claims, low.Result, high.Result)
	a.water(found.Claims, dry, wet)
	for _, c := range low.Cautions {
		if c.Code != "moisture_unknown" && !strings.HasPrefix(c.Code, "claim_") {
			a.Cautions = append(a.Cautions, c)
		}
	}
	a.Working = append(a.Working, low.Working...)
	a.say()
	return a, nil
}

const foundMix = "found mix" // no label of the book

// mixOf is the found recipe as one mix. Shares that do not add up are taken
// as parts, so that the rest can be judged.
func (a *FoundAudit) mixOf(found lab.Found, percentOf string) (substrate.Mix, error) {
	m := substrate.Mix{Name: foundMix, PercentOf: percentOf}
	sum, shares := 0.0, 0
	rest := false
	for _, l := range found.Lines {
		m.Lines = append(m.Lines, substrate.Line{Ingredient: l.Ingredient, Amount: l.Amount})
		if q, err := units.Parse(l.Amount); err == nil && q.Dim == units.Share {
			sum, shares = sum+100*q.Value, shares+1
		}
		rest = rest || l.Amount == "rest"
	}
	if shares == 0 {
		m.PercentOf = ""
		return m, nil
	}
	all := shares == len(m.Lines)
	adds := sum <= 100+1e-9 && (!all || sum >= 99.5) || all && math.Abs(sum-100) <= 0.5
	a.SumPct, a.AddsUp = &sum, &adds
	if adds || rest && sum < 100 {
		return m, nil
	}
	if !all {
		return m, lab.Invalidf("text", "bring the shares below 100 %, or write all of it in grams", "the shares add up to %.4g %% and leave no room for the amounts beside them", sum)
	}
	if percentOf == "dry" {
		m.PercentOf = ""
	}
	for i := range m.Lines {
		q, err := units.Parse(m.Lines[i].Amount)
		if err != nil {
			return m, err
		}
		m.Lines[i].Amount = fmt.Sprintf("%.9g parts", 100*q.Value)
	}
	a.Cautions = append(a.Cautions, figure.Caution{
		Code: "parts_do_not_add_up", Title: "The parts do not add up", Weight: figure.Care,
		Text: fmt.Sprintf("The shares add up to %.4g %%, not 100 %%. They are taken as parts of the whole from here on; ask the author which one is meant otherwise.", sum),
	})
	return m, nil
}

// foundRecipe is the mix with what the farm knows, and for water that nobody
// knows the driest or the wettest it can be.
func (s *stock) foundRecipe(mix substrate.Mix, a *FoundAudit, wettest bool) substrate.Recipe {
	m := mix
	m.Lines = slices.Clone(mix.Lines)
	free := true
	for i := range m.Lines {
		l := &m.Lines[i]
		s.measured(lab.Recipe{}, l)
		low, high, source := substrate.MoistureRange(firstOf(l.StandsFor, l.Ingredient))
		if l.MoisturePct == nil && low < high {
			if !wettest {
				a.Guessed = append(a.Guessed, FoundGuess{l.Ingredient, 100 * low, 100 * high, source})
			}
			pct := 100 * low
			if wettest {
				pct = 100 * high
			}
			l.MoisturePct = &pct
		}
		if q, err := units.Parse(l.Amount); err == nil && q.Dim != units.Share && q.Dim != units.Parts || err != nil && l.Amount != "rest" {
			free = false
		}
	}
	r := substrate.Recipe{Mixes: []substrate.Mix{m}}
	if free {
		r.Fill = map[string]string{m.Name: "1 kg"}
	}
	return r
}

func claimsOf(all []lab.Claim) substrate.Claims {
	var out substrate.Claims
	for _, c := range all {
		v := c.Value
		switch c.Of {
		case "moisture_pct":
			out.MoisturePct = &v
		case "cn":
			out.CN = &v
		case "n_pct_of_dry":
			out.NPctDry = &v
		case "ml_per_g":
			out.MLPerG = &v
		}
	}
	return out
}

// weigh puts grams beside the lines.
func (a *FoundAudit) weigh(r substrate.Recipe) {
	answer, err := substrate.Substrate(substrate.SubstrateInput{Recipe: r, Jars: 1})
	if err != nil {
		return // Audit would have said it
	}
	grams := answer.Result.Batch[foundMix]
	for i := range a.Lines {
		if g, ok := grams[a.Lines[i].Ingredient]; ok {
			a.Lines[i].Grams = &g
		}
	}
	a.PerJar = &answer.Result.PerJar
	a.CN = answer.Result.PerJar.CN
}

// judge says of every claim whether it is met by the driest and the wettest
// that the ingredients can be.
func (a *FoundAudit) judge(claims []lab.Claim, low, high substrate.AuditResult) {
	if l, h := low.PerJar.MoisturePct, high.PerJar.MoisturePct; l != nil && h != nil {
		a.Moisture = &FoundRange{*l, *h}
	}
	find := func(r substrate.AuditResult, of string) *substrate.Finding {
		for i := range r.Findings {
			if r.Findings[i].Figure == of {
				return &r.Findings[i]
			}
		}
		return nil
	}
	for _, c := range claims {
		out := FoundClaim{Of: c.Of, Typed: c.Typed, Claimed: c.Value, Met: ClaimOpen}
		l, h := find(low, c.Of), find(high, c.Of)
		if l == nil || h == nil || l.Computed == nil || h.Computed == nil {
			a.Claims = append(a.Claims, out)
			continue
		}
		from, to := math.Min(*l.Computed, *h.Computed), math.Max(*l.Computed, *h.Computed)
		out.Low, out.High = &from, &to
		switch {
		case *l.Agrees && *h.Agrees:
			out.Met = ClaimMet
		case !*l.Agrees && !*h.Agrees && !(from < c.Value && c.Value < to):
			out.Met, out.Reading = ClaimNotMet, firstOf(l.Reading, h.Reading)
		}
		a.Claims = append(a.Claims, out)
	}
}

// water works out what to pour for the claimed moisture on a recipe that
// names no water.
func (a *FoundAudit) water(claims []lab.Claim, dry, wet substrate.Recipe) {
	if slices.ContainsFunc(a.Recipe, func(l lab.RecipeLine) bool { return isWater(l.Ingredient) }) {
		return
	}
	target := claimsOf(claims).MoisturePct
	if target == nil || !(*target > 0 && *target < 100) {
		return
	}
	need := func(r substrate.Recipe) (float64, bool) {
		answer, err := substrate.Substrate(substrate.SubstrateInput{Recipe: r, Jars: 1, TargetMoisturePct: target})
		if err != nil || answer.Result.WaterBeyondG == nil || answer.Result.AsWritten == nil || *answer.Result.WaterBeyondG < 0 {
			return 0, false
		}
		return *answer.Result.WaterBeyondG / answer.Result.AsWritten.WetG * 1000, true
	}
	most, ok1 := need(dry)
	least, ok2 := need(wet)
	if ok1 && ok2 {
		a.WaterG = &FoundRange{least, most}
	}
}

// say puts the finding into one sentence.
func (a *FoundAudit) say() {
	var parts []string
	if a.AddsUp != nil && !*a.AddsUp {
		parts = append(parts, fmt.Sprintf("the parts add up to %.4g %%", *a.SumPct))
	}
	switch m := a.Moisture; {
	case m == nil:
		parts = append(parts, "its moisture can not be said")
	case m.High-m.Low < 0.05:
		parts = append(parts, fmt.Sprintf("it holds %.1f %% water", m.Low))
	default:
		parts = append(parts, fmt.Sprintf("it holds %.1f to %.1f %% water, by how wet the ingredients are", m.Low, m.High))
	}
	for _, c := range a.Claims {
		name, ok := claimNames[c.Of]
		if !ok {
			continue
		}
		parts = append(parts, fmt.Sprintf("the claim of %s %s", fmt.Sprintf(name, c.Claimed), claimWords[c.Met]))
	}
	text := strings.Join(parts, "; ")
	a.Sentence = strings.ToUpper(text[:1]) + text[1:] + "."
}

var claimNames = map[string]string{"moisture_pct": "%.4g %% moisture", "cn": "C:N %.4g", "n_pct_of_dry": "%.4g %% nitrogen", "ml_per_g": "%.4g mL per g"}

var claimWords = map[string]string{ClaimMet: "is met", ClaimNotMet: "is not met", ClaimOpen: "can not be judged"}
