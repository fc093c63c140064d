package lab

import (
	"regexp"
	"strconv"
	"strings"

	"pinset/internal/figure"
	"pinset/internal/units"
)

// IngredientLot is one delivery of an ingredient. A correction is a further
// entry with the same Lot.
type IngredientLot struct {
	Entry        // At is when it was received
	Lot          IngredientLotID
	Number       int // 7 is shown as I7; never reused
	Ingredient   IngredientID
	Supplier     string
	SupplierCode string // what the sack says
	BestBefore   Day    // zero if it says none
	Moisture     *units.Fraction
	Cup          units.Gram // what a level US cup weighs, 0 if not weighed
	Bought       units.Gram // 0 if not known
	BoughtTyped  string     // such as "2 x 25 lb"
	Price        Price
	Note         string
}

// String returns what pages call it: "I7".
func (l IngredientLot) String() string { return "I" + strconv.Itoa(l.Number) }

// Check returns l with its texts tidied, or an Invalid Problem.
func (l IngredientLot) Check() (IngredientLot, error) {
	var err error
	for _, t := range []struct {
		field string
		text  *string
	}{{"supplier", &l.Supplier}, {"supplier_code", &l.SupplierCode}} {
		if strings.TrimSpace(*t.text) == "" {
			*t.text = ""
			continue
		}
		if *t.text, err = Name(t.field, *t.text); err != nil {
			return l, err
		}
	}
	if l.Note, err = Text("note", l.Note); err != nil {
		return l, err
	}
	if m := l.Moisture; m != nil && !(*m >= 0 && *m < 1) {
		return l, Invalidf("moisture", "write the water as a share of the wet weight, such as 12 %", "the lot can not hold %.4g %% water", float64(*m)*100)
	}
	if !(l.Cup >= 0 && l.Cup <= 6000) {
		return l, Invalidf("cup", "weigh a level cup, tablespoon or litre again", "a cup of it would weigh %g g", float64(l.Cup))
	}
	if !(l.Bought >= 0 && l.Bought <= maxBought) {
		return l, Invalidf("bought", "check the number and its unit", "%g kg are more than one delivery can be", float64(l.Bought)/1000)
	}
	if !l.BestBefore.IsZero() && !l.At.Time.IsZero() && l.BestBefore.Before(l.At.Time.AddDate(-5, 0, 0)) {
		return l, Invalidf("best_before", "check the year", "the lot was best before %s, years before it came", l.BestBefore)
	}
	return l, l.Price.check()
}

const maxBought = 1e8 // g, 100 t

// Price is what was paid, as typed and in minor units of its currency.
type Price struct {
	Typed    string
	Minor    int64      // hundredths of the currency
	Currency string     // as typed, "" if not said
	For      units.Gram // what that price is for, 0 if not known
}

// Known reports whether a price per gram can be said.
func (p Price) Known() bool { return p.Typed != "" && p.For > 0 }

// PerKg returns what a kilogram costs, in the currency, and whether it is known.
func (p Price) PerKg() (float64, bool) {
	if !p.Known() {
		return 0, false
	}
	return float64(p.Minor) / 100 * 1000 / float64(p.For), true
}

const maxPriceMinor = 1e13

func (p Price) check() error {
	if !(p.Minor >= 0 && p.Minor <= maxPriceMinor) || !(p.For >= 0 && p.For <= maxBought) {
		return Invalidf("price", "check the number", "%s is not a price that can be kept", p.Typed)
	}
	return nil
}

var (
	currencyFirst = regexp.MustCompile(`^([\p{Sc}]|[A-Za-z]{2,4}[\p{Sc}]?)\s*(?:\.\s*)?([0-9].*)$`)
	currencyAfter = regexp.MustCompile(`^([\p{Sc}]|[A-Za-z]{3})(?:\s|/|$)`)
	perWhat       = regexp.MustCompile(`^(?:/|per\b|for\b|a\b)\s*(.*)$`)
)

// ParsePrice reads "24.90 EUR", "€24.90 / 25 kg", "1.20 per lb". A price that
// does not say for how much is for bought, which may be 0 for not known.
func ParsePrice(typed string, bought units.Gram) (Price, error) {
	p := Price{Typed: strings.TrimSpace(typed), For: bought}
	if p.Typed == "" {
		return Price{}, nil
	}
	const mend = "write it like 24.90 EUR for 25 kg, or 1.20 per kg"
	rest := p.Typed
	if m := currencyFirst.FindStringSubmatch(rest); m != nil {
		p.Currency, rest = m[1], m[2]
	}
	amount, rest, err := units.Number(rest)
	if err != nil {
		return Price{}, pointed("price", err)
	}
	if m := currencyAfter.FindStringSubmatch(rest); m != nil && p.Currency == "" && !strings.EqualFold(m[1], "per") && !strings.EqualFold(m[1], "for") {
		p.Currency, rest = m[1], rest[len(m[1]):]
	}
	if !(amount >= 0 && amount*100 <= maxPriceMinor) {
		return Price{}, Invalidf("price", mend, "%s is not a price that can be kept", figure.Clip(p.Typed, 40))
	}
	p.Minor = int64(amount*100 + 0.5)
	p.Currency = strings.ToUpper(p.Currency)
	switch m := perWhat.FindStringSubmatch(strings.TrimSpace(rest)); {
	case strings.TrimSpace(rest) == "":
	case m == nil || strings.TrimSpace(m[1]) == "":
		return Price{}, Invalidf("price", mend, "%q is not read as a price", figure.Clip(p.Typed, 40))
	default:
		what := strings.TrimSpace(m[1])
		if units.Known(what) {
			what = "1 " + what
		}
		if p.For, err = units.ParseMass(what); err != nil {
			return Price{}, pointed("price", err)
		}
		if !(p.For > 0) {
			return Price{}, Invalidf("price", mend, "%q is a price for nothing", figure.Clip(p.Typed, 40))
		}
	}
	return p, p.check()
}

// pointed returns err as a Problem at field.
func pointed(field string, err error) error {
	if p, ok := AsProblem(err); ok {
		q := *p
		q.Field = field
		return &q
	}
	return err
}
