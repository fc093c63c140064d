package cli

import (
	"fmt"
	"io"
	"strings"

	"pinset/internal/app"
	"pinset/internal/figure"
	"pinset/internal/lab"
)

type jarCmds struct {
	Show   jarShowCmd   `cmd:"" help:"Show a jar and its history."`
	Chain  jarChainCmd  `cmd:"" help:"Tell all that led to a jar, what came of it, and what shares it."`
	Answer jarAnswerCmd `cmd:"" help:"Say which holds where two people wrote what can hardly both."`
}

type jarAnswerCmd struct {
	signed
	Jar   string `arg:"" help:"Code such as K73QF, or batch and number such as B12·13."`
	Holds string `arg:"" help:"first or second, in the order that jar show lists them, or both."`
}

func (c *jarAnswerCmd) Run(r *run) error {
	return r.onFarm(c.records, func(f *app.Farm) error {
		v, err := f.JarView(r.ctx, c.Jar)
		if err != nil {
			return err
		}
		if len(v.Differs) == 0 {
			return lab.Conflictf("see pinset jar show", "nothing is asked about %s", v.Name)
		}
		d := v.Differs[0]
		in := app.AnswerInput{Jar: c.Jar, First: d.First.ID, Second: d.Second.ID}
		switch c.Holds {
		case "first":
			in.Holds = d.First.ID
		case "second":
			in.Holds = d.Second.ID
		case "both":
		default:
			return lab.Invalidf("holds", "write first, second or both", "%q is none of them", c.Holds)
		}
		done, err := f.Answer(r.ctx, c.act(), in)
		if err != nil {
			return err
		}
		return r.printDone(done)
	})
}

type jarShowCmd struct {
	records
	Jar string `arg:"" help:"Code such as K73QF, or batch and number such as B12·13."`
}

func (c *jarShowCmd) Run(r *run) error {
	return r.onFarm(c.records, func(f *app.Farm) error {
		v, err := f.JarView(r.ctx, c.Jar)
		if err != nil {
			return err
		}
		asked, err := f.JarQuestions(r.ctx, c.Jar)
		if err != nil {
			return err
		}
		type line struct {
			At     *string    `json:"at"`
			What   string     `json:"what"`
			By     string     `json:"by"`
			Undone bool       `json:"undone"`
			Deed   lab.DeedID `json:"deed"`
		}
		out := struct {
			jarView
			Name      string            `json:"jar"`
			Batch     string            `json:"batch"`
			Trial     string            `json:"trial"`
			Recipe    string            `json:"recipe"`
			Container string            `json:"container"`
			Culture   string            `json:"culture"`
			Cook      string            `json:"cook"`
			Differs   [][2]string       `json:"differs"`
			Questions []app.DayQuestion `json:"questions"`
			History   []line            `json:"history"`
		}{jarView: viewJar(v.Row), Name: v.Name, Batch: v.Batch.Title(), Trial: v.Trial, Recipe: v.Recipe, Container: v.Container, Culture: v.Carries, Differs: [][2]string{}, Questions: asked, History: []line{}}
		if v.Cook != nil {
			out.Cook = v.Cook.String()
		}
		for _, d := range v.Differs {
			out.Differs = append(out.Differs, [2]string{joined(" ", d.Says[0], initials(d.First.By)), joined(" ", d.Says[1], initials(d.Second.By))})
		}
		for _, h := range v.History {
			out.History = append(out.History, line{viewWhen(h.At), h.What, h.By, h.Undone, h.Deed})
		}
		return r.print(out, func(w io.Writer) {
			fmt.Fprintf(w, "%s  %s  %s\n", out.Name, out.Code, strings.TrimSpace(out.Arm+" "+out.Fate+" "+out.Stage))
			wrap(w, "", joined(", ", out.Batch, out.Recipe, out.Container, strings.TrimSpace(out.Cook+" "+v.Row.Place())))
			for _, d := range out.Differs {
				wrap(w, "", "Which holds? First: "+d[0]+". Second: "+d[1]+". Say it with: pinset jar answer")
			}
			printQuestions(w, asked)
			fmt.Fprintln(w)
			for _, h := range v.History {
				undone := ""
				if h.Undone {
					undone = "(undone)"
				}
				wrap(w, h.At.Show(f.Zone(r.ctx))+"  ", joined(" ", h.What, undone, initials(h.By)))
			}
		})
	})
}

// initials returns who entered something, in brackets, "" if it is not said.
func initials(by string) string {
	if by == "" {
		return ""
	}
	return "(" + by + ")"
}

type seenCmds struct {
	Add seenAddCmd `cmd:"" help:"Log what was seen on one jar or a range."`
}

type seenAddCmd struct {
	signed
	Jars   string `arg:"" help:"Jars: B12·13-24, B12.3,7 or codes."`
	Stage  string `help:"growth, cover, light, colour, pins or ready." placeholder:"STAGE"`
	Sign   string `help:"What one sees or smells, such as green or clean." placeholder:"SIGN"`
	Fate   string `help:"lost, barren, spent, or growing to take one back." placeholder:"FATE"`
	Count  string `help:"How many pins or aborts were counted." placeholder:"NUMBER"`
	Cover  string `help:"How much of the surface is covered, per cent." placeholder:"PERCENT"`
	Reason string `help:"Why it is lost: fouled, broken, sampled or your own word." placeholder:"REASON"`
	Note   string `help:"Anything else." placeholder:"TEXT"`
	At     string `help:"When: now if left out; evening, yesterday, 14:30, 2026-03-04 or ?." placeholder:"TIME"`
}

func (c *seenAddCmd) Run(r *run) error {
	return r.onFarm(c.records, func(f *app.Farm) error {
		done, err := f.See(r.ctx, c.act(), app.SeeInput{Jars: c.Jars, Stage: c.Stage, Sign: c.Sign, Fate: c.Fate, Reason: c.Reason, Count: c.Count, Cover: c.Cover, Note: c.Note, At: c.At})
		if err != nil {
			return err
		}
		asked, err := f.JarQuestions(r.ctx, c.Jars)
		if err != nil {
			return err
		}
		return r.printAsked(done, app.Contradicting(asked))
	})
}

type pickCmds struct {
	Add pickAddCmd `cmd:"" help:"Log the weights of one flush."`
}

type pickAddCmd struct {
	signed
	Weights []string `arg:"" optional:"" help:"JAR=WEIGHT, such as B12·13=12.4; without them, lines from standard input: jar, then weight."`
	Batch   string   `help:"Batch that bare numbers belong to." placeholder:"B12"`
	Flush   int      `help:"Which flush." default:"1"`
	At      string   `help:"When; now if left out." placeholder:"TIME"`
}

func (c *pickAddCmd) Run(r *run) error {
	lines := c.Weights
	if len(lines) == 0 {
		raw, err := r.readInput("-", "lines like B12·13=12.4")
		if err != nil {
			return err
		}
		lines = strings.Split(strings.TrimSpace(string(raw)), "\n")
	}
	in := app.PickInput{Flush: c.Flush, At: c.At}
	for _, line := range lines {
		jar, weight, ok := strings.Cut(line, "=")
		if !ok {
			jar, weight, ok = strings.Cut(strings.TrimSpace(strings.ReplaceAll(line, "\t", " ")), " ")
		}
		if !ok {
			return lab.Invalidf("picks", "write it like B12·13=12.4", "%q is not a jar with its weight", line)
		}
		jar = strings.TrimSpace(jar)
		if c.Batch != "" && strings.Trim(jar, "0123456789") == "" {
			jar = c.Batch + "·" + jar
		}
		in.Picks = append(in.Picks, app.TypedPick{Jar: jar, Grams: weight})
	}
	return r.onFarm(c.records, func(f *app.Farm) error {
		done, err := f.PickJars(r.ctx, c.act(), in)
		if err != nil {
			return err
		}
		return r.printDone(done)
	})
}

// printDone prints what an act wrote, and how it is taken back.
func (r *run) printDone(d app.Done) error { return r.printAsked(d, nil) }

// printAsked prints what was entered, and what the visits to its jars leave
// open.
func (r *run) printAsked(d app.Done, asked []app.DayQuestion) error {
	out := struct {
		What      string            `json:"what"`
		Jars      []string          `json:"jars"`
		Repeat    bool              `json:"repeat"`
		Cautions  []figure.Caution  `json:"cautions"`
		Questions []app.DayQuestion `json:"questions,omitempty"`
		Deed      lab.DeedID        `json:"deed"`
	}{d.What, append([]string{}, d.Jars...), d.Repeat, append([]figure.Caution{}, d.Cautions...), asked, d.Deed}
	return r.print(out, func(w io.Writer) {
		fmt.Fprintln(w, d.What)
		printCautions(w, d.Cautions)
		printQuestions(w, asked)
		writeUndo(w, d.Deed)
	})
}

type deedCmds struct {
	List deedListCmd `cmd:"" help:"List the last acts of entry."`
	Undo deedUndoCmd `cmd:"" help:"Take back all that an act entered."`
}

type deedListCmd struct {
	records
	Batch string `help:"Only those of this batch." placeholder:"B12"`
	Limit int    `help:"At most so many." default:"20"`
}

func (c *deedListCmd) Run(r *run) error {
	return r.onFarm(c.records, func(f *app.Farm) error {
		deeds, err := f.Deeds(r.ctx, c.Batch, c.Limit)
		if err != nil {
			return err
		}
		type line struct {
			Deed    lab.DeedID `json:"deed"`
			What    string     `json:"what"`
			Entered string     `json:"entered"`
			By      string     `json:"by"`
		}
		out := []line{}
		for _, d := range deeds {
			out = append(out, line{d.ID, d.What, d.Entered.Format("2006-01-02T15:04:05Z07:00"), d.By})
		}
		return r.print(out, func(w io.Writer) {
			for i, l := range out {
				wrap(w, lab.At(deeds[i].Entered).Show(f.Zone(r.ctx))+"  ", joined(" ", l.What, initials(l.By)))
				fmt.Fprintf(w, "  %s\n", l.Deed)
			}
		})
	})
}

type deedUndoCmd struct {
	signed
	Deed string `arg:"" help:"Deed, as printed when it was entered."`
}

func (c *deedUndoCmd) Run(r *run) error {
	id, err := lab.ParseID[lab.DeedID](c.Deed)
	if err != nil {
		return err
	}
	return r.onFarm(c.records, func(f *app.Farm) error {
		done, err := f.Undo(r.ctx, c.act(), id)
		if err != nil {
			return err
		}
		return r.print(map[string]any{"what": done.What, "deed": done.Deed, "repeat": done.Repeat}, func(w io.Writer) { fmt.Fprintln(w, done.What) })
	})
}
