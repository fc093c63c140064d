package app

import (
	"context"
	"fmt"
	"math"

	"pinset/internal/calc/thermal"
	"pinset/internal/figure"
	"pinset/internal/lab"
	"pinset/internal/store"
)

// SaveLid keeps how the lid of the container called name vents.
func (f *Farm) SaveLid(ctx context.Context, a Act, name, lid string) (lab.DeedID, error) {
	var id lab.DeedID
	return id, f.store.Write(ctx, func(w store.Writer) error {
		c, err := w.ContainerByName(ctx, name)
		if err != nil {
			return err
		}
		id, err = f.keepLid(ctx, w, a, c, lid)
		return err
	})
}

func (f *Farm) keepLid(ctx context.Context, w store.Writer, a Act, c lab.Container, typed string) (lab.DeedID, error) {
	lid, err := lab.ParseLid(typed)
	if err != nil {
		return "", err
	}
	deed, err := f.deed(a, "", "%s: %s", c.Name, lid.Label())
	if err != nil {
		return "", err
	}
	if fresh, err := w.AddDeed(ctx, deed); err != nil || !fresh {
		return deed.ID, err
	}
	return deed.ID, w.AddContainerLids(ctx, []lab.ContainerLid{{Entry: entryOf(deed, lab.At(deed.Entered)), Container: c.ID, Lid: lid}})
}

// headspaces is how steam meets the top of a fill under each lid, in the
// words of the calculators. A filter and loose foil let steam in as slowly as
// a hole does, by assumption: no source.
var headspaces = map[lab.Lid]string{"vented": "vented", "filter": "vented", "foil": "vented", "tight": "tight", "open": "wet"}

// putLids gives each kind of jar the lid that was logged in the cook, else
// that of its container.
func (c *cookFacts) putLids(ctx context.Context, r store.Reader) error {
	all, err := r.ContainerLids(ctx)
	if err != nil {
		return err
	}
	known := lab.LidsNow(all)
	said := lab.Lid("")
	for _, s := range c.steps {
		if s.Event == lab.LidAt {
			said = lab.Lid(s.Typed)
		}
	}
	for i := range c.vessels {
		v := &c.vessels[i]
		if v.Lid = known[v.of]; said != "" {
			v.Lid = said
		}
		v.lid = headspaces[v.Lid]
	}
	return nil
}

// asksLid reports whether the lid of a kind of jar is not known. Bottles of
// liquid warm through their walls.
func (c cookFacts) asksLid() bool {
	for _, v := range c.vessels {
		if v.Lid == "" && v.mode != "liquid" {
			return true
		}
	}
	return false
}

// adviseLid asks how the lid vents where a tight one would make a difference.
func (c cookFacts) adviseLid(a *CookAdvice, in thermal.HoldInput) error {
	if a.Vessel == nil || a.Vessel.Lid != "" || a.Vessel.mode == "liquid" {
		return nil
	}
	in.Lid = "tight"
	less, err := c.lessInCore(a, in)
	if less == nil || err != nil {
		return err
	}
	a.Cautions = append(a.Cautions, figure.Caution{
		Code: "lid_assumed", Title: "How does the lid vent?", Weight: figure.Care,
		Text: fmt.Sprintf("A vented one is taken for %s. Under a tight one your own rule leaves %s min of F0 in the core instead of %s: say it once under Supplies, Containers, or log it with this cook.",
			a.Vessel.Name, digitsBy(*less, math.Floor), digitsBy(*a.Hold.Result.RuleCoreF0Min.Low, math.Floor)),
	})
	return nil
}

// lessInCore is the least F0 of the core under the own rule if it is as in
// says, nil where that is hardly less than as it is reckoned.
func (c cookFacts) lessInCore(a *CookAdvice, in thermal.HoldInput) (*float64, error) {
	answer, err := c.holds.hold(in)
	if err != nil {
		return nil, err
	}
	f, now := answer.Result.RuleCoreF0Min, a.Hold.Result.RuleCoreF0Min
	if f == nil || f.Low == nil || now == nil || now.Low == nil || !(*f.Low < 0.95**now.Low) {
		return nil, nil
	}
	return f.Low, nil
}
