package cli

import (
	"fmt"
	"io"

	"pinset/internal/app"
	"pinset/internal/lab"
)

type cookFitCmd struct {
	signed
	Cook      string  `arg:"" help:"Cook, such as 7 or its own name."`
	What      string  `help:"What is fitted: the conductivity of the fill (multiplier), or the transfer at its faces (surface)." enum:"multiplier,surface" default:"multiplier"`
	Container string  `help:"Kind of jar that held the probe, if there are several." placeholder:"NAME"`
	ProbeMM   float64 `name:"probe-mm" help:"Height of the tip above the bottom; the middle if left out." placeholder:"MM"`
}

// fitView is a fit for printing.
type fitView struct {
	Container string     `json:"container"`
	Recipe    string     `json:"recipe"`
	FillMM    float64    `json:"fill_mm"`
	What      string     `json:"what"`
	Factor    float64    `json:"factor"`
	RMSEC     float64    `json:"rmse_c"`
	FHMin     *float64   `json:"f_h_min"`
	JH        *float64   `json:"j_h"`
	Deed      lab.DeedID `json:"deed"`
}

func viewFit(c lab.Calibration) fitView {
	f := c.Fit
	return fitView{f.Vessel, f.Mix, f.FillMM, f.What, f.Factor, f.RMSEC, f.FHMin, f.JH, c.Deed}
}

func (c *cookFitCmd) Run(r *run) error {
	return r.onFarm(c.records, func(f *app.Farm) error {
		cal, cautions, err := f.Calibrate(r.ctx, c.act(), c.Cook, app.NewCalibration{What: c.What, Container: c.Container, ProbeMM: c.ProbeMM})
		if err != nil {
			return err
		}
		return r.print(viewFit(cal), func(w io.Writer) {
			writeFits(w, []fitView{viewFit(cal)})
			printCautions(w, cautions)
			writeUndo(w, cal.Deed)
		})
	})
}

func writeFits(w io.Writer, fits []fitView) {
	t := newTable("container", "recipe", "fill mm", "what", "factor", "off by K", "f_h min", "j_h", "entry")
	for _, v := range fits {
		t.row(v.Container, v.Recipe, fmt.Sprintf("%.0f", v.FillMM), v.What, fmt.Sprintf("%.2f", v.Factor), fmt.Sprintf("%.1f", v.RMSEC),
			decimals(v.FHMin, 1), decimals(v.JH, 2), string(v.Deed))
	}
	t.write(w)
}

type cookFitsCmd struct{ records }

func (c *cookFitsCmd) Run(r *run) error {
	return r.onFarm(c.records, func(f *app.Farm) error {
		rows, err := f.Calibrations(r.ctx)
		if err != nil {
			return err
		}
		out := []fitView{}
		for _, x := range rows {
			out = append(out, viewFit(x.Calibration))
		}
		return r.print(out, func(w io.Writer) { writeFits(w, out) })
	})
}
