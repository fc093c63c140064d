package figure

// Clip returns the first most letters of s, and an ellipsis if there are more:
// what was typed is shown in a message, but not a page of it.
func Clip(s string, most int) string {
	n := 0
	for i := range s {
		if n++; n > most {
			return s[:i] + "…"
		}
	}
	return s
}
