package thermal

import (
	"slices"
	"time"
)

// Logged is one reading of a logger.
type Logged struct {
	At      time.Time
	Celsius float64
	Seam    bool // another log begins: nothing is known of the time since the reading before
}

// Logs parts a record at its seams. What stands on both sides of one is never
// joined by a line.
func Logs(readings []Logged) [][]Logged {
	var out [][]Logged
	for i, r := range readings {
		if i == 0 || r.Seam {
			out = append(out, nil)
		}
		out[len(out)-1] = append(out[len(out)-1], r)
	}
	return out
}

// gapSteps and leastGap say how long nothing may be read within a stretch: a
// few readings may be lost, but what nobody saw is not held.
const (
	gapSteps = 3
	leastGap = 5 * time.Minute
)

// StretchesAbove returns the stretches in which readings stood at or above
// limit (°C), with straight lines between them. A seam ends a stretch, and so
// does a time without readings of more than three of the usual steps and
// 5 min.
func StretchesAbove(readings []Logged, limit float64) []Stretch {
	out := []Stretch{}
	for _, run := range watched(readings) {
		var now *Stretch
		for i, r := range run {
			switch above := r.Celsius >= limit; {
			case above && now == nil:
				now = &Stretch{From: r.At}
				if i > 0 {
					now.From = crossing(run[i-1], r, limit)
				}
			case !above && now != nil:
				now.To = crossing(run[i-1], r, limit)
				out, now = append(out, *now), nil
			}
		}
		if now != nil {
			now.To = run[len(run)-1].At
			out = append(out, *now)
		}
	}
	return out
}

// crossing is when the straight line from a to b is at limit.
func crossing(a, b Logged, limit float64) time.Time {
	way := (limit - a.Celsius) / (b.Celsius - a.Celsius)
	return a.At.Add(time.Duration(way * float64(b.At.Sub(a.At))))
}

// watched parts a record at its seams and wherever nothing was read for long.
func watched(readings []Logged) [][]Logged {
	most := max(gapSteps*usualStep(readings), leastGap)
	split := slices.Clone(readings)
	for i := 1; i < len(split); i++ {
		split[i].Seam = split[i].Seam || split[i].At.Sub(split[i-1].At) > most
	}
	return Logs(split)
}

// usualStep is the middle one of the times between two readings of one log.
func usualStep(readings []Logged) time.Duration {
	var all []time.Duration
	for i := 1; i < len(readings); i++ {
		if !readings[i].Seam {
			all = append(all, readings[i].At.Sub(readings[i-1].At))
		}
	}
	if len(all) == 0 {
		return 0
	}
	slices.Sort(all)
	return all[len(all)/2]
}
