package app

import (
	"context"
	"slices"
	"time"

	"pinset/internal/lab"
	"pinset/internal/store"
)

// jarPast is a jar with what was entered on it, as far as verdicts and days rest
// on that.
type jarPast struct {
	row   store.JarRow // with its standing as stored
	by    string       // who inoculated it
	count jarCount
	looks []look // in the order of entry, picks last
}

// look is one entry on a jar. It is kept small: those of one trial are thousands.
type look struct {
	at      int64 // seconds, as lab.When counts them
	exact   int8  // index into exactnesses
	rank    int8  // of the stage that was seen, -1 if none
	covered uint8 // per cent, 0 is not read
	lost    bool
	foul    bool // a sign of mould or rot
	picked  bool
}

var exactnesses = []lab.Exactness{lab.Unknown, lab.ThatDay, lab.Exact}

func lookAt(w lab.When) look {
	return look{at: w.Time.Unix(), exact: int8(slices.Index(exactnesses, w.Exactness)), rank: -1}
}

// when is when the jar was looked at, to the second.
func (l look) when() lab.When {
	return lab.When{Time: time.Unix(l.at, 0).UTC(), Exactness: exactnesses[max(0, l.exact)]}
}

// pastOf returns the past of the jars that entries are on.
func pastOf(e jarEntries) map[lab.JarID]jarPast {
	out := make(map[lab.JarID]jarPast)
	for _, in := range lab.Current(e.inoculations) {
		p := out[in.Jar]
		p.by = in.By
		out[in.Jar] = p
	}
	current := lab.Current(e.seen)
	for _, s := range current {
		p, l := out[s.Jar], lookAt(s.At)
		l.rank, l.covered = int8(slices.Index(lab.Stages, s.Stage)), uint8(s.Covered)
		if s.Stage == lab.Cover {
			l.covered = 100
		}
		l.lost, l.foul = s.Fate == lab.Lost, slices.Contains(foulSigns, s.Sign)
		p.looks = append(p.looks, l)
		out[s.Jar] = p
	}
	for jar, n := range countSeen(current) {
		p := out[jar]
		p.count = n
		out[jar] = p
	}
	for _, pick := range lab.Current(e.picks) {
		p, l := out[pick.Jar], lookAt(pick.At)
		l.rank, l.picked = int8(len(lab.Stages)-1), true
		p.looks = append(p.looks, l)
		out[pick.Jar] = p
	}
	return out
}

// What is remembered of batches: of those of trials some 100 kB each, of those
// that are searched for the cause of fouling some 50 kB.
const (
	mostPastsKept   = 200
	mostSightedKept = 400
)

// pastsOf returns the jars of batches, by number, with their past. They are read
// again only of batches whose jars changed. r must not write.
func (f *Farm) pastsOf(ctx context.Context, r store.Reader, batches []lab.Batch) (map[lab.BatchID][]jarPast, error) {
	ids := each(batches, func(b lab.Batch) lab.BatchID { return b.ID })
	return f.known.pasts.get(ctx, r, ids, "", func(ctx context.Context, ids []lab.BatchID) (map[lab.BatchID][]jarPast, error) {
		jars, err := r.Jars(ctx, store.JarFilter{Batches: ids})
		if err != nil {
			return nil, err
		}
		e, err := entriesOf(ctx, r, idsOf(jars))
		past := pastOf(e)
		out := make(map[lab.BatchID][]jarPast, len(ids))
		for _, j := range jars {
			p := past[j.Jar.ID]
			p.row, p.looks = j, slices.Clip(p.looks)
			out[j.Batch] = append(out[j.Batch], p)
		}
		return out, err
	})
}
