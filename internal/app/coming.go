package app

import (
	"slices"
	"time"

	"pinset/internal/lab"
)

// comingTasks says what of all is still early, the soonest first. Jars of
// one batch that come to the same stage are one line, whose days reach from the
// first of their windows to the last: so at least as many come within.
func comingTasks(all []Expected, today time.Time) []Task {
	type key struct {
		batch lab.BatchID
		stage lab.Stage
	}
	var coming []Expected
	parts := make(map[key][]Expected)
	for _, e := range all {
		if e.how(today) != earlyYet {
			continue
		}
		if e.Learnt == nil {
			coming = append(coming, e)
			continue
		}
		k := key{e.Batch.ID, e.Window.Stage}
		if parts[k] = append(parts[k], e); len(parts[k]) == 1 {
			coming = append(coming, e)
		}
	}
	for i, e := range coming {
		if e.Learnt != nil {
			coming[i] = inOneLine(parts[key{e.Batch.ID, e.Window.Stage}])
		}
	}
	slices.SortStableFunc(coming, func(a, b Expected) int { return a.day(a.Window.From).Compare(b.day(b.Window.From)) })
	var out []Task
	for _, e := range coming {
		out = append(out, e.task(today))
	}
	return out
}

// inOneLine joins what is forecast of jars. Parts are one or more.
func inOneLine(parts []Expected) Expected {
	out := parts[0]
	days, numbers := *out.Learnt, []int{}
	var likely []int // of each jar
	for _, p := range parts {
		// Days of a part count from its own beginning, those of the line from its first part's.
		apart := int(p.Since.Sub(out.Since).Round(24*time.Hour) / (24 * time.Hour))
		out.Window.From, out.Window.To = min(out.Window.From, p.Window.From+apart), max(out.Window.To, p.Window.To+apart)
		days.NearFrom, days.NearTo = min(days.NearFrom, p.Learnt.NearFrom+apart), max(days.NearTo, p.Learnt.NearTo+apart)
		for range p.Numbers {
			likely = append(likely, p.Learnt.Likely+apart)
		}
		numbers = append(numbers, p.Numbers...)
		if p.Shelf != out.Shelf {
			out.Shelf = ""
		}
	}
	slices.Sort(numbers)
	slices.Sort(likely)
	days.Likely = likely[(len(likely)-1)/2]
	out.Numbers, out.Learnt = numbers, &days
	return out
}
