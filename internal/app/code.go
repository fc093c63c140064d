package app

import (
	"context"

	"pinset/internal/lab"
	"pinset/internal/store"
)

// codeDraw draws codes that no jar bears, many at a time.
type codeDraw struct {
	farm  *Farm
	read  store.Reader
	drawn map[lab.Code]bool // all that this draw gave
	free  []lab.Code
}

func (f *Farm) drawCodes(r store.Reader) *codeDraw {
	return &codeDraw{farm: f, read: r, drawn: make(map[lab.Code]bool)}
}

// next returns a code that no jar bears and that this draw has not given yet.
func (d *codeDraw) next(ctx context.Context) (lab.Code, error) {
	for range 50 {
		if n := len(d.free); n > 0 {
			c := d.free[n-1]
			d.free = d.free[:n-1]
			return c, nil
		}
		if err := d.fill(ctx); err != nil {
			return "", err
		}
	}
	return "", errNoCode
}

// fill draws a handful of codes and drops those that are taken.
func (d *codeDraw) fill(ctx context.Context) error {
	const handful = 64
	var fresh []lab.Code
	for range handful {
		n, err := d.farm.draw64()
		if err != nil {
			return err
		}
		if c := lab.CodeOf(n % lab.CodeCount); !d.drawn[c] {
			d.drawn[c] = true
			fresh = append(fresh, c)
		}
	}
	taken, err := d.read.CodesTaken(ctx, fresh)
	if err != nil {
		return err
	}
	isTaken := make(map[lab.Code]bool, len(taken))
	for _, c := range taken {
		isTaken[c] = true
	}
	for _, c := range fresh {
		if !isTaken[c] {
			d.free = append(d.free, c)
		}
	}
	return nil
}
