package app

import (
	"context"
	"regexp"
	"strconv"
	"strings"

	"pinset/internal/calc/substrate"
	"pinset/internal/lab"
	"pinset/internal/store"
	"pinset/internal/units"
)

// NewFigures are a grower's own figures of an ingredient as typed. What is
// blank stays as it is; "-" takes the figure back.
type NewFigures struct {
	Ingredient string // by name; one that is not there is added
	StandsFor  string // the row of the book that is meant
	Moisture   string // shares such as "12 %"
	Nitrogen   string
	Carbon     string
	Protein    string
	Fat        string
	Carbs      string
	Sugars     string
	Fibre      string
	Ash        string
	Factor     string // protein over nitrogen, such as 6.25
	Cup        string // such as "120 g", which is a cup, or "1 tbsp = 8 g"
	Allergens  string // parted by commas
}

// SetFigures keeps the grower's own figures of an ingredient. They replace
// those of the book from now on.
func (f *Farm) SetFigures(ctx context.Context, a Act, n NewFigures) (Done, error) {
	name, err := lab.Name("ingredient", n.Ingredient)
	if err != nil {
		return Done{}, err
	}
	var done Done
	err = f.store.Write(ctx, func(w store.Writer) error {
		deed, err := f.deed(a, "", "figures of %s", name)
		if err != nil {
			return err
		}
		done = Done{Deed: deed.ID, What: deed.What}
		fresh, err := w.AddDeed(ctx, deed)
		if err != nil || !fresh {
			done.Repeat = !fresh
			return err
		}
		return f.keepFigures(ctx, w, deed, name, n)
	})
	return done, err
}

// keepFigures keeps figures as part of a deed.
func (f *Farm) keepFigures(ctx context.Context, w store.Writer, deed lab.Deed, name string, n NewFigures) error {
	i, err := ingredientFor(ctx, w, name)
	if err != nil {
		return err
	}
	entries, err := w.IngredientFigures(ctx)
	if err != nil {
		return err
	}
	figures, err := n.onto(lab.Newest(entries)[i.ID])
	if err != nil {
		return err
	}
	return w.AddIngredientFigures(ctx, []lab.IngredientFigures{{Entry: entryOf(deed, lab.At(f.now())), Ingredient: i.ID, Figures: figures}})
}

// ingredientFor returns the ingredient called name, which is added if it is
// not there.
func ingredientFor(ctx context.Context, w store.Writer, name string) (lab.Ingredient, error) {
	i, err := w.IngredientByName(ctx, name)
	if err == nil || !lab.IsKind(err, lab.NotFound) {
		return i, err
	}
	i, err = lab.Ingredient{ID: newID[lab.IngredientID](), Name: name}.Check()
	if err != nil {
		return i, err
	}
	return i, w.AddIngredient(ctx, i)
}

// onto returns old with what n says.
func (n NewFigures) onto(old lab.Figures) (lab.Figures, error) {
	f := old
	for _, x := range []struct {
		field, typed string
		to           **units.Fraction
	}{
		{"moisture", n.Moisture, &f.Moisture},
		{"nitrogen", n.Nitrogen, &f.Nitrogen},
		{"carbon", n.Carbon, &f.Carbon},
		{"protein", n.Protein, &f.Protein},
		{"fat", n.Fat, &f.Fat},
		{"carbohydrate", n.Carbs, &f.Carbohydrate},
		{"sugars", n.Sugars, &f.Sugars},
		{"fibre", n.Fibre, &f.Fibre},
		{"ash", n.Ash, &f.Ash},
	} {
		if err := setKnown(x.field, x.typed, x.to, units.ParseFraction); err != nil {
			return f, err
		}
	}
	factor := func(s string) (float64, error) { x, _, err := units.Number(s); return x, err }
	if err := setKnown("factor", n.Factor, &f.Factor, factor); err != nil {
		return f, err
	}
	switch typed := strings.TrimSpace(n.Cup); typed {
	case "":
	case "-":
		f.Cup, f.CupTyped = 0, ""
	default:
		cup, err := parseCup(typed)
		if err != nil {
			return f, err
		}
		f.Cup, f.CupTyped = cup, typed
	}
	switch typed := strings.TrimSpace(n.Allergens); typed {
	case "":
	case "-":
		f.Allergens = nil
	default:
		f.Allergens = strings.Split(typed, ",")
	}
	switch typed := strings.TrimSpace(n.StandsFor); typed {
	case "":
	case "-":
		f.StandsFor = ""
	default:
		if len(substrate.Find(typed)) == 0 {
			return f, lab.Invalidf("stands_for", "write a row of the table, such as dextrose monohydrate", "the table of ingredients has no row %q", typed)
		}
		f.StandsFor = typed
	}
	return f.Check()
}

// setKnown reads typed into a figure that may be absent.
func setKnown[T ~float64](field, typed string, to **T, parse func(string) (T, error)) error {
	switch typed = strings.TrimSpace(typed); typed {
	case "":
		return nil
	case "-":
		*to = nil
		return nil
	}
	v, err := parse(typed)
	if err != nil {
		return atField(field, err)
	}
	*to = &v
	return nil
}

var equation = regexp.MustCompile(`^(.*\S)\s*(?:=|\bis\b|\bweighs\b)\s*(\S.*)$`)

// parseCup reads what a cup weighs: "120 g", or "1 tbsp = 8 g".
func parseCup(typed string) (units.Gram, error) {
	volume, mass := "1 cup", typed
	if m := equation.FindStringSubmatch(typed); m != nil {
		volume, mass = m[1], m[2]
	}
	if units.Known(volume) {
		volume = "1 " + volume
	}
	ml, err := units.ParseVolume(volume)
	if err != nil {
		return 0, atField("cup", err)
	}
	q, err := units.ParseIn(mass, "g")
	if err != nil {
		return 0, atField("cup", err)
	}
	if q.Dim != units.Mass || !(ml > 0) || !(q.Value > 0) {
		return 0, lab.Invalidf("cup", "write what a level cup weighs, such as 120 g, or 1 tbsp = 8 g", "%q gives no weight of a measure", typed)
	}
	return units.Gram(q.Value * (cupML / float64(ml))), nil
}

// NewLot is one delivery as typed. With Corrects, what is blank stays as it
// was; otherwise it is not known.
type NewLot struct {
	Ingredient   string // by name; one that is not there is added
	Corrects     string // "I7", to correct that lot
	Supplier     string
	SupplierCode string
	Received     string // when; today if blank
	BestBefore   string // day
	Moisture     string
	Cup          string
	Bought       string // such as "25 kg" or "2 x 50 lb"
	Price        string // such as "24.90 EUR" or "1.20 per kg"
	Note         string
}

// AddLot keeps a delivery of an ingredient, or corrects one.
func (f *Farm) AddLot(ctx context.Context, a Act, n NewLot) (lab.IngredientLot, Done, error) {
	var l lab.IngredientLot
	var done Done
	err := f.store.Write(ctx, func(w store.Writer) error {
		var err error
		if l, err = f.lotOf(ctx, w, n); err != nil {
			return err
		}
		deed, err := f.deed(a, "", "%s: %s", l, firstOf(strings.TrimSpace(n.Ingredient), "mended"))
		if err != nil {
			return err
		}
		done = Done{Deed: deed.ID, What: deed.What}
		fresh, err := w.AddDeed(ctx, deed)
		if err != nil {
			return err
		}
		if !fresh {
			done.Repeat = true
			kept, err := w.DeedEntries(ctx, deed.ID)
			if err == nil && len(kept.Lots) > 0 {
				l = kept.Lots[0]
			}
			return err
		}
		corrects, at := l.ID, l.At
		l.Entry = entryOf(deed, at)
		l.Corrects = corrects
		return w.AddIngredientLots(ctx, []lab.IngredientLot{l})
	})
	return l, done, err
}

// lotOf reads a delivery, or one that corrects another: then its ID is that
// of the entry to correct.
func (f *Farm) lotOf(ctx context.Context, w store.Writer, n NewLot) (lab.IngredientLot, error) {
	s, err := f.readStock(ctx, w)
	if err != nil {
		return lab.IngredientLot{}, err
	}
	var l lab.IngredientLot
	if strings.TrimSpace(n.Corrects) != "" {
		old, err := s.lotNamed(n.Corrects)
		if err != nil {
			return l, atField("lot", err)
		}
		l = old.IngredientLot
	} else {
		name, err := lab.Name("ingredient", n.Ingredient)
		if err != nil {
			return l, err
		}
		i, err := ingredientFor(ctx, w, name)
		if err != nil {
			return l, err
		}
		l.Lot, l.Ingredient, l.Number = newID[lab.IngredientLotID](), i.ID, 1
		all, err := w.IngredientLots(ctx)
		if err != nil {
			return l, err
		}
		for _, x := range all { // those that were taken back too
			l.Number = max(l.Number, x.Number+1)
		}
	}
	if l.At.IsZero() || strings.TrimSpace(n.Received) != "" {
		if l.At, err = f.when(ctx, w, "received", firstOf(strings.TrimSpace(n.Received), "today")); err != nil {
			return l, err
		}
	}
	return n.onto(l)
}

// onto returns l with what n says.
func (n NewLot) onto(l lab.IngredientLot) (lab.IngredientLot, error) {
	for _, t := range []struct {
		typed string
		to    *string
	}{{n.Supplier, &l.Supplier}, {n.SupplierCode, &l.SupplierCode}, {n.Note, &l.Note}} {
		if strings.TrimSpace(t.typed) != "" {
			*t.to = t.typed
		}
	}
	var err error
	if strings.TrimSpace(n.BestBefore) != "" {
		if l.BestBefore, err = lab.ParseDay("best_before", n.BestBefore); err != nil {
			return l, err
		}
	}
	if err := setKnown("moisture", n.Moisture, &l.Moisture, units.ParseFraction); err != nil {
		return l, err
	}
	if typed := strings.TrimSpace(n.Cup); typed != "" {
		if l.Cup, err = parseCup(typed); err != nil {
			return l, err
		}
	}
	if typed := strings.TrimSpace(n.Bought); typed != "" {
		if l.Bought, err = parseBought(typed); err != nil {
			return l, err
		}
		l.BoughtTyped = typed
	}
	if typed := firstOf(strings.TrimSpace(n.Price), l.Price.Typed); typed != "" { // again, for what was bought may have changed
		if l.Price, err = lab.ParsePrice(typed, l.Bought); err != nil {
			return l, err
		}
	}
	return l.Check()
}

var times = regexp.MustCompile(`^([0-9]{1,4})\s*[x×*]\s*(\S.*)$`)

// parseBought reads "25 kg" or "2 x 50 lb".
func parseBought(typed string) (units.Gram, error) {
	n := 1
	rest := typed
	if m := times.FindStringSubmatch(typed); m != nil {
		var err error
		if n, err = strconv.Atoi(m[1]); err != nil {
			return 0, err
		}
		rest = m[2]
	}
	each, err := units.ParseMass(rest)
	if err != nil {
		return 0, atField("bought", err)
	}
	if !(float64(n)*float64(each) > 0) {
		return 0, lab.Invalidf("bought", "write what came, such as 25 kg or 2 x 50 lb", "%q is nothing", typed)
	}
	return units.Gram(n) * each, nil
}

// Stock returns all ingredients with the farm's own figures and lots, by name.
func (f *Farm) Stock(ctx context.Context) ([]*StockRow, error) {
	var s *stock
	err := f.store.Read(ctx, func(r store.Reader) (err error) { s, err = f.readStock(ctx, r); return err })
	if err != nil {
		return nil, err
	}
	return s.rows, nil
}

// StockOf returns one ingredient with the farm's own figures and lots.
func (f *Farm) StockOf(ctx context.Context, name string) (*StockRow, error) {
	var row *StockRow
	err := f.store.Read(ctx, func(r store.Reader) error {
		i, err := r.IngredientByName(ctx, name)
		if err != nil {
			return err
		}
		s, err := f.readStock(ctx, r)
		row = s.of(i.Name)
		return err
	})
	return row, err
}
