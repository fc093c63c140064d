package cli

import (
	"encoding/json"
	"errors"
	"fmt"
	"regexp"
	"slices"
	"strings"

	"pinset/internal/reckoner"
)

// kind says what a node is.
type kind int

const (
	scalarKind kind = iota
	objectKind
	listKind
)

// node is a JSON value as people read it, with its keys in their order.
type node struct {
	kind    kind
	members []member // of an object
	items   []node   // of a list
	said    string   // of a text, as it stands
	text    string   // of a scalar, as people read it
	number  bool     // the text is a number, so a unit can follow
	known   bool     // false for null
}

type member struct {
	key   string
	value node
}

func readNode(raw []byte) (node, error) {
	d := json.NewDecoder(strings.NewReader(string(raw)))
	d.UseNumber()
	return decodeNode(d)
}

func decodeNode(d *json.Decoder) (node, error) {
	token, err := d.Token()
	if err != nil {
		return node{}, err
	}
	delim, nested := token.(json.Delim)
	if !nested {
		return scalar(token)
	}
	n := node{known: true, kind: objectKind}
	if delim == '[' {
		n.kind = listKind
	}
	for d.More() {
		var m member
		if n.kind == objectKind {
			key, err := d.Token()
			if err != nil {
				return node{}, err
			}
			m.key = fmt.Sprint(key)
		}
		if m.value, err = decodeNode(d); err != nil {
			return node{}, err
		}
		if n.kind == listKind {
			n.items = append(n.items, m.value)
		} else {
			n.members = append(n.members, m)
		}
	}
	_, err = d.Token()
	return n, err
}

// codeWord is a word for programs, such as not_told_apart.
var codeWord = regexp.MustCompile(`^[a-z0-9]+(_[a-z0-9]+)+$`)

func scalar(token json.Token) (node, error) {
	switch v := token.(type) {
	case nil:
		return node{text: notKnown}, nil
	case json.Number:
		x, err := v.Float64()
		return node{text: showNumber(x), number: true, known: true}, err
	case bool:
		return node{text: map[bool]string{true: "yes", false: "no"}[v], known: true}, nil
	case string:
		n := node{said: v, text: v, known: true}
		if codeWord.MatchString(v) {
			n.text = reckoner.Spaced(v)
		}
		return n, nil
	}
	return node{}, errors.New("no JSON value: " + fmt.Sprint(token))
}

// saysMore reports whether n holds anything at all.
func (n node) saysMore() bool {
	return n.known && n.text != "" || len(n.items) > 0 || len(n.members) > 0
}

// get returns the member called key.
func (n node) get(key string) (node, bool) {
	for _, m := range n.members {
		if m.key == key {
			return m.value, true
		}
	}
	return node{}, false
}

// brief returns n in one line with its unit, if it has room there: a scalar,
// a figure with its ends, or a list of scalars.
func (n node) brief(unit string) (string, bool) {
	switch {
	case n.kind == scalarKind && n.number:
		return n.text + unitAfter(unit), true
	case n.kind == scalarKind:
		return n.text, true
	case !n.saysMore():
		return "none", true
	case n.kind == listKind:
		return n.briefList(unit)
	}
	return n.interval(unit)
}

// fewItems is how many items of a list are shown in a line.
const fewItems = 12

func (n node) briefList(unit string) (string, bool) {
	var words []string
	numbers := true
	for _, item := range n.items {
		if item.kind != scalarKind {
			return "", false
		}
		words, numbers = append(words, item.text), numbers && item.number
	}
	more := ""
	if len(words) > fewItems {
		more = fmt.Sprintf(" (the ends of %d; --json has all)", len(words))
		words = slices.Concat(words[:3], []string{"…"}, words[len(words)-3:])
	}
	text := strings.Join(words, ", ")
	if numbers && unit != "" {
		text += unitAfter(unit)
	}
	return text + more, true
}

// interval returns an object of value or best, low and high as "4.1 (1.0 to 7.2) g".
func (n node) interval(unit string) (string, bool) {
	low, hasLow := n.get("low")
	high, hasHigh := n.get("high")
	middle, hasMiddle := n.get("value")
	if !hasMiddle {
		middle, hasMiddle = n.get("best")
	}
	if !hasLow || !hasHigh || !hasMiddle || len(n.members) != 3 || low.kind+high.kind+middle.kind != scalarKind {
		return "", false
	}
	switch {
	case !middle.known:
		return notKnown, true
	case !low.known && !high.known:
		return middle.text + unitAfter(unit), true
	}
	return fmt.Sprintf("%s%s (%s to %s)", middle.text, unitAfter(unit), low.text, high.text), true
}

// cell returns n as the cell of a table: briefly, or a few small objects as
// "pint, 2 layers, 14 jars".
func (n node) cell() (string, bool) {
	if text, ok := n.brief(""); ok {
		return text, true
	}
	items := n.items
	if n.kind == objectKind {
		items = []node{n}
	}
	const small = 3
	var parts []string
	for _, item := range items {
		var words []string
		for _, m := range item.members {
			text, ok := m.value.brief("")
			if !ok {
				return "", false
			}
			if m.value.number {
				text = joined(" ", text, reckoner.Spaced(m.key))
			}
			words = append(words, text)
		}
		if len(words) > small {
			return "", false
		}
		parts = append(parts, strings.Join(words, ", "))
	}
	return strings.Join(parts, "; "), len(items) <= small
}
