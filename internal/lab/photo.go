package lab

import (
	"fmt"
	"time"

	"pinset/internal/figure"
)

// Photo is what a camera saw of one jar at one time. The files stand under
// their hashes elsewhere.
type Photo struct {
	Entry
	Jar                  JarID
	Whole, Middle, Small string // hashes of its three sizes
	Width, Height        int    // of Whole, pixels
	Taken                string // by the camera's clock, as it said it: "2026-03-04 14:30:05", with "+01:00" behind it if it said that too; "" if it said nothing
	Note                 string
	Erased               bool // with Withdrawn: its files were deleted too
}

// Check returns p with its note tidied, or an Invalid Problem.
func (p Photo) Check() (Photo, error) {
	var err error
	p.Note, err = Text("note", p.Note)
	return p, err
}

// Files returns the hashes of the files that p is made of.
func (p Photo) Files() []string { return []string{p.Whole, p.Middle, p.Small} }

// SameAs reports whether p shows just what q shows, of the same jar.
func (p Photo) SameAs(q Photo) bool { return p.Jar == q.Jar && p.Whole == q.Whole }

// The forms in which Taken stands.
const (
	cameraClock  = time.DateTime
	cameraOffset = "-07:00"
)

// CameraTime reads what a camera's clock said, at loc where it did not say
// how far it is from UTC. The error is not for people: pages do not ask for it.
func CameraTime(taken string, loc *time.Location) (time.Time, error) {
	if t, err := time.Parse(cameraClock+cameraOffset, taken); err == nil {
		return t, nil
	}
	t, err := time.ParseInLocation(cameraClock, taken, loc)
	if err != nil {
		return time.Time{}, fmt.Errorf("lab: the time of a camera %q: %w", figure.Clip(taken, 40), err)
	}
	return t, nil
}

// ByCamera returns when j was photographed by the clock of a camera, and in
// some words why that clock is wrong: "" if nothing speaks against it. A
// photo does not lie in the future, and shows no jar before it was filled.
func (j Jar) ByCamera(t, now time.Time, loc *time.Location) (at When, doubt string) {
	const ahead = 10 * time.Minute // two clocks are never quite the same
	at = At(t)
	switch {
	case t.After(now.Add(ahead)):
		return at, "that lies in the future"
	case at.Before(j.Filled, loc):
		return at, "that is before the jar was filled on " + j.Filled.Show(loc)
	}
	return at, ""
}
