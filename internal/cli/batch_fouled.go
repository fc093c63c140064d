package cli

import (
	"fmt"
	"io"

	"pinset/internal/app"
	"pinset/internal/lab"
)

type batchFouledCmd struct {
	records
	Batch   []string `arg:"" optional:"" help:"Batches such as B12; the last ones if left out."`
	Last    int      `help:"How many of the last batches to look at; 12 if left out." placeholder:"N"`
	Working bool     `help:"Print the working too."`
}

// fouledView is what fouled jars share, for printing.
type fouledView struct {
	app.FouledAnswer
	Batches []string      `json:"batches"`
	Touched []touchedView `json:"touched"`
}

type touchedView struct {
	Suspect string         `json:"suspect"`
	Jars    int            `json:"jars"`
	Batches []touchedBatch `json:"batches"`
}

type touchedBatch struct {
	Batch   string `json:"batch"`
	Numbers []int  `json:"numbers"`
}

func viewFouled(v app.FouledView) fouledView {
	out := fouledView{FouledAnswer: v.Answer, Batches: []string{}, Touched: []touchedView{}}
	for _, b := range v.Batches {
		out.Batches = append(out.Batches, b.String())
	}
	for _, t := range v.Touched {
		of := touchedView{Suspect: t.Suspect, Jars: t.Jars, Batches: []touchedBatch{}}
		for _, b := range t.Batches {
			of.Batches = append(of.Batches, touchedBatch{b.Batch.String(), b.Numbers})
		}
		out.Touched = append(out.Touched, of)
	}
	return out
}

func (c *batchFouledCmd) Run(r *run) error {
	return r.onFarm(c.records, func(f *app.Farm) error {
		v, err := f.Fouled(r.ctx, app.FouledInput{Batches: c.Batch, Last: c.Last})
		if err != nil {
			return err
		}
		out := viewFouled(v)
		return r.print(out, func(w io.Writer) {
			out.write(w)
			printCautions(w, out.Cautions)
			if c.Working {
				printWorking(w, out.Working)
			}
		})
	})
}

func (v fouledView) write(w io.Writer) {
	wrap(w, "", v.Result.Sentence)
	for _, s := range v.Result.Suspects[min(1, len(v.Result.Suspects)):] {
		wrap(w, "", s.Sentence)
	}
	if v.Result.Blanks.Total > 0 {
		fmt.Fprintln(w)
		wrap(w, "", v.Result.Blanks.Sentence)
	}
	fmt.Fprintln(w)
	t := newTable("shared", "level", "fouled", "of", "p", "p within", "p adjusted")
	for _, f := range v.Result.Factors {
		for i, l := range f.Levels {
			if i > 0 {
				t.row("", l.Level, l.Bad, l.Total, "", "", "")
				continue
			}
			t.row(f.Name, l.Level, l.Bad, l.Total, decimals(f.P, 4), decimals(f.PWithin, 4), decimals(f.PAdjusted, 4))
		}
	}
	t.write(w)
	for _, s := range v.Touched {
		for i, b := range s.Batches {
			if i == 0 {
				fmt.Fprintln(w)
				wrap(w, "", fmt.Sprintf("Still growing and touched by %s, %s:", s.Suspect, counted(s.Jars, "jar")))
			}
			fmt.Fprintf(w, "  %s·%s\n", b.Batch, lab.ShowNumbers(b.Numbers))
		}
	}
}
