package cli

import (
	"fmt"
	"io"
	"strings"

	"pinset/internal/app"
	"pinset/internal/lab"
)

type trialPoolCmd struct {
	records
	Of         string `arg:"" optional:"" help:"What is added up, such as 'millet against oats'; all that was tried is listed if left out."`
	Outcome    string `help:"inoculated, picked, fruited, clean or pins; what most trials tell of if left out." placeholder:"OUTCOME"`
	Own        bool   `help:"Leave trials from elsewhere out."`
	AnyVersion bool   `help:"Take all versions of a recipe as one."`
	Rank       string `help:"Put recipe or culture in order instead." placeholder:"FACTOR"`
	Working    bool   `help:"Print the working too."`
}

func (c *trialPoolCmd) Run(r *run) error {
	return r.onFarm(c.records, func(f *app.Farm) error {
		ask := app.PoolAsk{Of: c.Of, Outcome: c.Outcome, AnyVersion: c.AnyVersion, OwnOnly: c.Own}
		switch {
		case c.Rank != "":
			rank, err := f.Rank(r.ctx, lab.Factor(c.Rank), c.Outcome)
			if err != nil {
				return err
			}
			return r.print(rank, func(w io.Writer) { c.writeRank(w, rank) })
		case c.Of == "":
			past, err := f.Past(r.ctx)
			if err != nil {
				return err
			}
			out := struct {
				Contrasts []app.ContrastSet `json:"contrasts"`
				Silent    []app.LeftOut     `json:"says_nothing"`
			}{append([]app.ContrastSet{}, past.Sets...), append([]app.LeftOut{}, past.Silent...)}
			return r.print(out, func(w io.Writer) { writeContrasts(w, past.Sets, past.Silent) })
		}
		p, err := f.Pool(r.ctx, ask)
		if err != nil {
			return err
		}
		return r.print(p, func(w io.Writer) { c.write(w, p) })
	})
}

func writeContrasts(w io.Writer, sets []app.ContrastSet, silent []app.LeftOut) {
	if len(sets) == 0 {
		wrap(w, "", "No two arms were compared yet.")
	} else {
		t := newTable("compared", "differ in", "trials", "elsewhere", "left out", "key")
		for _, s := range sets {
			t.row(s.Title(), strings.Join(s.Is, ", "), s.Trials, s.Away, s.Left, s.Key)
		}
		t.write(w)
	}
	writeLeft(w, "Nothing to be read of:", silent)
}

func writeLeft(w io.Writer, head string, left []app.LeftOut) {
	if len(left) == 0 {
		return
	}
	fmt.Fprintf(w, "\n%s\n", head)
	for _, l := range left {
		from := ""
		if l.From != "" {
			from = ", from " + l.From
		}
		wrap(w, "  ", fmt.Sprintf("%s%s: %s.", l.Trial, from, l.Why))
	}
}

func (c *trialPoolCmd) write(w io.Writer, p app.Pooled) {
	wrap(w, "", p.Sentence)
	wrap(w, "", p.Next)
	fmt.Fprintf(w, "\n%s, %s:\n\n", lab.OutcomeWords(p.Outcome), p.Unit())
	t := newTable("trial", "run", "alone", "beside the others", "weight")
	for _, x := range p.Rows {
		run := "here"
		if x.From != "" {
			run = "elsewhere"
		}
		t.row(x.Trial, run, p.Band(x.Given), p.Band(x.Shrunk), fmt.Sprintf("%.0f %%", 100*x.Weight))
	}
	a := p.Answer.Result
	t.row("mean of all", "", p.Band(a.Mean), "", "")
	if a.MeanOwn != nil {
		t.row("mean of your own", "", p.Band(*a.MeanOwn), "", "")
	}
	if a.REML != nil {
		t.row("mean, the usual way", "", p.Band(a.REML.Mean), "", "")
	}
	t.row("the next grow", "", p.Band(a.Next), "", "")
	t.write(w)
	if p.Away > 0 {
		fmt.Fprintf(w, "\nFrom elsewhere:\n")
	}
	for _, x := range p.Rows {
		if x.From != "" {
			wrap(w, "  ", fmt.Sprintf("%s: from %s, %s.", x.Trial, x.From, x.How))
		}
	}
	writeLeft(w, "Left out:", p.LeftOut)
	printCautions(w, p.Answer.Cautions)
	if c.Working {
		printWorking(w, p.Answer.Working)
	}
}

func (c *trialPoolCmd) writeRank(w io.Writer, x app.Ranking) {
	wrap(w, "", x.Sentence)
	fmt.Fprintf(w, "\n%s, times %s:\n\n", lab.OutcomeWords(x.Outcome), x.Usual)
	t := newTable("", string(x.Is), "trials", "by its own trials", "drawn towards the others")
	for i, row := range x.Rows {
		t.row(i+1, row.Name, row.Trials, bandOf(row.Given), bandOf(row.Shrunk))
	}
	t.write(w)
	writeLeft(w, "Left out:", x.LeftOut)
	printCautions(w, x.Answer.Cautions)
	if c.Working {
		printWorking(w, x.Answer.Working)
	}
}

func bandOf(b app.PoolBand) string { return fmt.Sprintf("%.2f (%.2f to %.2f)", b.Value, b.Low, b.High) }
