package cli

import (
	"encoding/json"
	"fmt"
	"io"
	"slices"
	"strings"

	"pinset/internal/reckoner"
)

// inputKey is one key that a calculator takes.
type inputKey struct {
	Key    string `json:"key"` // below a list or an object as "marks.at"
	Takes  string `json:"takes"`
	Unit   string `json:"unit"`
	Needed bool   `json:"needed"`
}

const howToGive = `Give the keys as flags, lists with commas or as JSON; or one JSON object on
standard input or with --in FILE.json; rows also with --in FILE.csv, the keys
as its header. Flags go before what a file says.

  --working   print the working too
  --json      print {"result", "cautions", "working"} as JSON
  --schema    print the JSON Schema of what it takes
`

// explainCalculator prints what a calculator takes, by its schema.
func (r *run) explainCalculator(c reckoner.Calculator) error {
	schema, err := c.Schema()
	if err != nil {
		return err
	}
	raw, err := json.Marshal(schema)
	if err != nil {
		return err
	}
	tree, err := readNode(raw)
	if err != nil {
		return err
	}
	out := struct {
		Name  string     `json:"name"`
		Title string     `json:"title"`
		Does  string     `json:"does"`
		Keys  []inputKey `json:"keys"`
		// Example is an input that can be computed, null if there is none.
		Example json.RawMessage `json:"example"`
	}{c.Name, c.Title, c.Does, keysOf(tree, ""), exampleOf(c)}
	return r.print(out, func(w io.Writer) {
		fmt.Fprintf(w, "pinset calc %s: %s\n", c.Name, c.Title)
		wrap(w, "", c.Does)
		fmt.Fprintln(w)
		t := newTable("key", "takes", "unit", "")
		for _, k := range out.Keys {
			t.row(indented(k.Key), k.Takes, k.Unit, map[bool]string{true: "needed"}[k.Needed])
		}
		t.write(w)
		if example := examples[c.Name]; example != "" {
			fmt.Fprintf(w, "\nFor example:\n  %s\n", strings.ReplaceAll(example, "\n", "\n  "))
		}
		fmt.Fprintf(w, "\n%s%s", howToGive, exitCodes)
	})
}

func exampleOf(c reckoner.Calculator) json.RawMessage {
	if text := examples[c.Name]; text != "" {
		return json.RawMessage(text)
	}
	return json.RawMessage("null")
}

// indented returns the last part of "marks.at", moved to the right.
func indented(key string) string {
	parts := strings.Split(key, ".")
	return strings.Repeat("  ", len(parts)-1) + parts[len(parts)-1]
}

// keysOf returns the keys of an object's schema and those below them.
func keysOf(schema node, above string) []inputKey {
	properties, _ := schema.get("properties")
	required, _ := schema.get("required")
	var keys []inputKey
	for _, m := range properties.members {
		_, unit := reckoner.Label(m.key)
		k := inputKey{Key: above + m.key, Takes: takes(m.value), Unit: unit}
		k.Needed = slices.ContainsFunc(required.items, func(n node) bool { return n.said == m.key })
		keys = append(keys, k)
		below := m.value
		if items, ok := below.get("items"); ok {
			below = items
		}
		keys = append(keys, keysOf(below, k.Key+".")...)
	}
	return keys
}

// typeWords are the types of JSON Schema as people say them.
var typeWords = map[string]string{
	"number": "number", "integer": "whole number", "string": "text", "boolean": "true or false", "array": "list", "object": "object",
}

// takes says what a value of that schema may be.
func takes(schema node) string {
	var words []string
	for _, t := range typesOf(schema) {
		word := typeWords[t]
		if items, ok := schema.get("items"); ok && t == "array" {
			word = "list of " + plural(takes(items))
		}
		if each, ok := schema.get("additionalProperties"); ok && t == "object" && each.kind == objectKind {
			word = takes(each) + " for each name"
		}
		words = append(words, word)
	}
	choices, _ := schema.get("anyOf")
	for _, choice := range choices.items {
		words = append(words, takes(choice))
	}
	return strings.Join(words, ", or ")
}

// typesOf returns the types that a schema allows besides null.
func typesOf(schema node) []string {
	t, _ := schema.get("type")
	all := []string{t.said}
	if t.kind == listKind {
		all = nil
		for _, item := range t.items {
			all = append(all, item.said)
		}
	}
	return slices.DeleteFunc(all, func(s string) bool { return s == "null" || s == "" })
}

func plural(word string) string {
	switch word {
	case "object":
		return "rows"
	case "text":
		return "texts"
	}
	first, rest, _ := strings.Cut(word, ", or ")
	if rest != "" {
		return plural(first) + ", or " + plural(rest)
	}
	return word + "s"
}
