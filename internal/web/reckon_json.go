package web

import (
	"bytes"
	"encoding/json"
	"fmt"
	"slices"
	"strings"

	"pinset/internal/reckoner"
)

// node is a JSON value that remembers the order of its keys: pages show
// figures in the order in which a calculator gives them.
type node struct {
	keys   []string // of an object
	fields map[string]*node
	items  []*node // of a list
	isList bool
	scalar any // string, json.Number, bool or nil
	lethal bool
}

// readNode parses one JSON value.
func readNode(raw []byte) (*node, error) {
	d := json.NewDecoder(bytes.NewReader(raw))
	d.UseNumber()
	n, err := nextNode(d)
	if err != nil {
		return nil, fmt.Errorf("web: read JSON: %w", err)
	}
	return n, nil
}

func nextNode(d *json.Decoder) (*node, error) {
	t, err := d.Token()
	if err != nil {
		return nil, err
	}
	switch t {
	case json.Delim('{'):
		return nextObject(d)
	case json.Delim('['):
		n := &node{isList: true}
		for d.More() {
			item, err := nextNode(d)
			if err != nil {
				return nil, err
			}
			n.items = append(n.items, item)
		}
		_, err := d.Token()
		return n, err
	}
	return &node{scalar: t}, nil
}

func nextObject(d *json.Decoder) (*node, error) {
	n := &node{fields: make(map[string]*node)}
	for d.More() {
		key, err := d.Token()
		if err != nil {
			return nil, err
		}
		value, err := nextNode(d)
		if err != nil {
			return nil, err
		}
		value.markLethal(key.(string)) // keys of objects are strings
		n.keys = append(n.keys, key.(string))
		n.fields[key.(string)] = value
	}
	_, err := d.Token()
	return n, err
}

func (n *node) isObject() bool { return n != nil && n.fields != nil }

// at returns the value under key, nil if there is none.
func (n *node) at(key string) *node {
	if n == nil {
		return nil
	}
	return n.fields[key]
}

// notKnown stands for a figure that can not be said.
const notKnown = "not known"

// lethalKeys hold a lethality, as all keys with "f0" do.
var lethalKeys = []string{"f_min", "f_trapezoid_min", "cumulative_min", "log_reduction", "survivors", "equal_hold_min", "cook_value_min"}

// markLethal marks n and what lies below as a lethality if its key says so: it
// is not known to more than two digits.
func (n *node) markLethal(key string) {
	if strings.Contains(key, "f0") || slices.Contains(lethalKeys, key) {
		n.markAll()
	}
}

func (n *node) markAll() {
	n.lethal = true
	for _, below := range n.items {
		below.markAll()
	}
	for _, below := range n.fields {
		below.markAll()
	}
}

// lethalText prints a lethality to two digits.
func lethalText(x float64) string {
	if x > 0 && x < 0.01 {
		return "< 0.01"
	}
	return significant(2, x)
}

// text returns a scalar as it is shown, numbers to four digits.
func (n *node) text() string {
	if n == nil || n.scalar == nil {
		return notKnown
	}
	if x, ok := n.scalar.(json.Number); ok {
		if !strings.ContainsAny(x.String(), ".eE") {
			return strings.Replace(x.String(), "-", "−", 1)
		}
		f, err := x.Float64()
		if err != nil {
			return x.String()
		}
		if n.lethal {
			return lethalText(f)
		}
		return significant(4, f)
	}
	if s, ok := n.scalar.(string); ok && isToken(s) {
		return reckoner.Spaced(s)
	}
	return showFigure(n.scalar)
}

// isToken reports whether s is a word of the contract, such as "not_told_apart".
func isToken(s string) bool {
	return strings.Trim(s, "abcdefghijklmnopqrstuvwxyz_") == "" && strings.Contains(s, "_")
}

// keyLabel returns a key's words, as a label begins, and its unit.
func keyLabel(key string) (label, unit string) {
	words, unit := reckoner.Label(key)
	return capital(words), unit
}
