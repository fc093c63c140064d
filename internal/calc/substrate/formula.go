package substrate

import (
	"fmt"
	"strconv"
	"strings"
)

// atomic holds standard atomic weights, g/mol. Source: IUPAC, abridged
// standard atomic weights (2021), conventional values where an interval is
// given.
var atomic = map[string]float64{
	"H": 1.008, "C": 12.011, "N": 14.007, "O": 15.999, "Na": 22.98977,
	"Mg": 24.305, "P": 30.973762, "S": 32.06, "Cl": 35.45, "K": 39.0983, "Ca": 40.078,
	"Mn": 54.938, "Fe": 55.845, "Cu": 63.546, "Zn": 65.38,
}

// compound is what a formula says about one mole.
type compound struct {
	molar  float64 // g/mol with crystal water
	water  float64 // g/mol of crystal water
	n, c   float64 // g/mol of nitrogen and of carbon
	waters float64 // moles of crystal water
}

// parseFormula reads "MgSO4·7H2O" or "(NH4)2SO4". What follows a space is a
// remark. It is for the built-in table: a fault there is an error of ours.
func parseFormula(s string) (compound, error) {
	s, _, _ = strings.Cut(s, " ")
	main, hydrate, has := strings.Cut(s, "·")
	var c compound
	rest, err := c.group(main, 1, 0)
	if err != nil || rest != "" {
		return c, fmt.Errorf("substrate: formula %q stops at %q: %w", s, rest, err)
	}
	if has {
		times := strings.TrimSuffix(hydrate, "H2O")
		c.waters = 1
		if times != "" {
			if c.waters, err = strconv.ParseFloat(times, 64); err != nil {
				return c, fmt.Errorf("substrate: water of formula %q: %w", s, err)
			}
		}
		c.water = c.waters * (2*atomic["H"] + atomic["O"])
		c.molar += c.water
	}
	return c, nil
}

// group adds the atoms of s, each taken times over, up to a closing bracket.
func (c *compound) group(s string, times float64, depth int) (rest string, err error) {
	for s != "" && s[0] != ')' {
		if s[0] == '(' {
			closing := strings.IndexByte(s, ')')
			if closing < 0 || depth > 0 {
				return s, fmt.Errorf("bracket")
			}
			count, rest := leadingCount(s[closing+1:])
			if _, err := c.group(s[1:closing], times*count, depth+1); err != nil {
				return s, err
			}
			s = rest
			continue
		}
		n := 1
		if len(s) > 1 && 'a' <= s[1] && s[1] <= 'z' {
			n = 2
		}
		weight, ok := atomic[s[:n]]
		if !ok {
			return s, fmt.Errorf("no atomic weight of %q", s[:n])
		}
		count, rest := leadingCount(s[n:])
		c.molar += times * count * weight
		switch s[:n] {
		case "N":
			c.n += times * count * weight
		case "C":
			c.c += times * count * weight
		}
		s = rest
	}
	return s, nil
}

func leadingCount(s string) (count float64, rest string) {
	n := 0
	for n < len(s) && '0' <= s[n] && s[n] <= '9' {
		count = 10*count + float64(s[n]-'0')
		n++
	}
	if n == 0 {
		return 1, s
	}
	return count, s[n:]
}
