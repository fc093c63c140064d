package app

import (
	"context"
	"fmt"
	"slices"
	"strconv"
	"strings"
	"time"

	"pinset/internal/lab"
	"pinset/internal/store"
)

// LabelText is what the label of one thing says.
type LabelText struct {
	Kind     lab.LabelKind
	Large    string   // the number in its batch, or the name: what is read across the room
	Over     string   // the batch, or the form of a culture
	Code     string   // to type, "" if the name is enough
	Day      string   // "9 Mar 2026", "" if not known
	About    []string // short lines: the recipe, the container
	Path     string   // what its square holds below the farm's address: "J/K73QF"
	Diameter float64  // of the jar, mm; 0 not known, or not curved
}

// LabelInput says what labels are for, as typed.
type LabelInput struct {
	Kind    lab.LabelKind
	Batch   string   // of the jars
	Numbers string   // of the jars, such as "1–12, 15"; "" is all
	Names   []string // of all but jars; none is all of them
	// Arms prints the recipe on jars of a trial. Without it they say nothing
	// that tells the arms apart, so that who looks and weighs does not know.
	Arms bool
}

// Labels returns what the labels say, in the order that they are stuck on. A
// name that nothing bears is a NotFound Problem.
func (f *Farm) Labels(ctx context.Context, in LabelInput) ([]LabelText, error) {
	var out []LabelText
	err := f.store.Read(ctx, func(r store.Reader) error {
		set, err := readSettings(ctx, r)
		if err != nil {
			return err
		}
		switch in.Kind {
		case lab.JarLabel:
			out, err = f.jarLabels(ctx, r, in, set.Zone)
		case lab.CultureLabel:
			out, err = cultureLabels(ctx, r, set.Zone)
		case lab.LotLabel:
			out, err = f.lotLabels(ctx, r, set.Zone)
		case lab.ShelfLabel:
			out, err = f.shelfLabels(ctx, r)
		case lab.CookLabel:
			out, err = cookLabels(ctx, r, set.Zone)
		default:
			err = lab.Invalidf("kind", "choose jars, cultures, lots, shelves or cooks", "there are no labels for %q", string(in.Kind))
		}
		return err
	})
	if err != nil || in.Kind == lab.JarLabel {
		return out, err
	}
	return choose(out, in.Names)
}

// choose returns the labels called names, in that order.
func choose(all []LabelText, names []string) ([]LabelText, error) {
	if len(names) == 0 {
		return all, nil
	}
	var out []LabelText
	for _, name := range names {
		i := slices.IndexFunc(all, func(l LabelText) bool {
			key := lab.NameKey(name)
			_, own, _ := lab.LabelOf(l.Path)
			return key == lab.NameKey(l.Large) || key == lab.NameKey(own)
		})
		if i < 0 {
			return nil, lab.NotFoundf("look for it in the list", "nothing is called %q that a label could be printed for", name)
		}
		out = append(out, all[i])
	}
	return out, nil
}

func (f *Farm) jarLabels(ctx context.Context, r store.Reader, in LabelInput, zone *time.Location) ([]LabelText, error) {
	b, rows, err := batchJars(ctx, r, in.Batch, in.Numbers)
	if err != nil {
		return nil, err
	}
	if in.Arms {
		if err := mayTellArms(ctx, r, b); err != nil {
			return nil, err
		}
	}
	names, err := namesOf(ctx, r, rows)
	if err != nil {
		return nil, err
	}
	if _, err := hideTrial(ctx, r, b.Trial, rows, &names); err != nil {
		return nil, err
	}
	bores := make(map[lab.ContainerID]float64)
	containers, err := r.Containers(ctx)
	if err != nil {
		return nil, err
	}
	for _, c := range containers {
		bores[c.ID] = float64(c.Bore)
	}
	out := make([]LabelText, len(rows))
	for i, j := range rows {
		l := LabelText{
			Kind: lab.JarLabel, Large: strconv.Itoa(j.Number), Over: b.String(), Code: string(j.Code), Day: shortDay(b.Made, zone),
			Path: lab.LabelPath(lab.JarLabel, string(j.Code)), Diameter: bores[j.Container],
		}
		if !j.Filled.IsZero() {
			l.Day = shortDay(j.Filled, zone)
		}
		if j.Mark != "" {
			l.Over += " " + j.Mark
		}
		switch {
		case j.Blank:
			l.About = []string{"blank: never inoculate"}
		case b.Trial == "" || in.Arms:
			l.About = []string{names.Recipes[j.Recipe]}
		}
		out[i] = l
	}
	return out, nil
}

// mayTellArms refuses to print the arms of a blind trial before its key is
// opened.
func mayTellArms(ctx context.Context, r store.Reader, b lab.Batch) error {
	if b.Trial == "" {
		return nil
	}
	t, err := r.Trial(ctx, b.Trial)
	if err != nil || !t.Details.Blind {
		return err
	}
	opened, err := r.Openings(ctx)
	if err != nil {
		return err
	}
	if !slices.ContainsFunc(opened, func(o lab.Opening) bool { return o.Trial == t.ID }) {
		return &lab.Problem{
			Kind: lab.Refused, Field: "arms", What: fmt.Sprintf("the trial %s is blind: its labels tell no arm", t.Name),
			Mend: "print them without the recipe, or open the key of the trial first",
		}
	}
	return nil
}

// batchJars returns the jars of a batch with the numbers that were typed.
func batchJars(ctx context.Context, r store.Reader, batch, numbers string) (lab.Batch, []store.JarRow, error) {
	b, err := r.BatchByName(ctx, batch)
	if err != nil {
		return lab.Batch{}, nil, err
	}
	span := lab.Span{Batch: b.String()}
	if strings.TrimSpace(numbers) != "" {
		if span, err = lab.ParseSpan(b.String() + "·" + numbers); err != nil {
			return b, nil, atField("numbers", err)
		}
	}
	rows, err := jarsOf(ctx, r, span)
	return b, rows, err
}

func cultureLabels(ctx context.Context, r store.Reader, zone *time.Location) ([]LabelText, error) {
	all, err := r.Cultures(ctx)
	if err != nil {
		return nil, err
	}
	names := make(map[lab.CultureID]string)
	for _, c := range all {
		names[c.ID] = c.Name
	}
	out := make([]LabelText, len(all))
	for i, c := range all {
		l := LabelText{Kind: lab.CultureLabel, Large: c.Name, Day: shortDay(c.Made, zone), Path: lab.LabelPath(lab.CultureLabel, c.Name)}
		if c.Form != lab.Unsaid {
			l.Over = string(c.Form)
		}
		if c.Strain != "" {
			l.About = append(l.About, "strain "+c.Strain)
		}
		if parent := names[c.Parent]; parent != "" {
			l.About = append(l.About, "from "+parent)
		}
		if c.Species != "" {
			l.About = append(l.About, c.Species)
		}
		out[i] = l
	}
	return out, nil
}

func (f *Farm) lotLabels(ctx context.Context, r store.Reader, zone *time.Location) ([]LabelText, error) {
	own, err := f.readStock(ctx, r)
	if err != nil {
		return nil, err
	}
	var out []LabelText
	for _, row := range own.rows {
		for _, l := range row.Lots {
			t := LabelText{Kind: lab.LotLabel, Large: l.String(), Over: row.Name, Day: shortDay(l.At, zone), Path: lab.LabelPath(lab.LotLabel, strconv.Itoa(l.Number))}
			if l.SupplierCode != "" {
				t.About = append(t.About, "sack "+l.SupplierCode)
			}
			if !l.BestBefore.IsZero() {
				t.About = append(t.About, "best before "+l.BestBefore.Format("2 Jan 2006"))
			}
			out = append(out, t)
		}
	}
	return out, nil
}

// shelfLabels names the shelves in walking order.
func (f *Farm) shelfLabels(ctx context.Context, r store.Reader) ([]LabelText, error) {
	names, err := f.shelfNames(ctx, r)
	if err != nil {
		return nil, err
	}
	var out []LabelText
	for _, name := range names {
		out = append(out, LabelText{Kind: lab.ShelfLabel, Large: name, Over: "shelf", Path: lab.LabelPath(lab.ShelfLabel, name)})
	}
	return out, nil
}

func cookLabels(ctx context.Context, r store.Reader, zone *time.Location) ([]LabelText, error) {
	cooks, err := r.Cooks(ctx, 200)
	if err != nil {
		return nil, err
	}
	out := make([]LabelText, len(cooks))
	for i, c := range cooks {
		l := LabelText{Kind: lab.CookLabel, Large: fmt.Sprintf("Cook %d", c.Number), Day: shortDay(c.Day, zone), Path: lab.LabelPath(lab.CookLabel, strconv.Itoa(c.Number))}
		for _, line := range []string{c.Name, c.Cooker} {
			if line != "" {
				l.About = append(l.About, line)
			}
		}
		out[i] = l
	}
	return out, nil
}

// shortDay prints the day of w at the farm: "9 Mar 2026".
func shortDay(w lab.When, zone *time.Location) string {
	if d, ok := w.Day(zone); ok {
		return d.Format("2 Jan 2006")
	}
	return ""
}
