package report

import (
	"pinset/internal/app"
	"pinset/internal/picture"
)

// Calibration is the picture of how forecasts turned out, false while too few
// were scored to judge them.
func Calibration(c app.Calibration) (picture.Calibration, bool) {
	p := picture.Calibration{
		Title: "How forecasts came out", Finding: c.Sentence, Fifths: c.PITBins[:], Low: c.Usual.Fifth[0], High: c.Usual.Fifth[1],
	}
	for _, w := range c.Windows() {
		p.Windows = append(p.Windows, picture.CalibrationWindow{Share: w.Share, Hits: w.Hits, Of: c.Scored, Low: w.Usual[0], High: w.Usual[1]})
	}
	return p, c.Enough()
}
