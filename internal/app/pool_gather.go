package app

import (
	"cmp"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"regexp"
	"slices"
	"strings"
	"time"

	"pinset/internal/lab"
	"pinset/internal/store"
)

// LeftOut is a trial that is not in what is added up, and why.
type LeftOut struct {
	Trial string `json:"trial"`
	From  string `json:"from"` // "" for an own one
	Why   string `json:"why"`
}

// tried is one contrast as one trial tried it.
type tried struct {
	lab.Contrast
	trial   string
	guest   string // hash of one from elsewhere
	from    string // "" for an own one
	kind    lab.GuestKind
	when    time.Time
	matters float64 // the smallest difference that matters for this outcome, 0 if not said
}

func (t tried) left(why string) LeftOut { return LeftOut{t.trial, t.from, why} }

// allTried is all that was tried, with the trials that say nothing.
type allTried struct {
	rows   []tried
	silent []LeftOut
	known  *reckoned
}

// gatherTried reads every own trial and judges it, and adds those from elsewhere.
// Trials whose key is closed say nothing.
func (f *Farm) gatherTried(ctx context.Context) (allTried, error) {
	out := allTried{known: f.known}
	var of []evidence
	var guests []lab.Guest
	err := f.store.Read(ctx, func(r store.Reader) error {
		trials, err := r.Trials(ctx)
		if err != nil {
			return err
		}
		if of, err = f.gatherAll(ctx, r, trials...); err != nil {
			return err
		}
		all, err := r.Guests(ctx)
		guests = lab.Current(all)
		return err
	})
	if err != nil {
		return out, err
	}
	for _, ev := range of {
		if err := out.addOwn(ev); err != nil {
			return out, err
		}
	}
	for _, g := range guests {
		for _, c := range g.Contrasts {
			when := g.Made
			if when.IsZero() {
				when = g.At.Time
			}
			out.rows = append(out.rows, tried{Contrast: c, trial: g.Name, guest: g.Hash, from: g.From, kind: g.Kind, when: when})
		}
	}
	return out, nil
}

func (a *allTried) addOwn(ev evidence) error {
	silent := func(why string) { a.silent = append(a.silent, LeftOut{Trial: ev.trial.Name, Why: why}) }
	if ev.mask.closed() {
		silent("it is blind, and its key is closed")
		return nil
	}
	v, err := ev.verdict()
	if p, ok := lab.AsProblem(err); ok {
		silent(p.What)
		return nil
	}
	if err != nil {
		return err
	}
	contrasts := ev.contrasts(v)
	if len(contrasts) == 0 {
		silent(strings.TrimSuffix(v.Result.Sentence, "."))
	}
	for _, c := range contrasts {
		t := tried{Contrast: c, trial: ev.trial.Name, when: ev.trial.Planned}
		if c.Outcome == ev.trial.Primary {
			t.matters = ev.trial.Matters
		}
		a.rows = append(a.rows, t)
	}
	return nil
}

// versioned is the end of a recipe's name that tells its version.
var versioned = regexp.MustCompile(`, version \d+$`)

// sameness is what makes two contrasts the same, and whether c has to be turned
// for it. With anyVersion all versions of a recipe are one.
func sameness(c lab.Contrast, anyVersion bool) (key string, turned bool) {
	name := func(s string, is lab.Factor) string {
		if anyVersion && is == lab.ByRecipe {
			s = versioned.ReplaceAllString(s, "")
		}
		return lab.NameKey(s)
	}
	var sides []lab.Side
	for _, s := range c.Sides {
		s.This, s.Than, s.Factor = name(s.This, s.Is), name(s.Than, s.Is), lab.NameKey(s.Factor)
		if s.This != s.Than {
			sides = append(sides, s)
		}
	}
	if len(sides) == 0 {
		return "", false
	}
	slices.SortStableFunc(sides, func(a, b lab.Side) int {
		return cmp.Or(strings.Compare(string(a.Is), string(b.Is)), strings.Compare(a.Factor, b.Factor), strings.Compare(min(a.This, a.Than), min(b.This, b.Than)))
	})
	turned = sides[0].This > sides[0].Than
	var b strings.Builder
	for _, s := range sides {
		if turned {
			s.This, s.Than = s.Than, s.This
		}
		fmt.Fprintf(&b, "%s\x00%s\x00%s\x00%s\x01", s.Is, s.Factor, s.This, s.Than)
	}
	sum := sha256.Sum256([]byte(b.String()))
	return hex.EncodeToString(sum[:6]), turned
}

// ContrastSet is one contrast, and how often it was tried.
type ContrastSet struct {
	Key      string   `json:"key"` // for addresses and commands
	This     string   `json:"this"`
	Than     string   `json:"than"`
	Is       []string `json:"differ_in"`
	Outcomes []string `json:"outcomes"` // that can be added up, those of most trials first
	Trials   int      `json:"trials"`   // that can be added up, for the first outcome
	Away     int      `json:"elsewhere"`
	Left     int      `json:"left_out"`

	rows []tried // all the same way round
}

// Title is "millet against oats".
func (s ContrastSet) Title() string { return s.This + " against " + s.Than }

// sets finds the contrasts that are the same.
func (a allTried) sets(anyVersion bool) []ContrastSet {
	at := make(map[string]int)
	var sets []ContrastSet
	turned := make(map[string]int)
	for _, t := range a.rows {
		key, turn := sameness(t.Contrast, anyVersion)
		if key == "" {
			continue
		}
		i, ok := at[key]
		if !ok {
			i = len(sets)
			at[key] = i
			sets = append(sets, ContrastSet{Key: key})
		}
		if turn {
			t.Contrast = t.Turned()
			turned[key]++
		} else {
			turned[key]--
		}
		sets[i].rows = append(sets[i].rows, t)
	}
	for i := range sets {
		sets[i].settle(turned[sets[i].Key] > 0)
	}
	slices.SortStableFunc(sets, func(a, b ContrastSet) int { return b.Trials - a.Trials })
	return sets
}

// settle turns the rows the way round that most trials have, and counts them.
func (s *ContrastSet) settle(turn bool) {
	names := make(map[string]int)
	for i := range s.rows {
		if turn {
			s.rows[i].Contrast = s.rows[i].Turned()
		}
		names[s.rows[i].Outcome]++
	}
	first := s.rows[0].Contrast
	s.This, s.Than = first.This(), first.Than()
	for _, side := range first.Sides {
		s.Is = append(s.Is, cmp.Or(side.Factor, string(side.Is)))
	}
	s.Outcomes = []string{}
	count := make(map[string]int)
	for _, outcome := range lab.Outcomes {
		rows, _ := s.of(outcome)
		if count[outcome] = len(rows); len(rows) > 0 {
			s.Outcomes = append(s.Outcomes, outcome)
		}
	}
	slices.SortStableFunc(s.Outcomes, func(a, b string) int { return count[b] - count[a] })
	outcome := lab.PerInoculated
	if len(s.Outcomes) > 0 {
		outcome = s.Outcomes[0]
	}
	rows, left := s.of(outcome)
	s.Trials, s.Left = len(rows), len(left)
	for _, r := range rows {
		if r.from != "" {
			s.Away++
		}
	}
}

// of returns the rows of an outcome that can be added up, one for each trial, the
// oldest first, and the trials that can not be.
func (s *ContrastSet) of(outcome string) (rows []tried, left []LeftOut) {
	type one struct{ trial, guest string }
	said := make(map[one]bool)
	why := make(map[one]LeftOut)
	var order []one
	for _, t := range s.rows {
		id := one{t.trial, t.guest}
		if _, known := why[id]; !known {
			order = append(order, id)
			why[id] = t.left("it says nothing of " + lab.OutcomeWords(outcome))
		}
		switch {
		case t.Not != "" && (t.Outcome == outcome || len(s.rows) == 1):
			why[id] = t.left(strings.TrimSuffix(t.Not, "."))
		case t.Outcome == outcome && t.Not == "" && !said[id]:
			said[id] = true
			rows = append(rows, t)
		}
	}
	for _, id := range order {
		if !said[id] {
			left = append(left, why[id])
		}
	}
	slices.SortStableFunc(rows, func(a, b tried) int { return a.when.Compare(b.when) })
	return rows, left
}

// Past is what past trials add up to as a whole.
type Past struct {
	Sets     []ContrastSet // the most often tried first
	Silent   []LeftOut     // trials that say nothing yet
	Rankings []Ranking     // of recipes and of cultures, where there is an order to speak of
}

// Past lists what was tried, and puts recipes and cultures in order.
func (f *Farm) Past(ctx context.Context) (Past, error) {
	all, err := f.gatherTried(ctx)
	if err != nil {
		return Past{}, err
	}
	out := Past{Sets: all.sets(false), Silent: all.silent}
	for _, is := range []lab.Factor{lab.ByRecipe, lab.ByCulture} {
		r, err := all.rank(is, lab.PerInoculated)
		if lab.IsKind(err, lab.Invalid) { // too few for an order
			continue
		}
		if err != nil {
			return out, err
		}
		out.Rankings = append(out.Rankings, r)
	}
	return out, nil
}
