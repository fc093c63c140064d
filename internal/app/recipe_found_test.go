package app_test

import (
	"math"
	"strings"
	"testing"

	"pinset/internal/app"
	"pinset/internal/lab"
)

// Brown rice by the book holds 11.80 % water (USDA SR28, NDB 20036). A ratio
// of 1:1.2 gives 59.91 % (mass balance), so a claim of 60 % is met there; at
// 1:1 it is 55.9 % and is not.
func TestAuditFound(t *testing.T) {
	onBoth(t, func(b *bench) {
		audit := func(text string) app.FoundAudit {
			return must(b.AuditFound(b.ctx, app.FoundInput{Text: text}))(b)
		}
		a := audit("50 g brown rice, 60 g water, 60 % moisture")
		if a.Claims[0].Met != app.ClaimMet || math.Abs(a.Moisture.Low-59.909) > 0.001 || a.Moisture.High != a.Moisture.Low {
			t.Errorf("1:1.2 is %+v, moisture %+v", a.Claims, a.Moisture)
		}
		a = audit("50 g brown rice, 50 g water, 60 % moisture")
		if a.Claims[0].Met != app.ClaimNotMet || !strings.Contains(a.Sentence, "60 % moisture is not met") {
			t.Errorf("1:1 is %+v: %s", a.Claims, a.Sentence)
		}
		// Two cups of oats are 312 g and hold 8.22 % water (NDB 20038).
		a = audit("2 cups oats, 1 tsp gypsum, 1 cup water\nWhat a jar!")
		if math.Abs(*a.Lines[0].Grams-312) > 1e-9 || len(a.Unread) != 1 {
			t.Errorf("the lines are %+v, unread %q", a.Lines, a.Unread)
		}
	})
}

// Sawdust is as wet as it was stored: 8 to 60 %.
func TestAuditFoundRange(t *testing.T) {
	onBoth(t, func(b *bench) {
		a := must(b.AuditFound(b.ctx, app.FoundInput{Text: "1000 g sawdust, 1000 g water, 60 % moisture"}))(b)
		if len(a.Guessed) != 1 || math.Abs(a.Moisture.Low-54) > 1e-9 || math.Abs(a.Moisture.High-80) > 1e-9 || a.Claims[0].Met != app.ClaimOpen {
			t.Errorf("guessed %+v, moisture %+v, claims %+v", a.Guessed, a.Moisture, a.Claims)
		}
		must(b.SetFigures(b.ctx, app.Act{}, app.NewFigures{Ingredient: "sawdust", Moisture: "20 %"}))(b)
		a = must(b.AuditFound(b.ctx, app.FoundInput{Text: "1000 g sawdust, 1000 g water, 60 % moisture"}))(b)
		if len(a.Guessed) != 0 || a.Claims[0].Met != app.ClaimMet {
			t.Errorf("measured: guessed %+v, claims %+v", a.Guessed, a.Claims)
		}
	})
}

// The published block recipe 78 : 20 : 1 : 1 has a C:N of 70.6 worked out
// from wood 48.79/0.16 and bran 44.5/2.73 (PMC8020957 for the recipe).
func TestAuditFoundShares(t *testing.T) {
	onBoth(t, func(b *bench) {
		a := must(b.AuditFound(b.ctx, app.FoundInput{Text: "78 % wood chip, 20 % wheat bran, 1 % sugar, 1 % gypsum, C:N 70, 60 % moisture", PercentOf: "dry"}))(b)
		if a.AddsUp == nil || !*a.AddsUp || a.Claims[0].Met != app.ClaimMet || math.Abs(*a.CN-70.6) > 0.5 {
			t.Errorf("adds up %v, claims %+v, C:N %v", a.AddsUp, a.Claims, a.CN)
		}
		if a.WaterG == nil || !(a.WaterG.Low < a.WaterG.High) {
			t.Errorf("water to pour is %+v, want a range", a.WaterG)
		}
		a = must(b.AuditFound(b.ctx, app.FoundInput{Text: "50 % oats, 30 % millet, 25 % wheat bran"}))(b)
		if *a.AddsUp || *a.SumPct != 105 || !strings.Contains(a.Sentence, "105 %") || a.Moisture == nil {
			t.Errorf("sum %v, %s", *a.SumPct, a.Sentence)
		}
	})
}

func TestAuditFoundRefuses(t *testing.T) {
	onBoth(t, func(b *bench) {
		for name, in := range map[string]app.FoundInput{
			"empty":         {},
			"talk":          {Text: "the best jars"},
			"too many":      {Text: strings.Repeat("5 g oats\n", 10000)},
			"130 %":         {Text: "5 g oats", Moisture: "130 %"},
			"percent of":    {Text: "50 % oats", PercentOf: "moon"},
			"1e6 kg":        {Text: "1000000000000 kg oats"},
			"no room":       {Text: "80 % oats, 40 % bran, 5 g gypsum"},
			"which decimal": {Text: "1,234.5,6 g oats"},
		} {
			if a, err := b.AuditFound(b.ctx, in); !lab.IsKind(err, lab.Invalid) {
				t.Errorf("%s: %v, %+v; want a Problem", name, err, a)
			}
		}
		a := must(b.AuditFound(b.ctx, app.FoundInput{Text: "2 cups moon grain, 60 % moisture"}))(b)
		if len(a.Asks) != 1 || a.Moisture != nil {
			t.Errorf("a cup of unknown weight: asks %+v, moisture %+v", a.Asks, a.Moisture)
		}
	})
}
