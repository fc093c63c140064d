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
	e := picture.Evidence{Unit: unitOf(v), Finding: v.Verdict.Result.Sentence}
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
		x := c.Decides()
		if c.Above != nil || x.Value == nil || x.Low == nil || x.High == nil {
			continue
		}
		e.Differences = append(e.Differences, picture.EvidenceDifference{
			Name: strings.Join(c.Arms, " less "), Sign: signOf(v, c.Arms[0]), Value: *x.Value, Low: *x.Low, High: *x.High, Joint: c.Difference.JointLow != nil,
		})
	}
	return e
}

// unitOf is what the figures of a trial are in.
func unitOf(v app.TrialView) string {
	if u := v.Verdict.Result.Unit; u != "" {
		return u
	}
	return "g per jar"
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

// Effects is what decides first, cook by cook, and the last row from cook to cook; false
// for fewer than two cooks.
func Effects(v app.TrialView) (picture.Spans, bool) {
	by := v.ByCook
	if by == nil {
		return picture.Spans{}, false
	}
	s := picture.Spans{Title: by.Of + ", cook by cook", Unit: unitOf(v), Column: "Cook", Signed: true}
	if v.Evidence.Matters != nil {
		s.Matters = *v.Evidence.Matters
	}
	var said []string
	for _, c := range by.Cooks {
		s.Rows = append(s.Rows, picture.Span{Name: capital(c.Cook), Sign: -1, Note: jarsIn(c.Jars), Value: c.Value, Low: c.Low, High: c.High})
		said = append(said, c.Cook+" "+known(c.Value, 1, ""))
	}
	s.Finding = by.Of + ", " + s.Unit + ", in each cook: " + strings.Join(said, "; ") + "."
	if all := by.All; all != nil {
		x := all.Decides()
		s.Rows = append(s.Rows, picture.Span{Name: "From cook to cook", Sign: -1, Note: fmt.Sprintf("%d cooks", all.Cooks), Value: x.Value, Low: x.Low, High: x.High})
		s.Finding += fmt.Sprintf(" From cook to cook %s, %s to %s.", known(x.Value, 1, ""), known(x.Low, 1, ""), known(x.High, 1, ""))
	}
	return s, true
}

// jarsIn counts the jars of a row: "6 and 5 jars", "12 jars".
func jarsIn(jars []int) string {
	if len(jars) == 2 {
		return fmt.Sprintf("%d and %s", jars[0], count(jars[1], "jar"))
	}
	return count(jars[0], "jar")
}
