package demo

import (
	"bytes"
	"fmt"
	"slices"

	"pinset/internal/app"
	"pinset/internal/lab"
)

// shoot keeps photos of the day: one jar of each arm, or of the jars that
// foul where most do, on the days that b names and when the mould is seen.
func (p *planting) shoot(k app.Kept, b batch, day int, courses []course) {
	var done []string
	for _, c := range courses {
		if mouldy := b.fouls > 0.5; mouldy != (c.fouls > 0) || slices.Contains(done, c.arm) {
			continue
		}
		done = append(done, c.arm)
		if b.shots == nil || day != c.fouls && !slices.Contains(b.shots, day) {
			continue
		}
		raw, err := c.lookOn(day).draw()
		p.do("draw", err)
		one := app.NewPhoto{Jar: fmt.Sprintf("%s·%d", k.Batch, c.number), Picture: bytes.NewReader(raw), Note: "drawn for the demo"}
		if _, err = p.camera.AddPhotos(p.ctx, app.Act{By: "IV"}, app.PhotosInput{Photos: []app.NewPhoto{one}}); !lab.IsKind(err, lab.Refused) {
			p.do("photo", err) // a farm that keeps no files has none
		}
	}
}

// lookOn is how the jar of c looks on a day.
func (c course) lookOn(day int) look {
	since := func(s lab.Stage) float64 {
		if from, ok := c.stages[s]; ok && day >= from {
			return float64(day - from + 1)
		}
		return 0
	}
	l := look{seed: uint64(c.number), cover: float64(c.cover(day)) / 100}
	if l.cover == 0 && since(lab.Growth) > 0 {
		l.cover = 0.08
	}
	if since(lab.Cover) > 0 {
		l.cover = 1
	}
	l.colour = min(1, since(lab.Colour)/10)
	l.fruit = min(1, since(lab.Pins)/float64(c.stages[lab.Ready]-c.stages[lab.Pins]+1))
	if c.fouls > 0 && day >= c.fouls {
		l.mould = 0.4
	}
	return l
}
