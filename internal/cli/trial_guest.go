package cli

import (
	"fmt"
	"io"
	"strings"
	"time"

	"pinset/internal/app"
	"pinset/internal/lab"
)

type trialTakeCmd struct {
	signed
	Package string `arg:"" help:"Folder or zip file of the package." placeholder:"DIR"`
	From    string `help:"Who it is from, if the package does not say." placeholder:"NAME"`
}

func (c *trialTakeCmd) Run(r *run) error {
	p, err := r.readPackage(c.Package)
	if err != nil {
		return err
	}
	return r.onFarm(c.records, func(f *app.Farm) error {
		in, err := f.TakePackage(r.ctx, c.act(), p, c.From)
		if err != nil {
			return err
		}
		return r.printTaken(in)
	})
}

func (r *run) printTaken(in app.TakenIn) error {
	return r.print(newGuestOut(in.Guest, in.Repeat), func(w io.Writer) {
		wrap(w, "", in.Says())
		if in.Guest.Sentence != "" {
			wrap(w, "", in.Guest.Sentence)
		}
		for _, c := range in.Guest.Contrasts {
			if c.Not != "" {
				wrap(w, "", fmt.Sprintf("Not to be added up: %s against %s, %s: %s.", c.This(), c.Than(), lab.OutcomeWords(c.Outcome), strings.TrimSuffix(c.Not, ".")))
			}
		}
	})
}

// guestOut is a trial from elsewhere as JSON.
type guestOut struct {
	Name      string         `json:"name"`
	From      string         `json:"from"`
	Kind      string         `json:"kind"`
	Question  string         `json:"question"`
	Sentence  string         `json:"sentence"`
	Taken     time.Time      `json:"taken"`
	By        string         `json:"by"`
	Made      *time.Time     `json:"made"` // null for figures in print
	Version   string         `json:"version"`
	Hash      string         `json:"sha256"`
	DataHash  string         `json:"data_sha256"`
	Jars      int            `json:"jars"`
	Arms      []lab.GuestArm `json:"arms"`
	Contrasts []lab.Contrast `json:"contrasts"`
	Repeat    bool           `json:"repeat"`
}

func newGuestOut(g lab.Guest, repeat bool) guestOut {
	out := guestOut{
		Name: g.Name, From: g.From, Kind: string(g.Kind), Question: g.Question, Sentence: g.Sentence, Taken: g.Entered, By: g.By, Version: g.Version,
		Hash: g.Hash, DataHash: g.DataHash, Jars: g.Jars, Arms: g.Arms, Contrasts: g.Contrasts, Repeat: repeat,
	}
	if !g.Made.IsZero() {
		out.Made = &g.Made
	}
	return out
}

type trialPrintedCmd struct {
	signed
	This     string `arg:"" help:"What gave the first figure, by the name that it has here."`
	Than     string `arg:"" help:"What it was set against."`
	Source   string `help:"Author, year and where it was printed." required:"" placeholder:"TEXT"`
	Name     string `help:"What the trial is called; the two names if left out." placeholder:"NAME"`
	Is       string `help:"What differs: recipe, culture, container, treatment." default:"recipe" placeholder:"FACTOR"`
	Outcome  string `help:"What was counted: grams per jar inoculated or picked, the share fruited or clean, pins." default:"inoculated" enum:"inoculated,picked,fruited,clean,pins"`
	Estimate string `help:"How many times as much, such as 1.2; for shares the points of a hundred jars between them." placeholder:"X"`
	Low      string `help:"Low end of its 95 % interval." placeholder:"X"`
	High     string `help:"High end of it." placeholder:"X"`
	SE       string `name:"se" help:"Its standard error, in place of the interval; of the logarithm for a ratio." placeholder:"X"`
	ThisArm  string `help:"In place of an estimate: jars, mean and standard deviation of the first, such as 12,14.1,2.5; for shares jars and how many did." placeholder:"N,MEAN,SD"`
	ThanArm  string `help:"The same of the second." placeholder:"N,MEAN,SD"`
}

func (c *trialPrintedCmd) Run(r *run) error {
	in := app.PrintedInput{
		Name: c.Name, Source: c.Source, Is: c.Is, This: c.This, Than: c.Than, Outcome: c.Outcome, Estimate: c.Estimate, Low: c.Low, High: c.High, SE: c.SE,
		ThisArm: printedArm(c.ThisArm), ThanArm: printedArm(c.ThanArm),
	}
	return r.onFarm(c.records, func(f *app.Farm) error {
		taken, err := f.TypeGuest(r.ctx, c.act(), in)
		if err != nil {
			return err
		}
		return r.printTaken(taken)
	})
}

// printedArm reads "12,14.1,2.5".
func printedArm(typed string) app.PrintedArm {
	parts := append(strings.Split(typed, ","), "", "")
	return app.PrintedArm{Jars: parts[0], Mean: parts[1], SD: parts[2], Did: parts[1]}
}

type trialElsewhereCmd struct{ records }

func (c *trialElsewhereCmd) Run(r *run) error {
	return r.onFarm(c.records, func(f *app.Farm) error {
		guests, err := f.Guests(r.ctx)
		if err != nil {
			return err
		}
		out := []guestOut{}
		for _, g := range guests {
			out = append(out, newGuestOut(g, false))
		}
		return r.print(out, func(w io.Writer) {
			if len(guests) == 0 {
				wrap(w, "", "No trial from elsewhere was taken in yet. A friend's comes with pinset trial take, one from print with pinset trial printed.")
				return
			}
			t := newTable("trial", "from", "came as", "taken in", "jars", "hash")
			for _, g := range guests {
				t.row(g.Name, g.From, string(g.Kind), g.Entered.Format(time.DateOnly), g.Jars, g.Hash[:12])
			}
			t.write(w)
		})
	})
}

type trialAsideCmd struct {
	signed
	Name string `arg:"" help:"Name of the trial from elsewhere, or the first digits of its hash."`
}

func (c *trialAsideCmd) Run(r *run) error {
	return r.onFarm(c.records, func(f *app.Farm) error {
		done, err := f.SetGuestAside(r.ctx, c.act(), c.Name)
		if err != nil {
			return err
		}
		return r.printDone(done)
	})
}

type trialCallCmd struct {
	signed
	Name  string   `arg:"" help:"Name of the trial from elsewhere, or the first digits of its hash."`
	Names []string `arg:"" help:"What it calls a thing, and what that is here: 'number 7=oats'." sep:"none" placeholder:"THEIRS=OURS"`
}

func (c *trialCallCmd) Run(r *run) error {
	called := make(map[string]string)
	for _, text := range c.Names {
		theirs, ours, ok := strings.Cut(text, "=")
		if !ok || strings.TrimSpace(ours) == "" {
			return lab.Invalidf("names", "write it like 'number 7=oats'", "%.60q does not say what is what", text)
		}
		called[strings.TrimSpace(theirs)] = ours
	}
	return r.onFarm(c.records, func(f *app.Farm) error {
		done, err := f.CallGuest(r.ctx, c.act(), c.Name, called)
		if err != nil {
			return err
		}
		return r.printDone(done)
	})
}
