package app

import (
	"context"
	"fmt"
	"slices"
	"time"

	"pinset/internal/figure"
	"pinset/internal/lab"
	"pinset/internal/store"
)

// ContrastFigure writes what a contrast says with its interval, or why it can not
// be added up.
func ContrastFigure(c lab.Contrast) string {
	switch {
	case c.Not != "":
		return c.Not
	case c.Ratio:
		return fmt.Sprintf("%.2f times (%.2f to %.2f)", c.Value, c.Low, c.High)
	}
	return fmt.Sprintf("%s points (%s to %s)", points(c.Value), points(c.Low), points(c.High))
}

// TakenIn is what came of taking a package in.
type TakenIn struct {
	Done
	Guest    lab.Guest
	Verified Verified
	Usable   int // contrasts of what decides that can be added up
}

// Says tells it in one sentence.
func (t TakenIn) Says() string {
	if t.Repeat {
		return fmt.Sprintf("%s from %s was taken in before; nothing was stored twice.", t.Guest.Name, t.Guest.From)
	}
	if t.Guest.Kind == lab.FromPrint {
		return fmt.Sprintf("%s from %s kept, and marked as typed in from print.", t.Guest.Name, t.Guest.From)
	}
	return fmt.Sprintf("%s from %s taken in: %s and %s to be added up.", t.Guest.Name, t.Guest.From,
		figure.Count(t.Guest.Jars, "jar judged again", "jars judged again"), figure.Count(t.Usable, "contrast", "contrasts"))
}

// TakePackage takes a friend's package in, to be added up with the farm's own
// trials. It is verified first: an altered one is a Conflict that says what
// differs. So is a package of one of the farm's own trials, and one whose jars
// are here already. The same package twice is taken in once. from overrides who
// wrote it; a package that does not say needs it.
func (f *Farm) TakePackage(ctx context.Context, a Act, p *Package, from string) (TakenIn, error) {
	v, u, err := verify(p)
	out := TakenIn{Verified: v}
	if err != nil {
		return out, err
	}
	if u.plan.Blind {
		return out, lab.Conflictf("ask for it again when its key is open", "%s was blind when this was written: its arms are letters, and letters can not be added up", v.Trial)
	}
	verdict, err := u.ev.verdict()
	if err != nil {
		return out, err
	}
	if from == "" {
		from = v.From
	}
	g, err := lab.Guest{
		Name: v.Trial, From: from, Kind: lab.FromPackage, Question: v.Question, Sentence: v.Sentence, Made: v.Made, Version: v.Version,
		Hash: v.Hash, DataHash: v.DataHash, Jars: v.Jars, Arms: u.ev.guestArms(verdict), Contrasts: u.ev.contrasts(verdict),
	}.Check()
	if err != nil {
		return out, err
	}
	out.Guest, out.Usable = g, usable(g.Contrasts)
	if err := f.notOurs(ctx, g); err != nil {
		return out, err
	}
	out.Done, out.Guest, err = f.keepGuest(ctx, a, g)
	return out, err
}

func usable(contrasts []lab.Contrast) int {
	n := 0
	seen := make(map[string]bool)
	for _, c := range contrasts {
		if c.Not == "" && !seen[c.This()+"\x00"+c.Than()] {
			seen[c.This()+"\x00"+c.Than()] = true
			n++
		}
	}
	return n
}

// notOurs refuses the farm's own trial, which would count twice.
func (f *Farm) notOurs(ctx context.Context, g lab.Guest) error {
	return f.store.Read(ctx, func(r store.Reader) error {
		trials, err := r.Trials(ctx)
		if err != nil {
			return err
		}
		own, err := f.gatherAll(ctx, r, trials...)
		if err != nil {
			return err
		}
		for i, ev := range own {
			_, hash, err := ev.data()
			if err != nil {
				return err
			}
			if hash != g.DataHash {
				continue
			}
			return lab.Conflictf("read it on the page of the trial", "this package is of your own trial %s, so its jars would count twice", trials[i].Name)
		}
		return nil
	})
}

// keepGuest stores g, unless it is there.
func (f *Farm) keepGuest(ctx context.Context, a Act, g lab.Guest) (Done, lab.Guest, error) {
	var done Done
	err := f.store.Write(ctx, func(w store.Writer) error {
		deed, err := f.deed(a, "", "%s taken in from %s", g.Name, g.From)
		if err != nil {
			return err
		}
		all, err := w.Guests(ctx)
		if err != nil {
			return err
		}
		for _, x := range lab.Current(all) {
			switch {
			case x.Hash == g.Hash:
				done, g = Done{Deed: x.Deed, What: deed.What, Repeat: true}, x
				return nil
			case x.DataHash == g.DataHash && g.DataHash != "":
				return lab.Conflictf("keep the one that is here, or set it aside first", "the same jars are here already, as %s from %s", x.Name, x.From)
			case x.Kind == lab.FromPackage && g.Kind == lab.FromPackage && lab.NameKey(x.Name) == lab.NameKey(g.Name) && lab.NameKey(x.From) == lab.NameKey(g.From):
				return lab.Conflictf("set that one aside first, if this one succeeds it", "%s from %s is here already with other jars, written on %s", x.Name, x.From, x.Made.Format(time.DateOnly))
			}
		}
		g.Entry = entryOf(deed, lab.At(deed.Entered))
		done = Done{Deed: deed.ID, What: deed.What}
		if fresh, err := w.AddDeed(ctx, deed); err != nil || !fresh {
			done.Repeat = !fresh
			return err
		}
		return w.AddGuests(ctx, []lab.Guest{g})
	})
	return done, g, err
}

// Guests returns the trials from elsewhere that hold, the newest first.
func (f *Farm) Guests(ctx context.Context) ([]lab.Guest, error) {
	var out []lab.Guest
	err := f.store.Read(ctx, func(r store.Reader) error {
		all, err := r.Guests(ctx)
		out = lab.Current(all)
		return err
	})
	slices.Reverse(out)
	return out, err
}

// Guest returns a trial from elsewhere by its identifier, or by its name if only
// one bears it.
func (f *Farm) Guest(ctx context.Context, name string) (lab.Guest, error) {
	all, err := f.Guests(ctx)
	if err != nil {
		return lab.Guest{}, err
	}
	return findGuest(all, name)
}

func findGuest(all []lab.Guest, name string) (lab.Guest, error) {
	var found []lab.Guest
	for _, g := range all {
		if string(g.ID) == name {
			return g, nil
		}
		if lab.NameKey(g.Name) == lab.NameKey(name) || len(name) >= 8 && len(g.Hash) >= len(name) && g.Hash[:len(name)] == name {
			found = append(found, g)
		}
	}
	switch len(found) {
	case 0:
		return lab.Guest{}, lab.NotFoundf("look at the list of those that were taken in", "no trial from elsewhere is called %s", name)
	case 1:
		return found[0], nil
	}
	return lab.Guest{}, lab.Conflictf("name the first eight digits of its hash", "%d trials from elsewhere are called %s", len(found), name)
}

// SetGuestAside takes a trial from elsewhere out of all that is added up. It can
// be taken in again.
func (f *Farm) SetGuestAside(ctx context.Context, a Act, name string) (Done, error) {
	return f.correctGuest(ctx, a, name, "set aside", func(g *lab.Guest, d lab.Deed) error {
		g.Entry = withdrawal(d, g.Entry)
		return nil
	})
}

// CallGuest says what things of a guest are called here, by what it calls them:
// its "number 7" may be this farm's "oats".
func (f *Farm) CallGuest(ctx context.Context, a Act, name string, called map[string]string) (Done, error) {
	return f.correctGuest(ctx, a, name, "named as here", func(g *lab.Guest, d lab.Deed) error {
		before := g.Entry
		g.Entry = entryOf(d, before.At)
		g.Entry.Corrects = before.ID
		if err := rename(g, called); err != nil {
			return err
		}
		var err error
		*g, err = g.Check()
		return err
	})
}

func rename(g *lab.Guest, called map[string]string) error {
	names := make(map[string]string)
	for from, to := range called {
		if to == "" {
			continue
		}
		tidy, err := lab.Name("name", to)
		if err != nil {
			return err
		}
		names[lab.NameKey(from)] = tidy
	}
	known := make(map[string]bool)
	g.Contrasts = slices.Clone(g.Contrasts)
	for i := range g.Contrasts {
		sides := slices.Clone(g.Contrasts[i].Sides)
		for k := range sides {
			for _, at := range []*string{&sides[k].This, &sides[k].Than} {
				key := lab.NameKey(*at)
				known[key] = true
				if to, ok := names[key]; ok {
					*at = to
				}
			}
		}
		g.Contrasts[i].Sides = sides
	}
	for from := range names {
		if !known[from] {
			return lab.Invalidf("called", "name one of the things that it compares", "%s does not compare %q", g.Name, from)
		}
	}
	return nil
}

func (f *Farm) correctGuest(ctx context.Context, a Act, name, what string, change func(*lab.Guest, lab.Deed) error) (Done, error) {
	var done Done
	err := f.store.Write(ctx, func(w store.Writer) error {
		if d, err := w.Deed(ctx, a.ID); err == nil {
			done = Done{Deed: d.ID, What: d.What, Repeat: true}
			return nil
		}
		all, err := w.Guests(ctx)
		if err != nil {
			return err
		}
		g, err := findGuest(lab.Current(all), name)
		if err != nil {
			return err
		}
		deed, err := f.deed(a, "", "%s from %s %s", g.Name, g.From, what)
		if err != nil {
			return err
		}
		done = Done{Deed: deed.ID, What: deed.What}
		if err := change(&g, deed); err != nil {
			return err
		}
		if _, err := w.AddDeed(ctx, deed); err != nil {
			return err
		}
		return w.AddGuests(ctx, []lab.Guest{g})
	})
	return done, err
}

// takeBackGuests restores what the entries of a deed corrected, and withdraws
// the others.
func takeBackGuests(ctx context.Context, r store.Reader, d lab.Deed, mine []lab.Guest) ([]lab.Guest, error) {
	if len(mine) == 0 {
		return nil, nil
	}
	all, err := r.Guests(ctx)
	if err != nil {
		return nil, err
	}
	return takeBack(d, mine, all, func(g *lab.Guest) *lab.Entry { return &g.Entry }), nil
}
