package lab

import "time"

// Forecast is what was said of the day on which a stage of a batch would come,
// kept as it was when it was made.
type Forecast struct {
	ID      ForecastID
	Batch   BatchID
	Stage   Stage
	After   Stage // days count from the first sight of it; "" is the inoculation
	Since   Day   // that day
	Made    time.Time
	Passed  float64   // days without the stage when it was made
	Chances []float64 // the days by which it would have come with chances of 1/40, 2/40 … 39/40
	Book    float64   // published days, the middle; 0 if none are
	Own     float64   // the middle of the own batches of its recipe, days; 0 without one
	Batches int       // of its recipe that it rests on
	Inputs  string    // hash of all that it was computed from
}
