package cli

import (
	"fmt"
	"io"

	"pinset/internal/app"
	"pinset/internal/lab"
)

// printKept says what was kept.
func (r *run) printKept(noun, name string) error {
	return r.print(map[string]string{noun: name}, func(w io.Writer) { fmt.Fprintf(w, "kept the %s %s\n", noun, name) })
}

type containerCmds struct {
	Add  containerAddCmd  `cmd:"" help:"Keep a kind of vessel."`
	List containerListCmd `cmd:"" help:"List the kinds of vessel."`
	Lid  containerLidCmd  `cmd:"" help:"Say how the lid of one vents."`
}

type containerLidCmd struct {
	signed
	Name string `arg:"" help:"Name."`
	Lid  string `arg:"" help:"vented, filter, foil, tight or open."`
}

func (c *containerLidCmd) Run(r *run) error {
	return r.onFarm(c.records, func(f *app.Farm) error {
		deed, err := f.SaveLid(r.ctx, c.act(), c.Name, c.Lid)
		if err != nil {
			return err
		}
		return r.print(map[string]any{"container": c.Name, "lid": c.Lid, "deed": deed}, func(w io.Writer) {
			fmt.Fprintf(w, "kept of %s: %s\n", c.Name, lab.Lid(lab.NameKey(c.Lid)).Label())
			writeUndo(w, deed)
		})
	})
}

type containerAddCmd struct {
	signed
	Name   string `arg:"" help:"Name."`
	Kind   string `help:"jar, bottle, bag, tub or plate." default:"jar"`
	Volume string `help:"Brim-full." placeholder:"500mL"`
	Bore   string `help:"Inner diameter." placeholder:"80mm"`
	Height string `help:"Inner height." placeholder:"110mm"`
	Lid    string `help:"vented, filter, foil, tight or open." placeholder:"LID"`
	Note   string `help:"Anything else." placeholder:"TEXT"`
}

func (c *containerAddCmd) Run(r *run) error {
	return r.beginFarm(c.records, func(f *app.Farm) error {
		got, err := f.AddContainer(r.ctx, app.NewContainer{Name: c.Name, Kind: c.Kind, Volume: c.Volume, Bore: c.Bore, Height: c.Height, Lid: c.Lid, Note: c.Note, By: c.By})
		if err != nil {
			return err
		}
		return r.printKept("container", got.Name)
	})
}

type containerListCmd struct{ records }

func (c *containerListCmd) Run(r *run) error {
	return r.onFarm(c.records, func(f *app.Farm) error {
		rows, err := f.Containers(r.ctx)
		if err != nil {
			return err
		}
		type view struct {
			Container string            `json:"container"`
			Kind      lab.ContainerKind `json:"kind"`
			Volume    *float64          `json:"volume_ml"`
			Bore      *float64          `json:"bore_mm"`
			Height    *float64          `json:"height_mm"`
			Lid       lab.Lid           `json:"lid"`
		}
		out := []view{}
		for _, x := range rows {
			out = append(out, view{x.Name, x.Kind, known(float64(x.Volume)), known(float64(x.Bore)), known(float64(x.Height)), x.Lid})
		}
		return r.print(out, func(w io.Writer) {
			t := newTable("container", "kind", "mL", "bore mm", "height mm", "lid")
			for _, v := range out {
				t.row(v.Container, v.Kind, decimals(v.Volume, 0), decimals(v.Bore, 0), decimals(v.Height, 0), string(v.Lid))
			}
			t.write(w)
		})
	})
}

type farmCmds struct {
	Show farmShowCmd `cmd:"" help:"Show name, time zone and altitude."`
	Set  farmSetCmd  `cmd:"" help:"Set them."`
}

type farmShowCmd struct{ records }

func (c *farmShowCmd) Run(r *run) error {
	return r.onFarm(c.records, func(f *app.Farm) error {
		s, err := f.Settings(r.ctx)
		if err != nil {
			return err
		}
		out := struct {
			Name     string   `json:"name"`
			Zone     string   `json:"zone"`
			Altitude *float64 `json:"altitude_m"`
			Step     float64  `json:"scale_step_g"`
		}{s.Name, s.Zone.String(), s.Altitude, float64(s.Step)}
		return r.print(out, func(w io.Writer) {
			fmt.Fprintf(w, "name      %s\nzone      %s\naltitude  %s m\nscale     steps of %g g\n", out.Name, out.Zone, decimals(out.Altitude, 0), out.Step)
		})
	})
}

type farmSetCmd struct {
	signed
	Name     string `help:"Name of the farm." placeholder:"NAME"`
	Zone     string `help:"Time zone." placeholder:"Europe/Lisbon"`
	Altitude string `help:"Height above the sea." placeholder:"420m"`
	Scale    string `help:"Smallest step that your scale shows." placeholder:"1g"`
}

func (c *farmSetCmd) Run(r *run) error {
	return r.beginFarm(c.records, func(f *app.Farm) error {
		if err := f.SaveSettings(r.ctx, app.NewSettings{Name: c.Name, Zone: c.Zone, Altitude: c.Altitude, Step: c.Scale}); err != nil {
			return err
		}
		return r.printKept("farm", c.Name)
	})
}
