package report

import (
	"fmt"
	"slices"
	"strings"

	"pinset/internal/app"
	"pinset/internal/lab"
	"pinset/internal/picture"
)

// Evidence is the evidence picture of a trial.
func Evidence(v app.TrialView) picture.Evidence {
	e := picture.Evidence{Unit: v.Verdict.Result.Unit, Finding: v.Verdict.Result.Sentence}
	if e.Unit == "" {
		e.Unit = "g per jar"
	}
	if v.Evidence.Matters != nil && !v.Blind {
		e.Matters = *v.Evidence.Matters
	}
	for i, a := range v.Evidence.Arms {
		e.Arms = append(e.Arms, picture.EvidenceArm{Name: a.Name, Sign: i, Mean: a.Mean, Low: a.Low, High: a.High})
	}
	for _, j := range v.Evidence.Jars {
		e.Jars = append(e.Jars, picture.EvidenceJar{Name: j.Name, Arm: j.Arm, Block: j.Place, Grams: j.Grams, Lost: j.Lost})
	}
	for _, c := range v.Verdict.Result.Comparisons {
		d := c.Difference
		if d.Value == nil || d.Low == nil || d.High == nil {
			continue
		}
		low, high := *d.Low, *d.High
		if d.JointLow != nil && d.JointHigh != nil {
			low, high = *d.JointLow, *d.JointHigh
		}
		e.Differences = append(e.Differences, picture.EvidenceDifference{
			Name: strings.Join(c.Arms, " less "), Sign: signOf(v, c.Arms[0]), Value: *d.Value, Low: low, High: high, Joint: d.JointLow != nil,
		})
	}
	return e
}

// signOf is the place of an arm in the trial.
func signOf(v app.TrialView, name string) int {
	return max(0, slices.IndexFunc(v.Arms, func(a lab.Arm) bool { return lab.NameKey(a.Name) == lab.NameKey(name) }))
}

// Losses is the picture of jars that gave nothing, false while no jar is done.
func Losses(v app.TrialView) (picture.Spans, bool) {
	s := picture.Spans{Title: "Jars that gave nothing, by arm", Unit: "% of the jars", Column: "Arm", To: 100}
	var said []string
	done := 0
	for i, l := range v.Losses {
		note := fmt.Sprintf("%d of %d", l.Failed, l.Of)
		done += l.Of
		said = append(said, l.Arm+": "+note)
		s.Rows = append(s.Rows, picture.Span{Name: l.Arm, Sign: i, Note: note, Value: l.Percent, Low: l.Low, High: l.High})
	}
	s.Finding = "Lost or barren of the jars that are done. " + strings.Join(said, "; ") + "."
	return s, done > 0
}

// Effects is the first difference cook by cook, false for fewer than two cooks.
func Effects(v app.TrialView) (picture.Spans, bool) {
	if len(v.ByCook) == 0 {
		return picture.Spans{}, false
	}
	arms := v.ByCook[0].Arms
	s := picture.Spans{Title: strings.Join(arms, " less ") + ", cook by cook", Unit: "g per jar", Column: "Cook", Signed: true}
	if v.Evidence.Matters != nil {
		s.Matters = *v.Evidence.Matters
	}
	var said []string
	for _, c := range v.ByCook {
		s.Rows = append(s.Rows, picture.Span{Name: capital(c.Cook), Sign: -1, Note: c.Says(), Value: c.Value, Low: c.Low, High: c.High})
		said = append(said, c.Cook+" "+known(c.Value, 1, "g"))
	}
	s.Finding = strings.Join(arms, " less ") + " in each cook: " + strings.Join(said, "; ") + "."
	return s, true
}
