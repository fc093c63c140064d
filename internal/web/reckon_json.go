package web

import (
	"bytes"
	"encoding/json"
	"fmt"
	"strings"
)

// node is a JSON value that remembers the order of its keys: pages show
// figures in the order in which a calculator gives them.
type node struct {
	keys   []string // of an object
	fields map[string]*node
	items  []*node // of a list
	isList bool
	scalar any // string, json.Number, bool or nil
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
		n.keys = append(n.keys, key.(string)) // keys of objects are strings
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

// text returns a scalar as it is shown, numbers to four digits.
func (n *node) text() string {
	if n == nil || n.scalar == nil {
		return "not known"
	}
	if x, ok := n.scalar.(json.Number); ok {
		if !strings.ContainsAny(x.String(), ".eE") {
			return strings.Replace(x.String(), "-", "−", 1)
		}
		f, err := x.Float64()
		if err != nil {
			return x.String()
		}
		return significant(4, f)
	}
	if s, ok := n.scalar.(string); ok && isToken(s) {
		return strings.ReplaceAll(s, "_", " ")
	}
	return showFigure(n.scalar)
}

// isToken reports whether s is a word of the contract, such as "not_told_apart".
func isToken(s string) bool {
	return strings.Trim(s, "abcdefghijklmnopqrstuvwxyz_") == "" && strings.Contains(s, "_")
}

// keyUnits are the endings of keys that name a unit, and how it is written.
// Longer endings come first.
var keyUnits = []struct{ end, unit string }{
	{"_per_min", "per min"},
	{"_ml_per_h", "mL/h"},
	{"_per_h", "per h"},
	{"_ml_per_g", "mL/g"},
	{"_ml_per_kg_dry", "mL/kg dry"},
	{"_kj_kgk", "kJ/(kg K)"},
	{"_kg_m3", "kg/m³"},
	{"_w_m2k", "W/(m² K)"},
	{"_w_mk", "W/(m K)"},
	{"_m2_s", "m²/s"},
	{"_m3_s", "m³/s"},
	{"_g_kg", "g/kg"},
	{"_mg_h", "mg/h"},
	{"_kwh", "kWh"},
	{"_kpa", "kPa"},
	{"_psi", "psi"},
	{"_ppm", "ppm"},
	{"_pct", "%"},
	{"_min", "min"},
	{"_pa", "Pa"},
	{"_mm", "mm"},
	{"_ml", "mL"},
	{"_kg", "kg"},
	{"_g", "g"},
	{"_c", "°C"},
	{"_w", "W"},
	{"_h", "h"},
	{"_l", "L"},
	{"_m", "m"},
}

// keyLabel turns a key into words and the unit that it ends in.
func keyLabel(key string) (label, unit string) {
	switch key {
	case "celsius":
		return "Temperature", "°C"
	case "cn":
		return "C : N", ""
	}
	if name, ok := strings.CutPrefix(key, "g_per_"); ok {
		return "Per " + strings.ReplaceAll(name, "_", " "), "g"
	}
	if key == "ml_per_g" {
		return "Per gram of grain", "mL"
	}
	for _, u := range keyUnits {
		if name, ok := strings.CutSuffix(key, u.end); ok && name != "" {
			key, unit = name, u.unit
			break
		}
	}
	words := strings.Split(key, "_")
	for i, w := range words {
		if short, ok := keyShorts[w]; ok {
			words[i] = short
		}
	}
	return capital(strings.Join(words, " ")), unit
}

// keyShorts are words of keys that are written in capitals.
var keyShorts = map[string]string{"sd": "SD", "cv": "CV", "lc": "LC", "rh": "RH", "f0": "F0", "co2": "CO2", "vpd": "VPD", "dli": "DLI", "ppfd": "PPFD", "be": "BE", "ml": "mL"}
