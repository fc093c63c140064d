package cli

import (
	"pinset/internal/app"
	"pinset/internal/figure"
	"pinset/internal/lab"
)

// inoculationView is an inoculation session for printing.
type inoculationView struct {
	DryRun   bool             `json:"dry_run"`
	Batch    string           `json:"batch"`
	What     string           `json:"what"`
	Numbers  []int            `json:"numbers"`
	Of       int              `json:"of"`
	Left     []int            `json:"left_out"`
	HeldBack []app.HeldBack   `json:"held_back"`
	Cautions []figure.Caution `json:"cautions"`
	Deed     lab.DeedID       `json:"deed,omitempty"`
}

func viewInoculation(r app.InoculateReport, dry bool) inoculationView {
	v := inoculationView{
		DryRun: dry, Batch: r.Batch.String(), What: r.What, Numbers: r.Numbers, Of: r.Of, Left: r.Left, HeldBack: r.HeldBack,
		Cautions: r.Cautions, Deed: r.Deed,
	}
	if v.Numbers == nil {
		v.Numbers = []int{}
	}
	if v.Left == nil {
		v.Left = []int{}
	}
	if v.HeldBack == nil {
		v.HeldBack = []app.HeldBack{}
	}
	if v.Cautions == nil {
		v.Cautions = []figure.Caution{}
	}
	return v
}
