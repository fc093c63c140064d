package cli

import (
	"fmt"
	"io"

	"pinset/internal/app"
)

type jarChainCmd struct {
	records
	Jar string `arg:"" help:"Code such as K73QF, or batch and number such as B12·13."`
}

// chainView is a chain as JSON.
type chainView struct {
	Jar       string         `json:"jar"`
	Code      string         `json:"code"`
	Batch     string         `json:"batch"`
	Trial     string         `json:"trial"`
	Recipe    string         `json:"recipe"`
	Container string         `json:"container"`
	Cook      string         `json:"cook"`
	Hidden    bool           `json:"hidden"`
	Line      []chainCulture `json:"line"`
	Weighed   []chainWeighed `json:"weighed"`
	History   []chainEvent   `json:"history"`
	Shared    []chainShare   `json:"shared"`
}

type chainCulture struct {
	Culture string  `json:"culture"`
	Form    string  `json:"form"`
	Strain  string  `json:"strain"`
	Source  string  `json:"source"`
	Made    *string `json:"made"`
}

type chainWeighed struct {
	Mix          string  `json:"mix"`
	Made         *string `json:"made"`
	Ingredient   string  `json:"ingredient"`
	Weighed      string  `json:"weighed"`
	Lot          string  `json:"lot"`
	Supplier     string  `json:"supplier"`
	SupplierCode string  `json:"supplier_code"`
}

type chainEvent struct {
	At     *string `json:"at"`
	What   string  `json:"what"`
	By     string  `json:"by"`
	Undone bool    `json:"undone"`
}

type chainShare struct {
	What string `json:"what"`
	Jars string `json:"jars"`
	More bool   `json:"more"`
}

func viewChain(t app.Chain) chainView {
	v := chainView{
		Jar: t.Name, Code: string(t.Row.Code), Batch: t.Batch.Title(), Trial: t.Trial, Recipe: t.Recipe, Container: t.Container, Hidden: t.Hidden,
		Line: []chainCulture{}, Weighed: []chainWeighed{}, History: []chainEvent{}, Shared: []chainShare{},
	}
	if t.Cook != nil {
		v.Cook = t.Cook.String()
	}
	for _, c := range t.Line {
		v.Line = append(v.Line, chainCulture{c.Name, string(c.Form), c.Strain, c.Details.Source, viewWhen(c.Made)})
	}
	for _, m := range t.Mixes {
		for _, l := range m.Lines {
			w := chainWeighed{Mix: m.Mix, Made: viewWhen(m.At), Ingredient: l.Ingredient, Weighed: l.Typed}
			if l.Lot != nil {
				w.Lot, w.Supplier, w.SupplierCode = l.Lot.String(), l.Lot.Supplier, l.Lot.SupplierCode
			}
			v.Weighed = append(v.Weighed, w)
		}
	}
	for _, h := range t.History {
		v.History = append(v.History, chainEvent{viewWhen(h.At), h.What, h.By, h.Undone})
	}
	for _, s := range t.Shared {
		v.Shared = append(v.Shared, chainShare{s.What, s.Jars, s.Many})
	}
	return v
}

func (c *jarChainCmd) Run(r *run) error {
	return r.onFarm(c.records, func(f *app.Farm) error {
		t, err := f.Chain(r.ctx, c.Jar)
		if err != nil {
			return err
		}
		v := viewChain(t)
		return r.print(v, v.write)
	})
}

func (v chainView) write(w io.Writer) {
	fmt.Fprintf(w, "Chain of %s  %s\n%s\n", v.Jar, v.Code, joined(", ", v.Batch, v.Recipe, v.Container, v.Cook))
	if v.Hidden {
		fmt.Fprintln(w, "What would tell its arm stands here once the key of the trial is opened.")
	}
	t := newTable("mix", "ingredient", "weighed", "lot", "supplier", "the sack says")
	for _, l := range v.Weighed {
		t.row(l.Mix, l.Ingredient, l.Weighed, l.Lot, l.Supplier, l.SupplierCode)
	}
	t.write(w)
	for _, c := range v.Line {
		fmt.Fprintf(w, "%s\n", joined(", ", c.Culture, c.Form, c.Strain, c.Source))
	}
	for _, h := range v.History {
		at := ""
		if h.At != nil {
			at = *h.At
		}
		fmt.Fprintf(w, "%s  %s\n", at, joined(" ", h.What, initials(h.By)))
	}
	for _, s := range v.Shared {
		fmt.Fprintf(w, "%s: %s\n", s.What, s.Jars)
	}
}
