package growth

import (
	"math"

	"pinset/internal/calc/stats"
)

// Course is the cover of an arm by day: the mean of the curves of its jars,
// with its interval over jars. Per cent.
type Course struct {
	Day   float64 `json:"day"`
	Value float64 `json:"value"`
	Low   float64 `json:"low"` // kept within 0 and 100
	High  float64 `json:"high"`
}

// At returns the cover of jar j on a day by its curve, per cent, and whether it
// has one.
func (r GrowResult) At(j GrowJar, day float64) (float64, bool) {
	if j.HalfDay == nil {
		return 0, false
	}
	curve := Logistic
	if r.Curve == Gompertz.Name {
		curve = Gompertz
	}
	return curve.At(day, []float64{j.HalfDay.Value, *j.Rate}, make([]float64, 2)), true
}

// Course returns the cover of an arm on each of days, nil for fewer than two
// jars with a curve: jars are what is counted, never readings.
//
// Source of the interval: Student (1908), mean ± t·s/√n.
func (r GrowResult) Course(arm GrowArm, days []float64) []Course {
	if arm.Fitted < 2 {
		return nil
	}
	reach := stats.TQuantile((1+level)/2, float64(arm.Fitted-1)) / math.Sqrt(float64(arm.Fitted))
	out := make([]Course, 0, len(days))
	for _, day := range days {
		var covers []float64
		for _, j := range r.Jars {
			if y, ok := r.At(j, day); ok && j.Arm == arm.Name {
				covers = append(covers, y)
			}
		}
		mean, half := stats.Mean(covers), reach*math.Sqrt(stats.Variance(covers))
		out = append(out, Course{day, mean, math.Max(0, mean-half), math.Min(100, mean+half)})
	}
	return out
}
