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
	Says   string `json:"says"` // what it is, and what leaving it out means
	// Words are those that it takes, empty if it takes others too.
	Words []string `json:"words"`
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
		for _, k := range out.Keys {
			k.print(w)
		}
		if example := c.Example(); example != "" {
			fmt.Fprintf(w, "\nFor example:\n  %s\n", strings.ReplaceAll(example, "\n", "\n  "))
		}
		fmt.Fprintf(w, "\n%s%s", howToGive, exitCodes)
	})
}

func exampleOf(c reckoner.Calculator) json.RawMessage {
	if text := c.Example(); text != "" {
		return json.RawMessage(text)
	}
	return json.RawMessage("null")
}

// print prints a key with what it takes, and below it what it is. Keys below
// a list or an object stand further to the right.
func (k inputKey) print(w io.Writer) {
	parts := strings.Split(k.Key, ".")
	indent := strings.Repeat("  ", len(parts)-1)
	about := []string{k.Takes}
	if k.Unit != "" {
		about = append(about, k.Unit)
	}
	if k.Needed {
		about = append(about, "needed")
	}
	fmt.Fprintf(w, "%s%s  (%s)\n", indent, parts[len(parts)-1], strings.Join(about, "; "))
	if k.Says != "" {
		wrap(w, indent+"    ", k.Says)
	}
	if len(k.Words) > 0 {
		wrap(w, indent+"    ", "one of: "+strings.Join(k.Words, ", "))
	}
}

// keysOf returns the keys of an object's schema and those below them.
func keysOf(schema node, above string) []inputKey {
	properties, _ := schema.get("properties")
	required, _ := schema.get("required")
	var keys []inputKey
	for _, m := range properties.members {
		_, unit := reckoner.Label(m.key)
		says, _ := m.value.get("description")
		k := inputKey{Key: above + m.key, Takes: takes(m.value), Unit: unit, Says: says.said, Words: wordsOf(m.value)}
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

// wordsOf returns the fixed words that a value of that schema, or an item of
// it, must be one of.
func wordsOf(schema node) []string {
	if items, ok := schema.get("items"); ok {
		schema = items
	}
	words := []string{}
	enum, _ := schema.get("enum")
	for _, w := range enum.items {
		words = append(words, w.said)
	}
	return words
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
