package units

import "pinset/internal/figure"

// ParseMass reads a mass, such as "10 lb 11 oz". A bare number is a Fault;
// ParseIn takes one where a field has a unit of its own.
func ParseMass(s string) (Gram, error) {
	q, err := parse(s, Mass, nil)
	return Gram(q.Value), err
}

// ParseVolume reads a volume, such as "1 1/2 cups" or "46 mL".
func ParseVolume(s string) (Millilitre, error) {
	q, err := parse(s, Volume, nil)
	return Millilitre(q.Value), err
}

// ParseLength reads a length of 0 or more, such as `3.5"` or "80 mm".
func ParseLength(s string) (Millimetre, error) {
	q, err := parse(s, Length, nil)
	if err == nil && q.Value < 0 {
		return 0, figure.Faultf("", "write a length of 0 or more, such as 80 mm", "%s is below 0", quote(s))
	}
	return Millimetre(q.Value), err
}

// ParseAltitude reads a height above the sea, -500 m to 9000 m, such as
// "6000 ft".
func ParseAltitude(s string) (Metre, error) {
	q, err := parse(s, Length, nil)
	if err != nil {
		return 0, err
	}
	m := q.Value / 1000
	if !(m >= -500 && m <= 9000) {
		return 0, figure.Faultf("", "write the height of your place above the sea, in m or ft", "%s is %.4g m, outside of -500 m to 9000 m", quote(s), m)
	}
	return Metre(m), nil
}

// ParseTemperature reads a temperature, such as "250F" or "121,1 °C".
func ParseTemperature(s string) (Celsius, error) {
	q, err := parse(s, Temperature, nil)
	return Celsius(q.Value), err
}

// ParsePressure reads a pressure as a gauge shows it, such as "15 psi": a
// difference to the air outside, nothing is added. "15 lb" is 15 psi here.
func ParsePressure(s string) (Pascal, error) {
	q, err := parse(s, Pressure, nil)
	return Pascal(q.Value), err
}

// ParseDuration reads a time, such as "90 min", "1 h 30 min", "2.5h", "1:30".
func ParseDuration(s string) (Minute, error) {
	q, err := parse(s, Duration, nil)
	return Minute(q.Value), err
}

// ParseFraction reads a share from 0 to 1, such as "60 %" or "0.6". A bare
// number above 1 is a Fault: it may be a percentage.
func ParseFraction(s string) (Fraction, error) {
	q, err := Parse(s)
	if err != nil {
		return 0, err
	}
	if q.Dim != Share && q.Dim != Count {
		return 0, wrongKind(q, Share)
	}
	if !(q.Value >= 0 && q.Value <= 1) {
		mend := "write a share from 0 % to 100 %"
		if q.Dim == Count && q.Value <= 100 {
			mend = "write " + number(q.Value, 6) + " % if a percentage is meant"
		}
		return 0, figure.Faultf("", mend, "%s is more than the whole", quote(s))
	}
	return Fraction(q.Value), nil
}
