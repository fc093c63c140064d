// Package nearest finds the known word that a mistyped one was meant for.
package nearest

import "strings"

// Word returns the known word nearest to word by single-letter edits, case
// not counted, and false if none is near: within a third of its length, and
// at least one edit. Of equals it returns the first.
func Word(word string, known []string) (string, bool) {
	best, bestAt := "", len(word)/3+2
	for _, k := range known {
		if d := Edits(strings.ToLower(word), strings.ToLower(k)); d < bestAt {
			best, bestAt = k, d
		}
	}
	return best, best != ""
}

// Edits returns the number of letters to insert, delete or replace that turn
// a into b (the Levenshtein distance).
func Edits(a, b string) int {
	s, t := []rune(a), []rune(b)
	row := make([]int, len(t)+1)
	for j := range row {
		row[j] = j
	}
	for i, r := range s {
		diagonal := row[0]
		row[0] = i + 1
		for j, q := range t {
			replace := diagonal
			if r != q {
				replace++
			}
			diagonal = row[j+1]
			row[j+1] = min(row[j+1]+1, row[j]+1, replace)
		}
	}
	return row[len(t)]
}
