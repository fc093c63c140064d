package store

import (
	"context"

	"pinset/internal/lab"
)

// Guests reads trials that were not run at this farm.
type Guests interface {
	// Guests returns all entries, corrected ones included, in the order of entry.
	Guests(ctx context.Context) ([]lab.Guest, error)
}

// GuestsWriter writes trials that were not run at this farm.
type GuestsWriter interface {
	AddGuests(ctx context.Context, g []lab.Guest) error
}
