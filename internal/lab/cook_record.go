package lab

import (
	"slices"
	"time"

	"pinset/internal/figure"
)

// CookRecord is the file of a temperature logger that ran with a cook.
type CookRecord struct {
	Entry
	Cook     CookID
	Place    string  // one of RecordPlaces
	File     string  // its name
	Original string  // the text of the file, as it came
	ShiftMin float64 // added to the logger's clock by hand
	Readings []Reading
	Refused  []RefusedLine
}

// RecordPlaces lists where a logger can lie.
var RecordPlaces = []string{"chamber", "core"}

// Reading is one temperature, at the logger's clock with the shift.
type Reading struct {
	At      time.Time `json:"at"`
	Celsius float64   `json:"c"`
	Seam    bool      `json:"seam,omitempty"` // another log begins: nothing is known of the time since the reading before
}

// Equal reports whether both were read at the same time and say the same.
func (r Reading) Equal(o Reading) bool {
	return r.At.Equal(o.At) && r.Celsius == o.Celsius && r.Seam == o.Seam
}

// RefusedLine is a line of a file that was not read, and why.
type RefusedLine struct {
	Line int    `json:"line"` // from 1
	Why  string `json:"why"`
}

// MaxReadings bounds a record: a day of a reading a second.
const MaxReadings = 90000

// Check returns r with its texts tidied, or an Invalid Problem.
func (r CookRecord) Check() (CookRecord, error) {
	if !slices.Contains(RecordPlaces, r.Place) {
		return CookRecord{}, Invalidf("place", "choose chamber or core", "a logger can not lie in %q", figure.Clip(r.Place, 40))
	}
	if n := len(r.Readings); n < 2 || n > MaxReadings {
		return CookRecord{}, Invalidf("file", "export the hours of this cook", "the record holds %d readings, 2 to %d are kept", n, MaxReadings)
	}
	if !(r.ShiftMin >= -48*60 && r.ShiftMin <= 48*60) {
		return CookRecord{}, Invalidf("shift", "write the minutes that the logger's clock is behind, such as 60 or -5", "a shift of %g min is more than two days", r.ShiftMin)
	}
	for i, x := range r.Readings {
		if !(x.Celsius >= -20 && x.Celsius <= 150) {
			return CookRecord{}, Invalidf("file", "say that the file is in °F, or export it again", "reading %d is %.4g °C, out of the range −20 to 150 °C", i+1, x.Celsius)
		}
		if i > 0 && !x.At.After(r.Readings[i-1].At) {
			return CookRecord{}, Invalidf("file", "export it sorted by time", "reading %d is not later than the one before", i+1)
		}
	}
	var err error
	r.File, err = Text("file", r.File)
	return r, err
}
