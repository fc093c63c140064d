package cli

// unitAfter returns unit as it follows a number.
func unitAfter(unit string) string {
	if unit == "" {
		return ""
	}
	return " " + unit
}
