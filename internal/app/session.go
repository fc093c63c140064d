package app

import (
	"context"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"pinset/internal/figure"
	"pinset/internal/lab"
	"pinset/internal/store"
	"pinset/internal/units"
)

// SessionSheet is what must be known before gloves go on: what to have ready,
// then one card after the other. It is printed, or shown one card at a time.
type SessionSheet struct {
	Name     string // "Inoculate B12"
	About    string // the batch or cook in full
	Ready    []string
	Cards    []SessionCard
	Cautions []figure.Caution
	Weighs   bool // each card takes a weight
}

// SessionCard is one thing to do.
type SessionCard struct {
	Large string // the number of the jar, "" for a step of a cook
	Code  string
	Do    string // "2 mL from LC-3"
	Note  string
}

// InoculationSheet is the list for an inoculation: what each jar gets, in the
// order of their numbers, and what none may get.
func (f *Farm) InoculationSheet(ctx context.Context, in InoculateInput) (SessionSheet, error) {
	var sheet SessionSheet
	err := f.store.Read(ctx, func(r store.Reader) error {
		s, err := f.readSession(ctx, r, in)
		if err != nil {
			return err
		}
		sheet = SessionSheet{Name: "Inoculate " + s.report.Batch.String(), About: s.report.Batch.Title(), Cautions: s.report.Cautions}
		sheet.Ready = s.ready()
		rows, err := r.Jars(ctx, store.JarFilter{Batch: s.report.Batch.ID})
		if err != nil {
			return err
		}
		sheet.Cards = s.cards(rows)
		return nil
	})
	return sheet, err
}

// ready says what the session takes.
func (s *session) ready() []string {
	out := []string{"Jars: " + s.report.What}
	if s.amount != "" && len(s.jars) > 0 {
		if q, err := units.Parse(s.amount); err == nil {
			out = append(out, fmt.Sprintf("In all %s %s, and some to spare", significantly(q.Value*float64(len(s.jars))), q.Unit))
		}
	} else {
		out = append(out, "How much each jar gets is not written: write it on the page before, or agree on it now")
	}
	return append(out, "Jars cold to the hand, labels on, hands and box wiped", "Flame only when no alcohol is wet or open")
}

// significantly prints x without needless digits.
func significantly(x float64) string { return strconv.FormatFloat(x, 'g', 4, 64) }

// cards are the jars of the batch in the order of their numbers; those that
// get nothing say why.
func (s *session) cards(rows []store.JarRow) []SessionCard {
	why := make(map[int]string)
	for _, h := range s.report.HeldBack {
		why[h.Number] = "leave it: " + h.Why
	}
	for _, n := range s.report.Left {
		why[n] = "leave it out"
	}
	var out []SessionCard
	for _, j := range rows {
		c := SessionCard{Large: strconv.Itoa(j.Number), Code: string(j.Code), Note: j.Place()}
		culture, gets := s.gets[j.Jar.ID]
		switch {
		case j.Blank:
			c.Do = "blank: leave it closed"
		case j.Fate == lab.Lost:
			continue
		case gets && s.amount != "":
			c.Do = s.amount + " from " + culture.Name
		case gets:
			c.Do = "from " + culture.Name
		default:
			c.Do = why[j.Number]
		}
		out = append(out, c)
	}
	return out
}

// WeighSheet is the list for weighing in a batch, with a caution where the
// step of the scale is coarse for a pick.
func (f *Farm) WeighSheet(ctx context.Context, batch string) (SessionSheet, error) {
	var sheet SessionSheet
	err := f.store.Read(ctx, func(r store.Reader) error {
		b, rows, err := batchJars(ctx, r, batch, "")
		if err != nil {
			return err
		}
		set, err := readSettings(ctx, r)
		if err != nil {
			return err
		}
		sheet = SessionSheet{Name: "Weigh " + b.String(), About: b.Title(), Weighs: true}
		usual, err := f.usualPick(ctx, r, rows)
		if err != nil {
			return err
		}
		sheet.Ready, sheet.Cautions = ScaleSays(set.Step, usual)
		sheet.Ready = append(sheet.Ready, "Tare the scale with the empty bowl; weigh each jar’s pick by itself")
		for _, j := range rows {
			if j.Blank || j.Inoculated.IsZero() || j.Fate == lab.Lost || j.Fate == lab.Spent {
				continue
			}
			c := SessionCard{Large: strconv.Itoa(j.Number), Code: string(j.Code), Note: j.Stage.Label()}
			if j.Picks > 0 {
				c.Note = fmt.Sprintf("picked before: %s in %s", j.Grams, figure.Count(j.Picks, "pick", "picks"))
			}
			sheet.Cards = append(sheet.Cards, c)
		}
		return nil
	})
	return sheet, err
}

// usualPick returns the median of what jars gave: those of rows if any was
// picked, otherwise the mean of the last batches. 0 is not known.
func (f *Farm) usualPick(ctx context.Context, r store.Reader, rows []store.JarRow) (units.Gram, error) {
	var grams []units.Gram
	for _, j := range rows {
		if j.Picks > 0 && j.Grams > 0 {
			grams = append(grams, j.Grams/units.Gram(j.Picks))
		}
	}
	if len(grams) > 0 {
		slices.Sort(grams)
		return grams[len(grams)/2], nil
	}
	newest, err := newestBatches(ctx, r, 0)
	if err != nil {
		return 0, err
	}
	batches, err := f.batchRows(ctx, r, newest)
	if err != nil {
		return 0, err
	}
	for _, b := range batches {
		if b.Tally.Picked > 0 {
			return units.Gram(b.Tally.Grams / float64(b.Tally.Picked)), nil
		}
	}
	return 0, nil
}

// ScaleSays says how the step of a scale stands to a usual pick, with a
// caution where one step is more than 5 % of it. usual 0 is not known.
func ScaleSays(step, usual units.Gram) ([]string, []figure.Caution) {
	const coarse = 0.05 // own choice: jars of one arm differ by some 15 to 30 %
	if !(usual > 0) {
		return []string{fmt.Sprintf("The scale shows steps of %s. What a pick weighs here is not known yet.", step)}, nil
	}
	share := float64(step / usual)
	says := fmt.Sprintf("The scale shows steps of %s: one step is %s %% of a usual pick, %.3g g.", step, significantly(roundTo(share*100, 1)), float64(usual))
	if !(share > coarse) {
		return []string{says}, nil
	}
	return []string{says}, []figure.Caution{{
		Code: "coarse_scale", Title: "The scale is coarse for these picks", Weight: figure.Care,
		Text: fmt.Sprintf("One step is %.0f %% of a pick, so small differences between arms are lost in the rounding. Use a scale with steps of %s or finer.", share*100, units.Gram(finerStep(float64(usual)*coarse))),
	}}
}

// finerStep returns the largest power of ten that is no more than most.
func finerStep(most float64) float64 {
	step := 1000.0
	for step > most && step > 0.0011 {
		step /= 10
	}
	return step
}

func roundTo(x float64, decimals int) float64 {
	v, _ := strconv.ParseFloat(strconv.FormatFloat(x, 'f', decimals, 64), 64) // what FormatFloat wrote
	return v
}

// ReadScale returns what a scale typed as a weight that can be read:
// "ST,+0012.40  g" is "12.40 g". A reading that the scale marked as not
// settled is an Invalid Problem at field. The marks ST and US are common
// practice of bench scales, no source.
func ReadScale(field, typed string) (string, error) {
	s := strings.TrimSpace(typed)
	for {
		mark, rest, ok := strings.Cut(s, ",")
		if !ok || strings.Trim(mark, "ABCDEFGHIJKLMNOPQRSTUVWXYZ") != "" || mark == "" {
			break
		}
		if mark == "US" {
			return "", lab.Invalidf(field, "wait until it stands still, then press its key again", "the scale had not settled at %q", figure.Clip(typed, 30))
		}
		s = strings.TrimSpace(rest)
	}
	s = strings.TrimSpace(strings.TrimPrefix(s, "+"))
	if t := strings.TrimLeft(s, "0"); t != s { // 0012.40
		s = t
		if s == "" || s[0] < '0' || s[0] > '9' {
			s = "0" + s
		}
	}
	return s, nil
}

// CookSheet is the list for a cook: its steps in their order, and what stands
// in the cooker.
func (f *Farm) CookSheet(ctx context.Context, name string) (SessionSheet, error) {
	v, err := f.CookView(ctx, name)
	if err != nil {
		return SessionSheet{}, err
	}
	run, err := f.CookRun(ctx, name)
	if err != nil {
		return SessionSheet{}, err
	}
	sheet := SessionSheet{Name: capitalised(v.String()), About: strings.TrimSpace(capitalised(v.String()) + " " + v.Name), Cautions: []figure.Caution{pressureCaution}}
	if n := v.Jars + v.Blanks; n > 0 {
		sheet.Ready = append(sheet.Ready, figure.Counted(n, "jar")+" of "+strings.Join(v.Batches, ", "))
	}
	for _, i := range v.Items {
		line := fmt.Sprintf("%d %s", i.Count, i.Name)
		if i.Figures.Layer > 0 {
			line += fmt.Sprintf(", layer %d", i.Figures.Layer)
		}
		sheet.Ready = append(sheet.Ready, line)
	}
	if v.Hold > 0 {
		sheet.Ready = append(sheet.Ready, strings.TrimSpace(fmt.Sprintf("Hold %s without a break %s", v.Hold, at(v.Gauge))))
	}
	advice, err := f.CookAdvice(ctx, name, AdviceOptions{})
	if err != nil {
		return SessionSheet{}, err
	}
	sheet.Ready = append(sheet.Ready, advice.ready()...)
	for _, c := range advice.Cautions {
		if c.Weight == figure.Stop && !hasCaution(sheet.Cautions, c.Code) {
			sheet.Cautions = append(sheet.Cautions, c)
		}
	}
	for _, s := range run.Steps {
		sheet.Cards = append(sheet.Cards, SessionCard{Do: s.What, Note: s.Caution})
	}
	return sheet, nil
}

// ready are the hold and the water that are advised, for the list.
func (a CookAdvice) ready() []string {
	var out []string
	if a.RuleMin != nil && a.AdvisedMin != nil && *a.AdvisedMin > *a.RuleMin+0.5 {
		out = append(out, fmt.Sprintf("Hold on to %s: that is advised here for the same kill", wholeUp(*a.AdvisedMin)))
	}
	if a.PourL != nil {
		out = append(out, fmt.Sprintf("Water: at least %.1f L, or what the maker's manual says if that is more", math.Ceil(*a.PourL*10-1e-6)/10))
	}
	return out
}

func at(gauge string) string {
	if gauge == "" {
		return ""
	}
	return "at " + gauge
}

func capitalised(s string) string { return strings.ToUpper(s[:1]) + s[1:] }
