package store

import (
	"context"

	"pinset/internal/lab"
)

// Course is jars of one batch that were inoculated together and have come to
// the same. Blanks are not counted.
type Course struct {
	Batch      lab.BatchID
	Recipe     lab.RecipeVersionID
	Carries    lab.CultureID
	Inoculated lab.When
	Fate       lab.Fate // as stored
	Jars       int
	LastSeen   lab.When // the latest of them; zero if none was seen
}

// GrowingJar is what is expected of a jar by.
type GrowingJar struct {
	Jar        lab.JarID
	Batch      lab.BatchID
	Number     int
	Shelf      string
	Recipe     lab.RecipeVersionID
	Carries    lab.CultureID
	Stage      lab.Stage
	Inoculated lab.When
	LastSeen   lab.When
	Sights     []lab.Sight
}

// Arrival is jars of one batch that came to a stage between the same two
// visits. A later stage tells of the earlier ones, and a pick of all.
type Arrival struct {
	Batch  lab.BatchID
	Stage  lab.Stage
	By     lab.When // the first visit that showed it
	Before lab.When // the visit before that; zero if there was none
	Fate   lab.Fate // as stored
	Jars   int
}

// Forecasts reads how batches came along, and what was forecast of them.
type Forecasts interface {
	// Courses and Arrivals count the jars of the batches named, by batch, then
	// as they came, by their stored standings and sights.
	Courses(ctx context.Context, batches []lab.BatchID) ([]Course, error)
	Arrivals(ctx context.Context, batches []lab.BatchID) ([]Arrival, error)
	// Growing returns the jars of the batches named whose stored fate is
	// growing, without blanks, by batch number, then jar number.
	Growing(ctx context.Context, batches []lab.BatchID) ([]GrowingJar, error)
	// Noted returns when each of the jars that Growing returns was last seen
	// with a note, of the entries that hold and whose day is known.
	Noted(ctx context.Context, batches []lab.BatchID, note string) (map[lab.JarID]lab.When, error)
	// Changes returns for each of the batches named a number that grows with
	// every change to its jars: with jars, places, standings and sights, and with
	// what was entered on them, photos apart.
	Changes(ctx context.Context, batches ...lab.BatchID) (map[lab.BatchID]int64, error)
	// Forecasts returns what was kept for the batches named, the oldest first.
	Forecasts(ctx context.Context, batches ...lab.BatchID) ([]lab.Forecast, error)
}

// ForecastsWriter keeps forecasts.
type ForecastsWriter interface {
	// AddForecasts keeps forecasts. A second one of the same stage of a batch
	// counted from the same is a Conflict.
	AddForecasts(ctx context.Context, f []lab.Forecast) error
}
