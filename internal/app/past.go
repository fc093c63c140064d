package app

import (
	"context"
	"slices"
	"time"

	"pinset/internal/lab"
	"pinset/internal/store"
)

// jarPast is what was entered on a jar, as far as verdicts and days rest on it.
type jarPast struct {
	jar   lab.JarID
	by    string // who inoculated it
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

// mostPastsKept bounds the batches whose past is remembered: some 100 kB each.
const mostPastsKept = 200

// past returns the past of jars, which are all of their batches. It is read
// again only of batches whose jars changed. r must not write.
func (f *Farm) past(ctx context.Context, r store.Reader, jars []store.JarRow) (map[lab.JarID]jarPast, error) {
	of := groupBy(jars, batchID)
	known, err := f.known.pasts.get(ctx, r, eachOnce(jars, batchID), "", func(ctx context.Context, ids []lab.BatchID) (map[lab.BatchID][]jarPast, error) {
		var stale []store.JarRow
		for _, id := range ids {
			stale = append(stale, of[id]...)
		}
		e, err := entriesOf(ctx, r, idsOf(stale))
		past := pastOf(e)
		out := make(map[lab.BatchID][]jarPast, len(ids))
		for _, j := range stale {
			p := past[j.Jar.ID]
			p.jar, p.looks = j.Jar.ID, slices.Clip(p.looks)
			out[j.Batch] = append(out[j.Batch], p)
		}
		return out, err
	})
	out := make(map[lab.JarID]jarPast, len(jars))
	for _, pasts := range known {
		for _, p := range pasts {
			out[p.jar] = p
		}
	}
	return out, err
}
