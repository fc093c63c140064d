package app

import (
	"context"
	"fmt"
	"math"
	"regexp"
	"time"

	"pinset/internal/calc/pool"
	"pinset/internal/calc/stats"
	"pinset/internal/calc/trialstat"
	"pinset/internal/figure"
	"pinset/internal/lab"
)

// PoolAsk chooses what is added up.
type PoolAsk struct {
	Of         string // key of a contrast, or "millet against oats"
	Outcome    string // the one that most trials tell of if ""
	AnyVersion bool   // all versions of a recipe are one
	OwnOnly    bool   // without trials from elsewhere
}

// PoolBand is a figure with its 95 % interval.
type PoolBand = pool.Band

// PoolResult is what trials add up to.
type PoolResult = pool.PoolResult

// PooledRow is one trial beside the others.
type PooledRow struct {
	Trial  string    `json:"trial"`
	From   string    `json:"from"`  // "" for an own one
	Guest  string    `json:"guest"` // hash of one from elsewhere
	How    string    `json:"how"`   // it came in
	When   time.Time `json:"when"`
	Jars   [2]int    `json:"jars"`
	Given  PoolBand  `json:"given"`
	Shrunk PoolBand  `json:"shrunk"` // drawn towards the others
	Weight float64   `json:"weight"` // share in the mean, 0..1
}

// Pooled is what the same contrast adds up to over trials.
type Pooled struct {
	ContrastSet
	Outcome  string                    `json:"outcome"`
	Ratio    bool                      `json:"ratio"` // figures are ratios; else points of a hundred jars
	Rows     []PooledRow               `json:"rows"`  // the oldest first
	LeftOut  []LeftOut                 `json:"left"`
	Matters  float64                   `json:"matters"` // per cent, or points
	Ending   trialstat.Ending          `json:"ending"`
	Sentence string                    `json:"sentence"`
	Next     string                    `json:"next"` // what the next grow may show, in words
	Answer   figure.Answer[PoolResult] `json:"answer"`
	Versions int                       `json:"other_versions"` // trials left out for another version of a recipe
}

// Pool adds one contrast up over all trials that tried it. A contrast that
// nothing was learnt of yet is an Invalid Problem; Pooled then holds what was
// left out.
func (f *Farm) Pool(ctx context.Context, ask PoolAsk) (Pooled, error) {
	all, err := f.gatherTried(ctx)
	if err != nil {
		return Pooled{}, err
	}
	return all.pooled(ask)
}

var against = regexp.MustCompile(`(?i)^\s*(.+?)\s+(?:against|less|or)\s+(.+?)\s*$`)

// find returns the set that is asked for. A key of one way to tell versions is
// found by the other too.
func (a allTried) find(ask PoolAsk) (ContrastSet, error) {
	sets := a.sets(ask.AnyVersion)
	m := against.FindStringSubmatch(ask.Of)
	for _, s := range sets {
		if s.Key == ask.Of {
			return s, nil
		}
		if m == nil {
			continue
		}
		this, than := lab.NameKey(m[1]), lab.NameKey(m[2])
		if a, b := lab.NameKey(s.This), lab.NameKey(s.Than); a == this && b == than || a == than && b == this {
			return s, nil
		}
	}
	for _, s := range a.sets(!ask.AnyVersion) {
		if s.Key != ask.Of || len(s.rows) == 0 {
			continue
		}
		key, _ := sameness(s.rows[0].Contrast, ask.AnyVersion)
		for _, x := range sets {
			if x.Key == key {
				return x, nil
			}
		}
	}
	return ContrastSet{}, lab.NotFoundf("look at the list of what was tried", "no trial compares %.80s", ask.Of)
}

func (a allTried) pooled(ask PoolAsk) (Pooled, error) {
	set, err := a.find(ask)
	p := Pooled{ContrastSet: set, Rows: []PooledRow{}, LeftOut: []LeftOut{}}
	if err != nil {
		return p, err
	}
	if p.Outcome = ask.Outcome; p.Outcome == "" {
		p.Outcome = lab.PerInoculated
		if len(set.Outcomes) > 0 {
			p.Outcome = set.Outcomes[0]
		}
	}
	rows, left := set.of(p.Outcome)
	p.LeftOut = append(p.LeftOut, left...)
	if ask.OwnOnly {
		var own []tried
		for _, r := range rows {
			if r.from != "" {
				p.LeftOut = append(p.LeftOut, r.left("trials from elsewhere were left out, as asked"))
				continue
			}
			own = append(own, r)
		}
		rows = own
	}
	if !ask.AnyVersion {
		p.otherVersions(a)
	}
	if len(rows) == 0 {
		return p, lab.Invalidf("of", "weigh its jars to the end, or look at what was left out", "no trial says yet what %s gives", set.Title())
	}
	return p, p.add(rows, a.known)
}

// otherVersions names the trials of the same recipes in other versions.
func (p *Pooled) otherVersions(a allTried) {
	if len(p.rows) == 0 {
		return
	}
	loose, _ := sameness(p.rows[0].Contrast, true)
	said := make(map[string]bool)
	for _, r := range p.rows {
		said[r.trial+r.guest] = true
	}
	for _, t := range a.rows {
		key, _ := sameness(t.Contrast, true)
		if key == loose && !said[t.trial+t.guest] {
			said[t.trial+t.guest] = true
			p.Versions++
			p.LeftOut = append(p.LeftOut, t.left(fmt.Sprintf("it compares %s with %s: another version", t.This(), t.Than())))
		}
	}
}

// leastShare is the least usual share that differences of shares are weighed by,
// per cent. Our own choice, no source.
const leastShare = 20.0

// add fills in what the rows add up to.
func (p *Pooled) add(rows []tried, known *reckoned) error {
	p.Ratio, p.Trials, p.Away = rows[0].Ratio, len(rows), 0
	p.Left = len(p.LeftOut)
	in := pool.PoolInput{}
	if !p.Ratio {
		usual := usualShare(rows)
		in.Scale, in.Typical = "difference", &usual
	}
	for _, r := range rows {
		t := pool.PoolTrial{Name: figure.Label(r.trial), Estimate: r.Value, Imported: r.from != ""}
		se := errorOf(r.Contrast)
		t.SE = &se
		in.Trials = append(in.Trials, t)
		if r.from != "" {
			p.Away++
		}
		if r.matters > 0 {
			p.Matters = r.matters // of the newest
		}
	}
	if p.Matters == 0 {
		p.Matters = lab.DefaultMatters
	}
	answer, err := known.pooled(in)
	if err != nil {
		return err
	}
	p.Answer = answer
	for i, t := range answer.Result.Trials {
		r := rows[i]
		row := PooledRow{Trial: r.trial, From: r.from, Guest: r.guest, When: r.when, Jars: r.Jars, Given: PoolBand{Value: r.Value, Low: r.Low, High: r.High}, Shrunk: t.Shrunk, Weight: t.Weight}
		if r.from != "" {
			row.How = r.kind.Words()
		}
		p.Rows = append(p.Rows, row)
	}
	p.say()
	p.doubt()
	return nil
}

// errorOf is the standard error that the 95 % interval of a trial speaks for, on
// the scale that is added up. An interval of few jars is wider than their spread
// alone would make it, and so is this: a small trial weighs the less for it.
func errorOf(c lab.Contrast) float64 {
	reach := 2 * stats.NormalQuantile(0.975)
	if c.Ratio {
		return math.Log(c.High/c.Low) / reach
	}
	return (c.High - c.Low) / reach
}

// usualShare is the share of the usual over all rows, per cent.
func usualShare(rows []tried) float64 {
	sum, jars := 0.0, 0.0
	for _, r := range rows {
		n := math.Max(1, float64(r.Jars[1]))
		sum, jars = sum+n*r.Means[1], jars+n
	}
	return math.Max(leastShare, sum/jars)
}
