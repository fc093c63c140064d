package cli

import (
	"fmt"
	"io"
	"slices"
	"strings"

	"pinset/internal/reckoner"
)

// print prints the members of n, one or more lines each, and what is not
// known last. unit is what a key above said of all figures below it.
func (n node) print(w io.Writer, indent, unit string) {
	lines, widest := n.lines(unit)
	for i, m := range n.members {
		l := lines[i]
		switch {
		case l.text == "" && l.brief: // told below
		case l.brief:
			wrap(w, indent+l.label+strings.Repeat(" ", widest-letters(l.label)+2), l.text)
		case m.value.kind == listKind:
			fmt.Fprintln(w, indent+l.label)
			m.value.printItems(w, indent+"  ", l.unit)
		default:
			fmt.Fprintln(w, indent+l.label)
			m.value.print(w, indent+"  ", l.unit)
		}
	}
	var missing []string
	for _, l := range lines {
		if l.brief && l.text == "" {
			missing = append(missing, l.label)
		}
	}
	if len(missing) > 0 {
		wrap(w, indent+notKnown+": ", strings.Join(missing, ", "))
	}
}

// line is one member as it is printed.
type line struct {
	label string
	unit  string
	text  string // "" if it is not known and told with others
	brief bool   // it has room in one line
}

// someMissing is how many figures that are not known are told together.
const someMissing = 3

// lines returns the members of n as they are printed, and how wide the labels
// of those are that have room in a line.
func (n node) lines(unit string) (lines []line, widest int) {
	missing := 0
	for _, m := range n.members {
		if m.value.kind == scalarKind && !m.value.known {
			missing++
		}
	}
	for _, m := range n.members {
		l := line{unit: unit}
		var own string
		if l.label, own = reckoner.Label(m.key); own != "" {
			l.unit = own
		}
		l.text, l.brief = m.value.brief(l.unit)
		if missing >= someMissing && l.text == notKnown {
			l.text = ""
		}
		if l.brief && l.text != "" {
			widest = max(widest, letters(l.label))
		}
		lines = append(lines, l)
	}
	return lines, widest
}

// printItems prints a list: as a table, upright or on its side, if it fits,
// else one item after the other.
func (n node) printItems(w io.Writer, indent, unit string) {
	if t, ok := n.table(); ok {
		t.indent = indent
		more := t.thin()
		if lying := t.onItsSide(); t.across() > tableWidth && lying.across() <= tableWidth {
			t = lying
		}
		if t.across() <= tableWidth {
			t.write(w)
			if more != "" {
				fmt.Fprintln(w, indent+more)
			}
			return
		}
	}
	for i, item := range n.items {
		if text, ok := item.brief(unit); ok {
			wrap(w, indent, text)
			continue
		}
		fmt.Fprintf(w, "%s%d\n", indent, i+1)
		item.print(w, indent+"  ", unit)
	}
}

// table returns a list of flat objects as a table. Keys that no item knows are
// left out.
func (n node) table() (*table, bool) {
	var keys []string
	known := make(map[string]bool)
	for _, item := range n.items {
		if item.kind != objectKind {
			return nil, false
		}
		for _, m := range item.members {
			if !slices.Contains(keys, m.key) {
				keys = append(keys, m.key)
			}
			known[m.key] = known[m.key] || m.value.saysMore()
		}
	}
	keys = slices.DeleteFunc(keys, func(k string) bool { return !known[k] })
	t := newTable(make([]string, len(keys))...)
	t.header = true
	for i, k := range keys {
		label, unit := reckoner.Label(k)
		t.rows[0][i] = joined(" ", label, unit)
	}
	for _, item := range n.items {
		row := make([]string, len(keys))
		for i, k := range keys {
			v, there := item.get(k)
			text, ok := v.cell()
			if there && !ok {
				return nil, false
			}
			row[i] = strings.ReplaceAll(text, notKnown, unknown)
		}
		t.rows = append(t.rows, row)
	}
	return t, true
}
