package cli

import (
	"fmt"
	"io"
	"strings"

	"pinset/internal/app"
	"pinset/internal/lab"
	"pinset/internal/units"
)

type ingredientCmds struct {
	Add     ingredientAddCmd     `cmd:"" help:"Keep an ingredient."`
	List    ingredientListCmd    `cmd:"" help:"List the ingredients with what is left of them."`
	Show    ingredientShowCmd    `cmd:"" help:"Show what is known of one, and its lots."`
	Set     ingredientSetCmd     `cmd:"" help:"Keep your own figures of one; they replace the book's."`
	Receive ingredientReceiveCmd `cmd:"" help:"Keep a delivery of one, or correct one with --correct."`
}

type ingredientAddCmd struct {
	signed
	Name     string `arg:"" help:"Name."`
	Moisture string `help:"Water as measured, wet basis." placeholder:"12%"`
	Note     string `help:"Anything else." placeholder:"TEXT"`
}

func (c *ingredientAddCmd) Run(r *run) error {
	return r.beginFarm(c.records, func(f *app.Farm) error {
		got, err := f.AddIngredient(r.ctx, app.NewIngredient{Name: c.Name, Moisture: c.Moisture, Note: c.Note})
		if err != nil {
			return err
		}
		return r.printKept("ingredient", got.Name)
	})
}

type ingredientListCmd struct{ records }

// stockView is an ingredient for printing.
type stockView struct {
	Ingredient string   `json:"ingredient"`
	Moisture   *float64 `json:"moisture_pct"` // of the lot in use, else as measured; null is the book's
	Left       *float64 `json:"left_g"`       // of all lots; null if not known
	Lots       int      `json:"lots"`
	Means      string   `json:"means"`    // the row of the book, "" if it has none
	Could      []string `json:"could_be"` // what the name can mean, where it was not said
}

func viewStock(row *app.StockRow) stockView {
	v := stockView{Ingredient: row.Name, Lots: len(row.Lots), Means: row.Means, Could: row.Choices}
	if v.Could == nil {
		v.Could = []string{}
	}
	moisture := row.Moisture
	if row.Figures.Moisture != nil {
		moisture = row.Figures.Moisture
	}
	if lot := row.InUse(); lot != nil && lot.Moisture != nil {
		moisture = lot.Moisture
	}
	v.Moisture = percentOf(moisture)
	left, known := 0.0, len(row.Lots) > 0
	for _, l := range row.Lots {
		if l.Left == nil {
			known = false
			continue
		}
		left += max(0, float64(*l.Left))
	}
	if known {
		v.Left = &left
	}
	return v
}

func percentOf(f *units.Fraction) *float64 {
	if f == nil {
		return nil
	}
	x := 100 * float64(*f)
	return &x
}

func (c *ingredientListCmd) Run(r *run) error {
	return r.onFarm(c.records, func(f *app.Farm) error {
		rows, err := f.Stock(r.ctx)
		if err != nil {
			return err
		}
		out := []stockView{}
		for _, row := range rows {
			out = append(out, viewStock(row))
		}
		return r.print(out, func(w io.Writer) {
			t := newTable("ingredient", "water %", "left g", "lots", "in the book")
			for _, v := range out {
				book := v.Means
				if len(v.Could) > 0 {
					book = strings.Join(v.Could, " or ") + "?"
				}
				t.row(v.Ingredient, decimals(v.Moisture, 1), decimals(v.Left, 0), v.Lots, book)
			}
			t.write(w)
		})
	})
}

type ingredientShowCmd struct {
	records
	Name string `arg:"" help:"Ingredient."`
}

type lotView struct {
	Lot          string   `json:"lot"`
	Supplier     string   `json:"supplier"`
	SupplierCode string   `json:"supplier_code"`
	Received     *string  `json:"received"`
	BestBefore   string   `json:"best_before"`
	Past         bool     `json:"past"`
	Moisture     *float64 `json:"moisture_pct"`
	Bought       *float64 `json:"bought_g"`
	Left         *float64 `json:"left_g"`
	Price        string   `json:"price"`
	PerKg        *float64 `json:"price_per_kg"`
	Note         string   `json:"note"`
}

func viewLot(l *app.LotRow) lotView {
	v := lotView{
		Lot: l.String(), Supplier: l.Supplier, SupplierCode: l.SupplierCode, Received: viewWhen(l.At), BestBefore: l.BestBefore.String(), Past: l.Past,
		Moisture: percentOf(l.Moisture), Bought: known(float64(l.Bought)), Price: l.Price.Typed, Note: l.Note,
	}
	if l.Left != nil {
		left := float64(*l.Left)
		v.Left = &left
	}
	if p, ok := l.Price.PerKg(); ok {
		v.PerKg = &p
	}
	return v
}

func (c *ingredientShowCmd) Run(r *run) error {
	return r.onFarm(c.records, func(f *app.Farm) error {
		row, err := f.StockOf(r.ctx, c.Name)
		if err != nil {
			return err
		}
		out := struct {
			stockView
			Cup       *float64  `json:"cup_g"`
			Allergens []string  `json:"allergens"`
			List      []lotView `json:"lot_list"`
		}{viewStock(row), known(float64(row.Figures.Cup)), append([]string{}, row.Figures.Allergens...), []lotView{}}
		for _, l := range row.Lots {
			out.List = append(out.List, viewLot(l))
		}
		return r.print(out, func(w io.Writer) {
			fmt.Fprintf(w, "%s\nwater %% %s, cup %s g, in the book %s\n", out.Ingredient, decimals(out.Moisture, 1), decimals(out.Cup, 0), orNone(out.Means))
			if len(out.Could) > 0 {
				fmt.Fprintf(w, "can be %s: say which with pinset ingredient set %q --stands-for NAME\n", strings.Join(out.Could, " or "), out.Ingredient)
			}
			if len(out.List) == 0 {
				return
			}
			t := newTable("lot", "supplier", "code", "best before", "water %", "left g", "per kg")
			for _, l := range out.List {
				t.row(l.Lot, l.Supplier, l.SupplierCode, l.BestBefore, decimals(l.Moisture, 1), decimals(l.Left, 0), decimals(l.PerKg, 2))
			}
			t.write(w)
		})
	})
}

func orNone(s string) string {
	if s == "" {
		return "none"
	}
	return s
}

type ingredientSetCmd struct {
	signed
	Name      string `arg:"" help:"Ingredient; one that is not there is added."`
	StandsFor string `help:"Row of the book that is meant." placeholder:"NAME"`
	Moisture  string `help:"Water, wet basis; - takes a figure back." placeholder:"12%"`
	Nitrogen  string `help:"Of dry matter." placeholder:"1.4%"`
	Carbon    string `help:"Of dry matter, without carbonates." placeholder:"45%"`
	Protein   string `help:"As the label prints it." placeholder:"12%"`
	Fat       string `help:"As the label prints it." placeholder:"2%"`
	Carbs     string `help:"Carbohydrate, fibre included." placeholder:"70%"`
	Sugars    string `help:"As the label prints it." placeholder:"1%"`
	Fibre     string `help:"As the label prints it." placeholder:"10%"`
	Ash       string `help:"As the label prints it." placeholder:"2%"`
	Factor    string `help:"Protein over nitrogen." placeholder:"6.25"`
	Cup       string `help:"What a level cup weighs, or '1 tbsp = 8 g'." placeholder:"120g"`
	Allergens string `help:"Parted by commas." placeholder:"NAMES"`
}

func (c *ingredientSetCmd) Run(r *run) error {
	return r.beginFarm(c.records, func(f *app.Farm) error {
		done, err := f.SetFigures(r.ctx, c.act(), app.NewFigures{
			Ingredient: c.Name, StandsFor: c.StandsFor, Moisture: c.Moisture, Nitrogen: c.Nitrogen, Carbon: c.Carbon, Protein: c.Protein, Fat: c.Fat,
			Carbs: c.Carbs, Sugars: c.Sugars, Fibre: c.Fibre, Ash: c.Ash, Factor: c.Factor, Cup: c.Cup, Allergens: c.Allergens,
		})
		if err != nil {
			return err
		}
		return r.printDone(done)
	})
}

type ingredientReceiveCmd struct {
	signed
	Name     string `arg:"" optional:"" help:"Ingredient; one that is not there is added."`
	Correct  string `help:"Lot to correct instead of a new one." placeholder:"I7"`
	Bought   string `help:"How much came, such as 25kg or '2 x 50 lb'." placeholder:"25kg"`
	Price    string `help:"What it cost, such as '24.90 EUR' or '1.20 per kg'." placeholder:"PRICE"`
	Supplier string `help:"Who it is from." placeholder:"NAME"`
	Code     string `help:"What the sack says." placeholder:"CODE"`
	Received string `help:"When; today if left out." placeholder:"DAY"`
	Before   string `name:"best-before" help:"Day." placeholder:"DAY"`
	Moisture string `help:"Water as measured, wet basis." placeholder:"12%"`
	Cup      string `help:"What a level cup of it weighs." placeholder:"120g"`
	Note     string `help:"Anything else." placeholder:"TEXT"`
}

func (c *ingredientReceiveCmd) Run(r *run) error {
	if (c.Name == "") == (c.Correct == "") {
		return lab.Invalidf("name", "write the ingredient that came, or --correct I7 for a lot that is there", "it is not said what came")
	}
	return r.beginFarm(c.records, func(f *app.Farm) error {
		lot, _, err := f.AddLot(r.ctx, c.act(), app.NewLot{
			Ingredient: c.Name, Corrects: c.Correct, Supplier: c.Supplier, SupplierCode: c.Code, Received: c.Received, BestBefore: c.Before,
			Moisture: c.Moisture, Cup: c.Cup, Bought: c.Bought, Price: c.Price, Note: c.Note,
		})
		if err != nil {
			return err
		}
		return r.printKept("lot", lot.String())
	})
}
