package survive

import (
	"errors"
	"fmt"
	"slices"

	"pinset/internal/figure"
)

func (s *staging) caution(code, title string, weight figure.Weight, text string, args ...any) {
	s.out = append(s.out, figure.Caution{Code: code, Title: title, Weight: weight, Text: fmt.Sprintf(text, args...)})
}

// refuse says why no median can be given.
func (s *staging) refuse(err error) {
	if errors.Is(err, ErrWide) {
		s.caution("visit_more_often", "Visits too far apart", figure.Care, "The visits fit any spread of days, so that no median can be told. Shares by day still hold. Visit more often, and follow more jars.")
		return
	}
	for a := range s.names {
		if seen, _ := s.looks(a); seen {
			s.caution("nothing_before", "Looked at too late", figure.Care, "What came had come by its first visit: nothing is known but that it was no later. Visit sooner.")
			return
		}
	}
	s.caution("nothing_seen", "Not seen yet", figure.Care, "No jar has shown the stage, so nothing but the days without it is known.")
}

// doubt adds what to doubt about the result.
func (s *staging) doubt(r StagesResult) {
	if s.fit != nil {
		s.doubtGaps()
	}
	for i, a := range r.Arms {
		switch seen, before := s.looks(i); {
		case s.fit == nil:
		case !seen:
			s.caution("arm_not_seen", "An arm without the stage", figure.Care, "No jar of %s has shown the stage: it has no median yet, and no ratio.", a.Name)
		case !before:
			s.caution("arm_seen_late", "An arm that was looked at too late", figure.Care, "The stage had come in every jar of %s by its first visit: it has no median, and no ratio. It was no later than that. Visit sooner.", a.Name)
		}
		if a.Jars < 4 {
			s.caution("few_jars", "Few jars", figure.Care, "%s has %d of at least 4 jars that an interval should rest on. Read it as a description.", a.Name, a.Jars)
		}
	}
	lost, shares := 0, []float64{}
	for _, a := range r.Arms {
		lost += a.Lost
		shares = append(shares, float64(a.Lost)/float64(a.Jars))
	}
	if lost > 0 {
		s.caution("lost_jars", "Lost jars", figure.Care, "%s as not come by the last good visit. That is fair only if what was lost was no slower or faster than the rest; the worst case stands beside.", figure.Count(lost, "lost jar counts", "lost jars count"))
	}
	if lost > 0 && slices.Max(shares)-slices.Min(shares) > 0.2 {
		s.caution("losses_differ", "Losses differ between arms", figure.Care, "One arm lost many more of its jars than another. Jars that were lost are part of the result: look at the worst case before the ratio.")
	}
	if len(r.Comparison) > 1 {
		s.caution("several_comparisons", "Several comparisons", figure.Note, "%d arms are each compared with %s; each interval stands for itself.", len(r.Comparison), s.names[0])
	}
}

// doubtGaps asks for more visits where they lie further apart than a third of
// the days between the first and the last twentieth of the jars.
func (s *staging) doubtGaps() {
	gap, n := 0.0, 0.0
	for _, span := range s.spans {
		if span.seen() {
			gap, n = gap+span.By-span.After, n+1
		}
	}
	gap /= n
	early, _, _ := s.fit.Quantile(0, 0.05, level)
	late, _, _ := s.fit.Quantile(0, 0.95, level)
	if gap > (late-early)/3 {
		s.caution("visit_more_often", "Visits too far apart", figure.Care, "The visits around the stage lie %.1f days apart, and 9 of 10 jars come within %.1f days: the spread can hardly be read. Visit more often.", gap, late-early)
	}
}
