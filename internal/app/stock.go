package app

import (
	"context"
	"slices"
	"strconv"
	"strings"

	"pinset/internal/calc/substrate"
	"pinset/internal/lab"
	"pinset/internal/store"
	"pinset/internal/units"
)

// cupML is a US cup. Source: NIST SP 811 (2008), appendix B.8.
const cupML = 236.5882365

// stock is what the farm knows of its ingredients: its own figures, and the
// deliveries with what is left of them. Nil knows nothing.
type stock struct {
	rows []*StockRow // by name
	by   map[string]*StockRow
	lots map[lab.IngredientLotID]*LotRow
}

// StockRow is one ingredient with what is known of it.
type StockRow struct {
	lab.Ingredient
	Figures lab.Figures
	Lots    []*LotRow // the newest first
	Means   string    // the row of the book that it is taken as, "" if the book has none
	Choices []string  // what the name can mean, where the grower has not said which
}

// LotRow is one delivery with what is left of it.
type LotRow struct {
	lab.IngredientLot
	Name  string      // of the ingredient
	Drawn units.Gram  // by the makings that named it
	Left  *units.Gram // nil if it is not known how much was bought; below 0 if more was taken
	Past  bool        // its best-before day is over
}

// UsedUp reports whether nothing is left of the lot.
func (l *LotRow) UsedUp() bool { return l.Left != nil && *l.Left <= 0 }

// readStock reads all ingredients and lots.
func (f *Farm) readStock(ctx context.Context, r store.Reader) (*stock, error) {
	all, err := r.Ingredients(ctx)
	if err != nil {
		return nil, err
	}
	entries, err := r.IngredientFigures(ctx)
	if err != nil {
		return nil, err
	}
	lots, err := r.IngredientLots(ctx)
	if err != nil {
		return nil, err
	}
	drawn, err := r.DrawnFromLots(ctx)
	if err != nil {
		return nil, err
	}
	s := &stock{by: make(map[string]*StockRow), lots: make(map[lab.IngredientLotID]*LotRow)}
	byID := make(map[lab.IngredientID]*StockRow)
	figures := lab.Newest(entries)
	for _, i := range all {
		row := &StockRow{Ingredient: i, Figures: figures[i.ID]}
		row.look()
		s.rows, s.by[lab.NameKey(i.Name)], byID[i.ID] = append(s.rows, row), row, row
	}
	today := lab.OnDay(f.now()).Time
	for _, l := range lab.Current(lots) {
		row := byID[l.Ingredient]
		lot := &LotRow{IngredientLot: l, Name: row.Name, Drawn: drawn[l.Lot], Past: !l.BestBefore.IsZero() && l.BestBefore.Before(today)}
		if l.Bought > 0 {
			left := l.Bought - lot.Drawn
			lot.Left = &left
		}
		row.Lots, s.lots[l.Lot] = append(row.Lots, lot), lot
	}
	for _, row := range s.rows {
		slices.SortStableFunc(row.Lots, func(a, b *LotRow) int { return b.Number - a.Number })
	}
	return s, nil
}

// BookRow is an ingredient that the farm has not written down: what the book
// says of its name.
func BookRow(name string) *StockRow {
	row := &StockRow{Ingredient: lab.Ingredient{Name: name}}
	row.look()
	return row
}

// look finds what the book says of the name.
func (row *StockRow) look() {
	label := firstOf(row.Figures.StandsFor, row.Name)
	if found := substrate.Find(label); len(found) > 0 {
		row.Means = found[0].Name
	}
	if row.Figures.StandsFor == "" {
		row.Choices = substrate.Choices(row.Name)
	}
}

// InUse is the newest lot that is not used up, the newest if all are; nil if
// there is none.
func (row *StockRow) InUse() *LotRow {
	for _, l := range row.Lots {
		if !l.UsedUp() {
			return l
		}
	}
	if len(row.Lots) > 0 {
		return row.Lots[0]
	}
	return nil
}

// of returns what is known of an ingredient by the name that a recipe gives
// it, nil if nothing is.
func (s *stock) of(name string) *StockRow {
	if s == nil {
		return nil
	}
	return s.by[lab.NameKey(name)]
}

// lotFor is the lot that a recipe takes an ingredient from: the one that it
// names, else the one in use.
func (s *stock) lotFor(r lab.Recipe, ingredient string) *LotRow {
	row := s.of(ingredient)
	if row == nil {
		return nil
	}
	for _, l := range r.Details.Lots {
		if lot := s.lots[l.Lot]; lot != nil && lab.NameKey(l.Ingredient) == lab.NameKey(ingredient) {
			return lot
		}
	}
	return row.InUse()
}

// measured puts what the farm knows of a line's ingredient into l. The lot's
// own measurement goes before the ingredient's, both before the book.
func (s *stock) measured(r lab.Recipe, l *substrate.Line) {
	row := s.of(l.Ingredient)
	if row == nil {
		return
	}
	l.StandsFor = row.Figures.StandsFor
	moisture := row.Moisture
	if row.Figures.Moisture != nil {
		moisture = row.Figures.Moisture
	}
	cup := row.Figures.Cup
	dry := row.ofDry(moisture)
	if lot := s.lotFor(r, l.Ingredient); lot != nil {
		if lot.Moisture != nil {
			moisture = lot.Moisture
		}
		if lot.Cup > 0 {
			cup = lot.Cup
		}
		if price, ok := lot.Price.PerKg(); ok {
			l.PricePerKg = &price
		}
	}
	l.MoisturePct = percent(moisture)
	l.NPctDry, l.CPctDry, l.FatPctDry, l.AshPctDry, l.SugarsPctDry = dry.N, dry.C, dry.Fat, dry.Ash, dry.Sugars
	if cup > 0 {
		density := float64(cup) / cupML
		l.DensityGML = &density
	}
}

// ofDry returns the farm's own composition of the dry matter in per cent: as
// analysed, or worked out from the label.
func (row *StockRow) ofDry(moisture *units.Fraction) substrate.Dry {
	f := row.Figures
	label := substrate.Label{
		Water: plainShare(moisture), Protein: plainShare(f.Protein), Fat: plainShare(f.Fat),
		Carbohydrate: plainShare(f.Carbohydrate), Sugars: plainShare(f.Sugars), Ash: plainShare(f.Ash), Factor: f.Factor,
	}
	if found := substrate.Find(firstOf(f.StandsFor, row.Name)); len(found) > 0 {
		if label.Water == nil {
			label.Water = found[0].Moisture
		}
		if label.Factor == nil {
			label.Factor = found[0].Factor
		}
	}
	dry := label.OfDry()
	if f.Nitrogen != nil {
		dry.N = plainShare(f.Nitrogen)
	}
	if f.Carbon != nil {
		dry.C = plainShare(f.Carbon)
	}
	for _, x := range []**float64{&dry.N, &dry.C, &dry.Fat, &dry.Ash, &dry.Sugars} {
		if *x != nil {
			pct := min(100, 100**(*x))
			*x = &pct
		}
	}
	return dry
}

func plainShare(f *units.Fraction) *float64 {
	if f == nil {
		return nil
	}
	x := float64(*f)
	return &x
}

func percent(f *units.Fraction) *float64 {
	if f == nil {
		return nil
	}
	x := 100 * float64(*f)
	return &x
}

// lotNamed finds a lot of an ingredient by "I7" or by the supplier's code.
func (s *stock) lotNamed(name string) (*LotRow, error) {
	name = strings.TrimSpace(name)
	var found []*LotRow
	for _, row := range s.rows {
		for _, l := range row.Lots {
			if strings.EqualFold(l.String(), name) {
				return l, nil
			}
			if l.SupplierCode != "" && lab.NameKey(l.SupplierCode) == lab.NameKey(name) {
				found = append(found, l)
			}
		}
	}
	switch len(found) {
	case 0:
		return nil, lab.NotFoundf("look at the list of lots under Supplies", "no ingredient lot is called %s", name)
	case 1:
		return found[0], nil
	}
	return nil, lab.Conflictf("write its number, such as "+found[0].String(), "%s lots bear the supplier’s code %s", strconv.Itoa(len(found)), name)
}
