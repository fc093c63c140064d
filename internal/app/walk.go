package app

import (
	"cmp"
	"context"
	"slices"
	"strings"

	"pinset/internal/lab"
	"pinset/internal/store"
)

// WalkingOrder returns the names of shelves in the order that the grower
// walks them, none if it was not said.
func (f *Farm) WalkingOrder(ctx context.Context) ([]string, error) {
	var kept string
	err := f.store.Read(ctx, func(r store.Reader) (err error) {
		kept, err = r.Setting(ctx, settingWalk)
		return err
	})
	return walkLines(kept), err
}

// SetWalkingOrder keeps the order in which shelves are walked: one name a
// line, as typed. "" goes back to the order of their names.
func (f *Farm) SetWalkingOrder(ctx context.Context, typed string) error {
	typed, err := lab.Text("walk", strings.Join(walkLines(typed), "\n"))
	if err != nil {
		return err
	}
	return f.store.Write(ctx, func(w store.Writer) error { return w.SetSetting(ctx, settingWalk, typed) })
}

func walkLines(typed string) []string {
	var out []string
	for line := range strings.Lines(typed) {
		if name := strings.Join(strings.Fields(line), " "); name != "" {
			out = append(out, name)
		}
	}
	return out
}

// inWalkingOrder sorts what bears the names of shelves as they are walked:
// first those that the grower put into an order, then by name with numbers in
// their order, at the end what stands on no shelf that was said.
func inWalkingOrder[T any](shelves []T, name func(T) string, walk string) {
	rank := make(map[string]int)
	for i, name := range walkLines(walk) {
		rank[lab.NameKey(name)] = i - 1_000_000
	}
	slices.SortStableFunc(shelves, func(x, y T) int {
		a, b := name(x), name(y)
		if (a == "") != (b == "") {
			return strings.Compare(b, a) // "" last
		}
		return cmp.Or(cmp.Compare(rank[lab.NameKey(a)], rank[lab.NameKey(b)]), compareNames(a, b))
	})
}

// compareNames compares names so that "Shelf 2" stands before "Shelf 10".
func compareNames(a, b string) int {
	a, b = strings.ToLower(a), strings.ToLower(b)
	for a != "" && b != "" {
		x, y := digits(a), digits(b)
		if x != "" && y != "" {
			p, q := strings.TrimLeft(x, "0"), strings.TrimLeft(y, "0")
			if c := cmp.Or(cmp.Compare(len(p), len(q)), strings.Compare(p, q)); c != 0 {
				return c
			}
			a, b = a[len(x):], b[len(y):]
			continue
		}
		if a[0] != b[0] {
			return strings.Compare(a, b)
		}
		a, b = a[1:], b[1:]
	}
	return strings.Compare(a, b)
}

// digits returns the digits that s begins with.
func digits(s string) string {
	n := 0
	for n < len(s) && s[n] >= '0' && s[n] <= '9' {
		n++
	}
	return s[:n]
}
