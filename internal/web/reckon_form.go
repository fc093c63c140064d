package web

import (
	"encoding/csv"
	"encoding/json"
	"slices"
	"strconv"
	"strings"

	"pinset/internal/lab"
	"pinset/internal/reckoner"
)

// calcField is one field of a calculator's form, made from its schema.
type calcField struct {
	field
	kind    fieldKind
	words   bool        // a list of words: "12" stays text
	columns []calcField // of a table
	Rows    []calcRow   // of a table, as typed
	More    []choice    // columns of a table that may be left out
	Ticks   []choice    // of a list of fixed words
}

// fieldKind says how what is typed becomes JSON.
type fieldKind string

const (
	numberField fieldKind = "number"
	textField   fieldKind = "text"
	yesField    fieldKind = "yes"
	listField   fieldKind = "list"  // numbers or words with commas
	tableField  fieldKind = "table" // lines with the keys as header
	mapField    fieldKind = "map"   // lines of a name and its value
	jsonField   fieldKind = "json"
)

// calcFields returns the fields for an object's schema. Objects within it
// are laid flat: "pot.kg".
func calcFields(schema *node, prefix string, f form) []calcField {
	return fieldsBelow(schema, prefix, true, f)
}

// fieldsBelow is calcFields for an object that may be left out unless must.
func fieldsBelow(schema *node, prefix string, must bool, f form) []calcField {
	var out []calcField
	for _, key := range schema.at("properties").keysOf() {
		prop := schema.at("properties").at(key)
		name := prefix + key
		if kindOf(prop) == jsonField && prop.at("properties").isObject() && strings.Count(prefix, ".") < 2 {
			out = append(out, fieldsBelow(prop, name+".", must && requires(schema, key), f)...)
			continue
		}
		out = append(out, newCalcField(prop, name, prefix, key, must && requires(schema, key), f))
	}
	return out
}

func newCalcField(prop *node, name, prefix, key string, must bool, f form) calcField {
	label, unit := keyLabel(key)
	if prefix != "" {
		group, _ := keyLabel(strings.TrimSuffix(prefix, "."))
		words, _ := reckoner.Label(key)
		label = strings.ReplaceAll(group, ".", ", ") + ": " + words
	}
	if unit != "" {
		label += ", " + unit
	}
	c := calcField{field: f.Field(name, label), kind: kindOf(prop)}
	c.Must = must
	if d := prop.at("description"); d != nil {
		c.Hint = sentence(d.text())
	}
	c.offer(prop, f)
	switch c.kind {
	case yesField:
		c.Options = []choice{{"true", "yes", c.Value == "true"}, {"false", "no", c.Value == "false"}}
		c.None = "not said"
	case listField:
		c.words = isType(prop.at("items"), "string")
		if c.Ticks == nil {
			c.Hint = firstWords(c.Hint, "With commas between.")
		}
	case tableField:
		c.columns = calcFields(prop.at("items"), "", form{})
		c.Long = true
		c.layRows(f)
	case mapField:
		c.words = isType(prop.at("additionalProperties"), "string")
		c.Long = true
		c.Hint = firstWords(c.Hint, "One line each: a name, a comma, its value.")
	case jsonField:
		c.Long = true
		c.Hint = firstWords(c.Hint, "As JSON.")
	}
	return c
}

// offer makes the fixed words of a schema choices.
func (c *calcField) offer(prop *node, f form) {
	if enum := prop.at("items").at("enum"); enum != nil && c.kind == listField {
		for _, w := range enum.items {
			c.Ticks = append(c.Ticks, choice{wordOf(w), reckoner.Spaced(wordOf(w)), slices.Contains(typedWords(f.All(c.Name)), wordOf(w))})
		}
	}
	if enum := prop.at("enum"); enum != nil {
		c.None = "choose"
		if !c.Must {
			c.None = "left out"
		}
		for _, w := range enum.items {
			c.Options = append(c.Options, choice{wordOf(w), reckoner.Spaced(wordOf(w)), wordOf(w) == c.Value})
		}
	}
}

func wordOf(n *node) string { word, _ := n.scalar.(string); return word }

// typedWords returns the words of a list, whether ticked or typed with commas.
func typedWords(typed []string) []string {
	return strings.FieldsFunc(strings.Join(typed, ","), func(r rune) bool { return r == ',' || r == ';' || r == ' ' })
}

// Table reports whether the field is typed row by row.
func (c calcField) Table() bool { return c.kind == tableField }

// Columns names the columns of a table for those who paste one.
func (c calcField) Columns() string {
	var must, may []string
	for _, col := range c.columns {
		if col.Must {
			must = append(must, col.Name)
		} else {
			may = append(may, col.Name)
		}
	}
	text := strings.Join(must, ", ")
	if len(may) > 0 {
		text = strings.TrimPrefix(text+"; if you have them "+strings.Join(may, ", "), "; if you have them ")
	}
	return text
}

func firstWords(a, b string) string {
	if a != "" {
		return a + " " + b
	}
	return b
}

func (n *node) keysOf() []string {
	if n == nil {
		return nil
	}
	return n.keys
}

func requires(schema *node, key string) bool {
	r := schema.at("required")
	return r != nil && slices.ContainsFunc(r.items, func(n *node) bool { return n.scalar == key })
}

// kindOf returns how a value of this schema is typed.
func kindOf(prop *node) fieldKind {
	switch {
	case isType(prop, "string"):
		return textField
	case isType(prop, "number"), isType(prop, "integer"):
		return numberField
	case isType(prop, "boolean"):
		return yesField
	case isType(prop, "array"):
		items := prop.at("items")
		if isType(items, "object") && items.at("properties").isObject() {
			return tableField
		}
		if isType(items, "number") || isType(items, "string") || isType(items, "integer") {
			return listField
		}
		return jsonField
	case isType(prop, "object") && !prop.at("properties").isObject():
		if each := prop.at("additionalProperties"); isType(each, "number") || isType(each, "integer") || isType(each, "string") {
			return mapField
		}
	}
	return jsonField
}

func isType(prop *node, name string) bool {
	t := prop.at("type")
	if t == nil {
		return false
	}
	return t.scalar == name || slices.ContainsFunc(t.items, func(n *node) bool { return n.scalar == name })
}

// inputOf returns what was typed as the calculator's JSON object. Blank
// fields are left out.
func inputOf(fields []calcField, f form) (json.RawMessage, error) {
	root := make(map[string]any)
	for _, c := range fields {
		typed := strings.TrimSpace(f.Get(c.Name))
		if c.kind == tableField && typed == "" {
			rows, err := c.typedRows(f)
			if err != nil {
				return nil, err
			}
			if len(rows) > 0 {
				put(root, strings.Split(c.Name, "."), rows)
			}
			continue
		}
		if c.kind == listField {
			typed = strings.TrimSpace(strings.Join(f.All(c.Name), ","))
		}
		if typed == "" {
			continue
		}
		v, err := c.value(typed)
		if err != nil {
			return nil, err
		}
		put(root, strings.Split(c.Name, "."), v)
	}
	return json.Marshal(root)
}

func put(object map[string]any, path []string, v any) {
	for _, key := range path[:len(path)-1] {
		inner, ok := object[key].(map[string]any)
		if !ok {
			inner = make(map[string]any)
			object[key] = inner
		}
		object = inner
	}
	object[path[len(path)-1]] = v
}

// value returns what was typed as a JSON value.
func (c calcField) value(typed string) (any, error) {
	switch c.kind {
	case numberField:
		x, ok := readNumber(typed)
		if !ok {
			return nil, lab.Invalidf(c.Name, "write a number, such as 12.5; the unit stands in the label", "%q is not a number", clipped(typed, 30))
		}
		return x, nil
	case yesField:
		return typed == "true", nil
	case listField:
		return c.list(typed), nil
	case tableField:
		return c.table(typed)
	case mapField:
		if !strings.HasPrefix(typed, "{") {
			return c.eachName(typed)
		}
		fallthrough
	case jsonField:
		if json.Valid([]byte(typed)) {
			return json.RawMessage(typed), nil
		}
	}
	return typed, nil
}

func readNumber(typed string) (json.Number, bool) {
	if strings.Count(typed, ",") == 1 && !strings.Contains(typed, ".") {
		typed = strings.Replace(typed, ",", ".", 1)
	}
	typed = strings.Replace(strings.TrimSpace(typed), "−", "-", 1)
	x, err := strconv.ParseFloat(typed, 64)
	if err != nil {
		return "", false
	}
	raw, err := json.Marshal(x)
	return json.Number(raw), err == nil
}

func (c calcField) list(typed string) []any {
	out := []any{}
	for word := range strings.FieldsFuncSeq(typed, func(r rune) bool { return r == ',' || r == ';' || r == '\n' }) {
		word = strings.TrimSpace(word)
		if x, ok := readNumber(word); ok && !c.words {
			out = append(out, x)
		} else if word != "" {
			out = append(out, word)
		}
	}
	return out
}

// table reads lines under a header of keys. The separator is what the header has.
func (c calcField) table(typed string) (any, error) {
	header, _, _ := strings.Cut(typed, "\n")
	r := csv.NewReader(strings.NewReader(typed))
	r.TrimLeadingSpace = true
	for _, sep := range "\t;," {
		if strings.ContainsRune(header, sep) {
			r.Comma = sep
			break
		}
	}
	r.TrimLeadingSpace = r.Comma != '\t'
	records, err := r.ReadAll()
	if err != nil {
		return nil, lab.Invalidf(c.Name, "give every line as many fields as the first has", "the lines can not be read: %v", err)
	}
	rows := []any{}
	if len(records) == 0 {
		return rows, nil
	}
	for _, record := range records[1:] {
		row := make(map[string]any)
		for i, key := range records[0] {
			if cell := strings.TrimSpace(record[i]); cell != "" {
				if row[strings.TrimSpace(key)], err = c.cell(strings.TrimSpace(key), cell); err != nil {
					return nil, err
				}
			}
		}
		rows = append(rows, row)
	}
	return rows, nil
}

// cell returns one cell of a table as a JSON value. Keys that the schema
// does not know are left to the calculator, which names the nearest one.
func (c calcField) cell(key, typed string) (any, error) {
	for _, col := range c.columns {
		if col.Name == key {
			read := col.value
			if col.kind == tableField {
				read = col.linesText
			}
			v, err := read(typed)
			if p, ok := lab.AsProblem(err); ok {
				return nil, lab.Invalidf(c.Name, p.Mend, "%s: %s", key, p.What)
			}
			return v, err
		}
	}
	return typed, nil
}
