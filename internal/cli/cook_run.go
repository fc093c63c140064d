package cli

import (
	"bytes"
	"fmt"
	"io"
	"path/filepath"
	"strings"

	"pinset/internal/app"
	"pinset/internal/ingest"
	"pinset/internal/lab"
)

type cookAdviseCmd struct {
	records
	Cook         string  `arg:"" help:"Cook, such as 7 or its own name."`
	RuleAltitude float64 `help:"Metres above the sea where your rule was made." placeholder:"M"`
	FillMM       float64 `name:"fill-mm" help:"Height of the substrate, as measured." placeholder:"MM"`
}

func (c *cookAdviseCmd) Run(r *run) error {
	return r.onFarm(c.records, func(f *app.Farm) error {
		a, err := f.CookAdvice(r.ctx, c.Cook, app.AdviceOptions{RuleAltitudeM: c.RuleAltitude, FillMM: c.FillMM})
		if err != nil {
			return err
		}
		return r.print(a, func(w io.Writer) { writeAdvice(w, a) })
	})
}

func writeAdvice(w io.Writer, a app.CookAdvice) {
	t := newTable("", "")
	for _, x := range []struct {
		what, unit string
		v          *float64
	}{
		{"your rule", "min", a.RuleMin},
		{"same kill without lag", "min", a.NoLagMin},
	} {
		t.row(x.what, unknownOr(x.v, x.unit))
	}
	t.row("same kill in the core", a.CoreText())
	t.row("hold at least", unknownOr(a.AdvisedMin, "min"))
	pour := "not known"
	if a.PourL != nil {
		pour = fmt.Sprintf("at least %.2f L", *a.PourL)
	}
	t.row("water to pour", pour)
	t.write(w)
	for _, line := range append([]string{a.Why, a.Fitted, a.Learned}, a.Missing...) {
		if line != "" {
			wrap(w, "", line)
		}
	}
	printCautions(w, a.Cautions)
}

// unknownOr prints minutes rounded up, or that they are not known.
func unknownOr(v *float64, unit string) string {
	if v == nil {
		return "not known"
	}
	up := float64(int(*v))
	if *v-up > 1.0/60 {
		up++
	}
	return fmt.Sprintf("%.0f %s", up, unit)
}

type cookStepCmd struct {
	signed
	Cook  string `arg:"" help:"Cook, such as 7 or its own name."`
	Event string `arg:"" help:"fill, mass, lid, start, barometer, water, heat_on, vent, weight_on, gauge, reads, zero, water_left or heard."`
	Typed string `arg:"" optional:"" help:"Height, mass, temperature, air pressure, water or gauge as read, or the alarm that was heard." placeholder:"2.8L"`
	At    string `help:"When; now if left out." placeholder:"TIME"`
}

func (c *cookStepCmd) Run(r *run) error {
	return r.onFarm(c.records, func(f *app.Farm) error {
		deed, err := f.StepCook(r.ctx, c.act(), c.Cook, lab.Event(c.Event), c.Typed, c.At)
		if err != nil {
			return err
		}
		return r.print(map[string]any{"cook": c.Cook, "event": c.Event, "deed": deed}, func(w io.Writer) {
			fmt.Fprintf(w, "cook %s: %s\n", c.Cook, strings.TrimSpace(lab.Event(c.Event).Label()+" "+c.Typed))
			writeUndo(w, deed)
		})
	})
}

type cookAlarmsCmd struct{ records }

func (c *cookAlarmsCmd) Run(r *run) error {
	return r.onFarm(c.records, func(f *app.Farm) error {
		alarms, err := f.Alarms(r.ctx)
		if err != nil {
			return err
		}
		return r.print(alarms, func(w io.Writer) {
			t := newTable("cook", "at", "state", "what", "id")
			for _, a := range alarms {
				state := "to come"
				switch {
				case a.Due:
					state = fmt.Sprintf("now, %.0f min late", a.LateMin)
				case a.Answered:
					state = fmt.Sprintf("answered, %.0f min late", a.LateMin)
				}
				t.row(a.Cook, a.At.In(f.Zone(r.ctx)).Format("15:04"), state, a.What, a.ID)
			}
			t.write(w)
		})
	})
}

type cookCoreCmd struct {
	records
	Cook   string  `arg:"" help:"Cook, such as 7 or its own name."`
	FillMM float64 `name:"fill-mm" help:"Height of the substrate, as measured." placeholder:"MM"`
}

func (c *cookCoreCmd) Run(r *run) error {
	return r.onFarm(c.records, func(f *app.Farm) error {
		core, err := f.CookCore(r.ctx, c.Cook, c.FillMM)
		if err != nil {
			return err
		}
		return r.print(core, func(w io.Writer) {
			if core.Sentence != "" {
				wrap(w, "", core.Sentence)
			}
			for _, line := range append([]string{core.Fitted}, core.Missing...) {
				if line == "" {
					continue
				}
				wrap(w, "", line)
			}
			for _, x := range core.Records {
				fmt.Fprintf(w, "%s, %s: F0 %s min, peak %.1f °C, %s, %d not read\n", x.Place, x.File, x.F0, x.PeakC, counted(len(x.Readings), "reading"), len(x.Refused))
				if longest := x.Longest(); longest != "" {
					fmt.Fprintln(w, "  "+longest)
				}
			}
			printCautions(w, core.Cautions)
		})
	})
}

type cookRecordCmd struct {
	signed
	Cook    string `arg:"" help:"Cook, such as 7 or its own name."`
	In      string `arg:"" help:"The logger's CSV; - reads standard input." placeholder:"FILE"`
	Place   string `help:"Where the logger lay: chamber or core." default:"core"`
	Unit    string `help:"C or F, for a file that does not say." placeholder:"C"`
	Days    string `help:"How 3/4/2026 is read: day-first or month-first." enum:",day-first,month-first" default:""`
	Columns string `help:"What the columns are, in order, of a file without a heading." placeholder:"'date, time, -, temp'"`
	Series  string `help:"Which one, of a file that holds several." placeholder:"NAME"`
	Start   string `help:"When it began, for a file that counts minutes; with ; for each of several logs." placeholder:"TIME"`
	Shift   string `help:"Minutes that the logger's clock is behind." placeholder:"MIN"`
}

func (c *cookRecordCmd) Run(r *run) error {
	raw, err := r.readInput(c.In, "the logger's CSV")
	if err != nil {
		return err
	}
	return r.onFarm(c.records, func(f *app.Farm) error {
		file, err := c.read(r, f, raw)
		if err != nil {
			return err
		}
		rec, err := f.AddCookRecord(r.ctx, c.act(), c.Cook, app.NewCookRecord{
			Place: c.Place, File: filepath.Base(c.In), Original: file.Original, Shift: c.Shift, Readings: file.Readings, Refused: file.Refused,
		})
		if err != nil {
			return err
		}
		if err := f.KeepLogger(r.ctx, file.Source, file.Said); err != nil {
			return err
		}
		refused := rec.Refused
		if refused == nil {
			refused = []lab.RefusedLine{}
		}
		out := map[string]any{"cook": c.Cook, "place": rec.Place, "logger": file.Source, "column": file.Column, "readings": len(rec.Readings), "refused": refused, "deed": rec.Deed}
		return r.print(out, func(w io.Writer) {
			fmt.Fprintf(w, "%s kept, %d not read\n", counted(len(rec.Readings), "reading"), len(rec.Refused))
			for _, x := range rec.Refused {
				wrap(w, fmt.Sprintf("line %d  ", x.Line), x.Why)
			}
			printCautions(w, file.Cautions)
			writeUndo(w, rec.Deed)
		})
	})
}

// read reads the file as its options and what was said of its kind before tell.
func (c *cookRecordCmd) read(r *run, f *app.Farm, raw []byte) (ingest.LoggerFile, error) {
	told, err := f.Loggers(r.ctx)
	if err != nil {
		return ingest.LoggerFile{}, err
	}
	how := ingest.LoggerOptions{
		File: filepath.Base(c.In), Place: c.Place, Unit: c.Unit, Columns: c.Columns, Series: c.Series, Zone: f.Zone(r.ctx), Recall: app.Recall(told),
	}
	if c.Days != "" {
		first := c.Days == "day-first"
		how.DayFirst = &first
	}
	if how.Starts, err = ingest.ParseStarts(c.Start, f.Now(), how.Zone); err != nil {
		return ingest.LoggerFile{}, err
	}
	return ingest.ReadLogger(bytes.NewReader(raw), how)
}

type cookLoggersCmd struct {
	records
	Forget string `help:"Heading whose logger is to be forgotten." placeholder:"HEADING"`
}

func (c *cookLoggersCmd) Run(r *run) error {
	return r.onFarm(c.records, func(f *app.Farm) error {
		if c.Forget != "" {
			if err := f.ForgetLogger(r.ctx, c.Forget); err != nil {
				return err
			}
		}
		all, err := f.Loggers(r.ctx)
		if err != nil {
			return err
		}
		return r.print(all, func(w io.Writer) {
			for _, l := range all {
				wrap(w, "", l.Source)
				wrap(w, "  ", strings.Join(l.Says(), "; "))
			}
		})
	})
}

type cookStandardCmd struct{ records }

func (c *cookStandardCmd) Run(r *run) error {
	return r.onFarm(c.records, func(f *app.Farm) error {
		s, err := f.Standard(r.ctx)
		if err != nil {
			return err
		}
		return r.print(s, func(w io.Writer) {
			t := newTable("container", "recipe", "fill mm", "at m", "hold", "held", "blanks clean", "jars fouled")
			for _, x := range s.Rows {
				t.row(x.Container, x.Recipe, fmt.Sprintf("%.0f", x.FillMM), decimals(x.AltitudeM, 0), strings.TrimSpace(x.Hold()+" "+x.Gauge), fmt.Sprintf("%d of %d", x.Held, x.Cooks),
					fmt.Sprintf("%d of %d", x.Clean, x.Blanks), fmt.Sprintf("%d of %d", x.JarsFouled, x.Inoculated))
			}
			t.write(w)
			for _, x := range s.Rows {
				wrap(w, x.Container+": ", x.Says)
			}
		})
	})
}

type cookerCmds struct {
	Set  cookerSetCmd  `cmd:"" help:"Write down what is known of a cooker."`
	List cookerListCmd `cmd:"" help:"List the cookers."`
}

type cookerSetCmd struct {
	signed
	Name      string `arg:"" help:"Name; the same again adds to what is known."`
	Kind      string `help:"weight, dial, steamer or autoclave." placeholder:"KIND"`
	Rated     string `help:"Nameplate." placeholder:"15psi"`
	ReadsHigh string `help:"What the gauge reads too much." placeholder:"0.5psi"`
	Tested    string `help:"Day of the last test of the gauge." placeholder:"DAY"`
	Bore      string `help:"Inner diameter." placeholder:"300mm"`
	Room      string `help:"Inside, from the rack to the lid." placeholder:"260mm"`
	Divider   string `help:"Thickness of the plate between two layers." placeholder:"3mm"`
	Loss      string `help:"Water lost in an hour of hold, measured." placeholder:"240mL"`
	HeatUp    string `help:"From heat on to pressure, measured." placeholder:"38min"`
	Diameter  string `help:"Outer diameter." placeholder:"320mm"`
	Height    string `help:"Outer height." placeholder:"300mm"`
	Mass      string `help:"Empty, with its lid." placeholder:"6kg"`
	Metal     string `help:"aluminium or steel." placeholder:"METAL"`
	Burner    string `help:"Watts of the burner." placeholder:"1500"`
	Holds     string `help:"Jars in a layer x layers." placeholder:"'pint jar 7 x 2'"`
}

func (c *cookerSetCmd) Run(r *run) error {
	return r.beginFarm(c.records, func(f *app.Farm) error {
		got, deed, err := f.SaveCooker(r.ctx, c.act(), app.NewCooker{
			Name: c.Name, Kind: c.Kind, Tested: c.Tested, Bore: c.Bore, Room: c.Room, Divider: c.Divider, Rated: c.Rated, ReadsHigh: c.ReadsHigh, Loss: c.Loss, HeatUp: c.HeatUp, Diameter: c.Diameter, Height: c.Height,
			Mass: c.Mass, Metal: c.Metal, Burner: c.Burner, Holds: c.Holds,
		})
		if err != nil {
			return err
		}
		return r.print(map[string]any{"cooker": got.Name, "deed": deed}, func(w io.Writer) {
			fmt.Fprintf(w, "kept the cooker %s\n", got.Name)
			writeUndo(w, deed)
		})
	})
}

type cookerListCmd struct{ records }

func (c *cookerListCmd) Run(r *run) error {
	return r.onFarm(c.records, func(f *app.Farm) error {
		cookers, err := f.Cookers(r.ctx)
		if err != nil {
			return err
		}
		type view struct {
			Cooker string `json:"cooker"`
			lab.CookerFigures
		}
		out := []view{}
		for _, x := range cookers {
			out = append(out, view{x.Name, x.Figures})
		}
		return r.print(out, func(w io.Writer) {
			t := newTable("cooker", "kind", "rated psi", "reads high psi", "loses mL/h", "to pressure min")
			for _, v := range out {
				t.row(v.Cooker, v.Kind.Label(), decimals(v.RatedPsi, 1), decimals(v.ReadsHighPsi, 1), decimals(v.LossMlH, 0), decimals((*float64)(v.HeatUpMin), 0))
			}
			t.write(w)
		})
	})
}
