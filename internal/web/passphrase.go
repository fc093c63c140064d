package web

import (
	"fmt"
	"slices"
	"strings"
	"unicode/utf8"
)

// How many characters a passphrase has. Source: OWASP Application Security
// Verification Standard 4.0.3, 2.1.1 and 2.1.2 (from memory).
const (
	minPassphrase = 12
	maxPassphrase = 128
)

// minDifferent is how many different characters a passphrase has at least:
// our own choice, four words of English have about twice as many.
const minDifferent = 6

// runs are what fingers type without a thought: the digits, the alphabet and
// the rows of two common keyboards.
var runs = []string{
	"1234567890", "abcdefghijklmnopqrstuvwxyz", "qwertyuiopasdfghjklzxcvbnm", "qwertzuiopasdfghjklyxcvbnm",
}

// manual holds the passphrases that the guide and the messages show. Whoever
// wants to come in tries them first.
var manual = []string{"four words that do not belong together"}

// checkPassphrase returns an error if passphrase is too short, too long, or
// among the first that somebody would try. "" is none, and may be.
func checkPassphrase(passphrase string) error {
	const mend = "choose one of at least %d, such as four words that do not belong together"
	n := utf8.RuneCountInString(passphrase)
	switch {
	case n == 0:
		return nil
	case n < minPassphrase:
		return fmt.Errorf("the passphrase has %d characters; "+mend, n, minPassphrase)
	case n > maxPassphrase:
		return fmt.Errorf("the passphrase has %d characters; choose one of at most %d", n, maxPassphrase)
	case isGuessable(strings.ToLower(passphrase)):
		return fmt.Errorf("the passphrase is among the first that somebody would try; "+mend+" and stand in no manual", minPassphrase)
	}
	return nil
}

func isGuessable(p string) bool {
	letters := []rune(p)
	slices.Sort(letters)
	if len(slices.Compact(letters)) < minDifferent || slices.Contains(manual, p) || isRepeated(p) {
		return true
	}
	return slices.ContainsFunc(runs, func(run string) bool {
		return strings.Contains(strings.Repeat(run, maxPassphrase/len(run)+2), p)
	})
}

// isRepeated reports whether p is a shorter text again and again, as
// "password" twice: then p stands within itself doubled before its end.
func isRepeated(p string) bool {
	return strings.Contains((p + p)[1:2*len(p)-1], p)
}
