package app

import (
	"context"
	"math"
	"strings"

	"pinset/internal/lab"
	"pinset/internal/store"
	"pinset/internal/units"
)

// exportIngredients writes the grower's own figures, as shares in per cent.
func exportIngredients(ctx context.Context, r store.Reader, x *exporting) error {
	x.Head = []string{"ingredient", "stands for", "moisture %", "nitrogen %", "carbon %", "protein %", "fat %", "carbohydrate %", "sugars %", "fibre %", "ash %", "protein factor", "cup", "allergens"}
	all, err := r.Ingredients(ctx)
	if err != nil {
		return err
	}
	entries, err := r.IngredientFigures(ctx)
	if err != nil {
		return err
	}
	newest := lab.Newest(entries)
	for _, i := range all {
		f := newest[i.ID]
		if f.Moisture == nil {
			f.Moisture = i.Moisture
		}
		factor := any(nil)
		if f.Factor != nil {
			factor = *f.Factor
		}
		x.add(i.Name, orBlank(f.StandsFor), shareCell(f.Moisture), shareCell(f.Nitrogen), shareCell(f.Carbon), shareCell(f.Protein), shareCell(f.Fat), shareCell(f.Carbohydrate),
			shareCell(f.Sugars), shareCell(f.Fibre), shareCell(f.Ash), factor, orBlank(f.CupTyped), orBlank(strings.Join(f.Allergens, ", ")))
	}
	return nil
}

// shareCell is a share in per cent, rounded to what no label prints.
func shareCell(f *units.Fraction) any {
	if f == nil {
		return nil
	}
	return math.Round(float64(*f)*1e10) / 1e8
}

func exportContainers(ctx context.Context, r store.Reader, x *exporting) error {
	x.Head = []string{"container", "kind", "volume mL", "bore mm", "height mm", "lid", "note"}
	all, err := r.Containers(ctx)
	if err != nil {
		return err
	}
	lids, err := r.ContainerLids(ctx)
	if err != nil {
		return err
	}
	now := lab.LidsNow(lids)
	for _, c := range all {
		x.add(c.Name, string(c.Kind), orBlank(float64(c.Volume)), orBlank(float64(c.Bore)), orBlank(float64(c.Height)), orBlank(string(now[c.ID])), orBlank(c.Note))
	}
	return nil
}
