package cli

import (
	"fmt"
	"io"

	"pinset/internal/app"
	"pinset/internal/lab"
)

type cookItemCmd struct {
	signed
	Cook      string `arg:"" help:"Cook, such as 7 or its own name."`
	Name      string `arg:"" help:"What it is, such as 'agar bottles'."`
	Count     int    `required:"" help:"Pieces." placeholder:"N"`
	Kind      string `help:"liquid, fill (a substrate) or tools." enum:"liquid,fill,tools" default:"liquid"`
	Container string `help:"Container, as the records know it." placeholder:"NAME"`
	Layer     int    `help:"Layer, counted from the bottom." placeholder:"N"`
	Fill      string `help:"Liquid in each, or height of the substrate." placeholder:"375mL|60mm"`
	Mass      string `help:"Substrate in each, wet, or mass of a tool." placeholder:"260g"`
	Moisture  string `help:"Moisture of the substrate." placeholder:"60%"`
	Empty     string `help:"Mass of an empty vessel." placeholder:"310g"`
	Stacked   int    `help:"Bags that lie on each other; 1 is each on a rack." placeholder:"N"`
	Mixed     bool   `help:"Vessels of two sizes may stand in this cook."`
}

// itemView is an item for printing.
type itemView struct {
	Count int    `json:"count"`
	Name  string `json:"item"`
	lab.ItemFigures
	Deed lab.DeedID `json:"deed"`
}

func (c *cookItemCmd) Run(r *run) error {
	return r.onFarm(c.records, func(f *app.Farm) error {
		i, err := f.AddCookItem(r.ctx, c.act(), c.Cook, app.NewItem{
			Name: c.Name, Count: c.Count, Kind: c.Kind, Container: c.Container, Layer: c.Layer, Stacked: c.Stacked,
			Fill: c.Fill, Mass: c.Mass, Moisture: c.Moisture, Empty: c.Empty, Mixed: c.Mixed,
		})
		if err != nil {
			return err
		}
		return r.print(itemView{i.Count, i.Name, i.Figures, i.Deed}, func(w io.Writer) {
			fmt.Fprintf(w, "cook %s: %d %s\n", c.Cook, i.Count, i.Name)
			writeUndo(w, i.Deed)
		})
	})
}
