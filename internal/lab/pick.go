package lab

import "pinset/internal/units"

// Pick is the fresh weight taken from one jar at one flush.
type Pick struct {
	Entry
	Jar   JarID
	Flush int        // 1, 2 …
	Grams units.Gram // fresh
	Typed string     // as typed, such as "1.2 oz"
}

// maxPick bounds one pick: no jar or bag gives 20 kg at once.
const maxPick units.Gram = 20000

// Check returns an Invalid Problem if the weight or the flush can not be.
func (p Pick) Check() (Pick, error) {
	if !(p.Grams >= 0 && p.Grams <= maxPick) {
		return Pick{}, Invalidf("grams", "weigh it again, without the dish", "a pick of %g g is out of the range 0 to %g g", float64(p.Grams), float64(maxPick))
	}
	if p.Flush < 1 || p.Flush > 20 {
		return Pick{}, Invalidf("flush", "count flushes from 1", "flush %d is out of the range 1 to 20", p.Flush)
	}
	return p, nil
}
