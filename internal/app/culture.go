package app

import (
	"context"
	"fmt"
	"strconv"
	"strings"

	"pinset/internal/figure"
	"pinset/internal/lab"
	"pinset/internal/store"
	"pinset/internal/units"
)

// NewCulture is a culture as typed.
type NewCulture struct {
	ID         lab.CultureID
	Name       string
	Form       string
	Strain     string
	Species    string
	Parent     string // name of the culture it was taken from, "" if from outside
	Took       string // what was drawn from the parent for it, such as "1 mL"
	Jar        string // the jar that it also is, by code or as B12·3; its parent is what the jar carries
	Made       string // day, as lab.ParseWhen reads it
	Source     string // who gave or sold it
	Generation string // transfers since the master, as told; "" lets it follow from the parent
	Medium     string // name of the recipe that it grows on
	Volume     string // what the vessel holds, such as "600 mL"
	Note       string
	By         string // initials
}

// AddCulture keeps a culture, and what was drawn from its parent for it.
func (f *Farm) AddCulture(ctx context.Context, n NewCulture) (lab.Culture, error) {
	c := lab.Culture{
		ID: n.ID, Name: n.Name, Form: lab.Form(n.Form), Details: lab.CultureDetails{Source: n.Source},
		Strain: strings.TrimSpace(n.Strain), Species: strings.TrimSpace(n.Species), Note: n.Note,
	}
	if c.ID == "" {
		c.ID = newID[lab.CultureID]()
	}
	if err := n.measure(&c.Details); err != nil {
		return c, err
	}
	took, err := parseDrawn("took", n.Took)
	if err != nil {
		return c, err
	}
	// The deed bears the culture's own identifier, so that sending the form
	// twice draws from the parent once.
	deed, err := f.deed(Act{ID: lab.DeedID(c.ID), By: n.By}, "", "culture %s", strings.Join(strings.Fields(n.Name), " "))
	if err != nil {
		return c, err
	}
	err = f.store.Write(ctx, func(w store.Writer) error {
		if c.Made, err = f.when(ctx, w, "made", n.Made); err != nil {
			return err
		}
		parent, err := n.descent(ctx, w, &c)
		if err != nil {
			return err
		}
		if c, err = c.Check(); err != nil {
			return err
		}
		if err := w.AddCulture(ctx, c); err != nil || took == 0 {
			return err
		}
		if parent.ID == "" {
			return lab.Invalidf("took", "name the culture that it was taken from", "%g mL were taken from no culture", float64(took))
		}
		if fresh, err := w.AddDeed(ctx, deed); err != nil || !fresh {
			return err
		}
		return w.AddKeepings(ctx, []lab.Keeping{{Entry: entryOf(deed, c.Made), Culture: parent.ID, Kept: lab.Drawn, Amount: took, Note: "for " + c.Name}})
	})
	return c, err
}

// measure reads the figures of n.
func (n NewCulture) measure(d *lab.CultureDetails) error {
	if t := strings.TrimSpace(n.Generation); t != "" {
		g, err := strconv.Atoi(strings.TrimLeft(strings.ToUpper(t), "TPG"))
		if err != nil {
			return lab.Invalidf("generation", "write a whole number of transfers, such as 2", "%q is no number of transfers", clipTyped(t))
		}
		d.Generation = &g
	}
	if t := strings.TrimSpace(n.Volume); t != "" {
		q, err := units.ParseIn(t, "mL")
		if err != nil {
			return atField("volume", err)
		}
		if q.Dim != units.Volume {
			return lab.Invalidf("volume", "write it like 600 mL", "%q is not a volume", clipTyped(t))
		}
		d.Volume, d.Typed = units.Millilitre(q.Value), t
	}
	return nil
}

func clipTyped(s string) string { return figure.Clip(s, 40) }

// parseDrawn reads what was drawn, 0 if nothing was typed.
func parseDrawn(field, typed string) (units.Millilitre, error) {
	if strings.TrimSpace(typed) == "" {
		return 0, nil
	}
	q, err := units.ParseIn(typed, "mL")
	if err != nil {
		return 0, atField(field, err)
	}
	if q.Dim != units.Volume || !(q.Value > 0) {
		return 0, lab.Invalidf(field, "write what was taken out, such as 5 mL", "%q can not be drawn", clipTyped(typed))
	}
	return units.Millilitre(q.Value), nil
}

// descent sets parent, jar and medium of c, and returns the parent.
func (n NewCulture) descent(ctx context.Context, r store.Reader, c *lab.Culture) (parent lab.Culture, err error) {
	if p := strings.TrimSpace(n.Parent); p != "" {
		if parent, err = r.CultureByName(ctx, p); err != nil {
			return parent, atField("parent", err)
		}
	}
	if t := strings.TrimSpace(n.Jar); t != "" {
		if parent, err = jarCulture(ctx, r, t, parent, c); err != nil {
			return parent, err
		}
	}
	if m := strings.TrimSpace(n.Medium); m != "" {
		recipe, err := r.RecipeByName(ctx, m)
		if err != nil {
			return parent, atField("medium", err)
		}
		c.Medium = recipe.ID
	}
	if parent.ID == "" {
		return parent, nil
	}
	c.Parent = parent.ID
	if c.Strain == "" {
		c.Strain = parent.Strain
	}
	if c.Species == "" {
		c.Species = parent.Species
	}
	return parent, c.From(parent)
}

// jarCulture makes c the jar called typed, which stays a jar, and returns
// what the jar carries.
func jarCulture(ctx context.Context, r store.Reader, typed string, parent lab.Culture, c *lab.Culture) (lab.Culture, error) {
	span, err := lab.ParseSpan(typed)
	if err != nil {
		return parent, atField("jar", err)
	}
	jars, err := jarsOf(ctx, r, span)
	if err != nil {
		return parent, atField("jar", err)
	}
	if len(jars) != 1 {
		return parent, lab.Invalidf("jar", "name one jar, by its code or like B12·3", "%q names %d jars", clipTyped(typed), len(jars))
	}
	j := jars[0]
	if j.Carries == "" {
		return parent, lab.Invalidf("jar", "choose one that was inoculated", "jar %d carries no culture", j.Number)
	}
	if j.Fate == lab.Lost {
		return parent, lab.Invalidf("jar", "choose one that is clean", "jar %d is lost: %s", j.Number, j.Reason)
	}
	carried, err := r.Culture(ctx, j.Carries)
	if err != nil {
		return parent, err
	}
	if parent.ID != "" && parent.ID != carried.ID {
		return parent, lab.Invalidf("parent", "leave it blank, and it is what the jar carries", "jar %d carries %s, not %s", j.Number, carried.Name, parent.Name)
	}
	c.Jar = j.Jar.ID
	return carried, nil
}

// NewKeeping is something done to a culture, as typed.
type NewKeeping struct {
	Culture string // by name
	Kept    string // tested, stored, drawn, fruited or ended
	Finding string // of tested: clean or dirty
	Storage string // of stored
	Amount  string // of drawn
	At      string // when; now if blank
	Note    string
}

// KeepCulture writes down what was done to a culture.
func (f *Farm) KeepCulture(ctx context.Context, a Act, n NewKeeping) (Done, error) {
	var done Done
	k := lab.Keeping{Kept: lab.Kept(n.Kept), Finding: lab.Finding(n.Finding), Storage: lab.Storage(n.Storage), Note: n.Note}
	var err error
	if k.Amount, err = parseDrawn("amount", n.Amount); err != nil {
		return done, err
	}
	if k, err = k.Check(); err != nil {
		return done, err
	}
	err = f.store.Write(ctx, func(w store.Writer) error {
		c, err := w.CultureByName(ctx, n.Culture)
		if err != nil {
			return atField("culture", err)
		}
		at, err := f.when(ctx, w, "at", n.At)
		if err != nil {
			return err
		}
		deed, err := f.deed(a, "", "%s %s", c.Name, KeptLine(k))
		if err != nil {
			return err
		}
		done = Done{Deed: deed.ID, What: deed.What}
		if fresh, err := w.AddDeed(ctx, deed); err != nil || !fresh {
			done.Repeat = !fresh
			return err
		}
		k.Entry, k.Culture = entryOf(deed, at), c.ID
		return w.AddKeepings(ctx, []lab.Keeping{k})
	})
	return done, err
}

// KeptLine says what was done, after a name: "tested clean".
func KeptLine(k lab.Keeping) string {
	switch k.Kept {
	case lab.Tested:
		return "tested " + string(k.Finding)
	case lab.Stored:
		return "stored: " + k.Storage.Label()
	case lab.Drawn:
		return fmt.Sprintf("drawn %s", k.Amount)
	}
	return string(k.Kept)
}
