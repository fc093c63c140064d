package lab

import (
	"strings"
)

// LabelKind says what a label is stuck on.
type LabelKind string

// The kinds of label. Each is one letter in the address that a label holds.
const (
	JarLabel     LabelKind = "J"
	BatchLabel   LabelKind = "B"
	CultureLabel LabelKind = "C"
	LotLabel     LabelKind = "I" // an ingredient lot, called I7
	ShelfLabel   LabelKind = "S"
	CookLabel    LabelKind = "K"
)

// LabelKinds lists the kinds.
var LabelKinds = []LabelKind{JarLabel, BatchLabel, CultureLabel, LotLabel, ShelfLabel, CookLabel}

// LabelPath returns what the square of a label holds after the farm's
// address: "J/K73QF". It is written in upper case and with no other
// characters than a QR symbol keeps in its compact mode; LabelOf reads it
// back, and NameKey of the name stays the same.
func LabelPath(kind LabelKind, name string) string {
	const hex = "0123456789ABCDEF"
	var b strings.Builder
	b.WriteString(string(kind) + "/")
	for i := range len(name) {
		switch c := name[i]; {
		case c >= 'a' && c <= 'z':
			b.WriteByte(c - 'a' + 'A')
		case c >= 'A' && c <= 'Z', c >= '0' && c <= '9', c == '-':
			b.WriteByte(c)
		default:
			b.WriteByte('%')
			b.WriteByte(hex[c>>4])
			b.WriteByte(hex[c&15])
		}
	}
	return b.String()
}

// LabelOf reads what a scanner or a camera gives: the address of a label on
// whatever host, in whatever case. ok is false for anything else, such as a
// bare code.
func LabelOf(scanned string) (kind LabelKind, name string, ok bool) {
	s := strings.TrimSpace(scanned)
	if i := strings.Index(s, "://"); i >= 0 {
		s = s[i+3:]
		slash := strings.IndexByte(s, '/')
		if slash < 0 {
			return "", "", false
		}
		s = s[slash:]
	}
	s = strings.TrimSuffix(strings.TrimPrefix(s, "/"), "/")
	letter, rest, found := strings.Cut(s, "/")
	rest, _, _ = strings.Cut(rest, "?")
	rest, _, _ = strings.Cut(rest, "#")
	for _, k := range LabelKinds {
		if found && strings.EqualFold(letter, string(k)) {
			name, ok = unescape(rest)
			return k, name, ok && name != "" && !strings.Contains(rest, "/")
		}
	}
	return "", "", false
}

// unescape turns %C3%A9 back into the bytes that it stands for.
func unescape(s string) (string, bool) {
	b := make([]byte, 0, len(s))
	for i := 0; i < len(s); i++ {
		if s[i] != '%' {
			b = append(b, s[i])
			continue
		}
		if i+2 >= len(s) {
			return "", false
		}
		high, ok1 := hexDigit(s[i+1])
		low, ok2 := hexDigit(s[i+2])
		if !ok1 || !ok2 {
			return "", false
		}
		b = append(b, high<<4|low)
		i += 2
	}
	return string(b), true
}

func hexDigit(c byte) (byte, bool) {
	switch {
	case c >= '0' && c <= '9':
		return c - '0', true
	case c >= 'A' && c <= 'F':
		return c - 'A' + 10, true
	case c >= 'a' && c <= 'f':
		return c - 'a' + 10, true
	}
	return 0, false
}
