package cli

import (
	"encoding/json"
	"fmt"
	"io"
	"math"
	"slices"
	"strconv"
	"strings"

	"pinset/internal/figure"
	"pinset/internal/lab"
	"pinset/internal/reckoner"
)

// calcCmd is "pinset calc [NAME] [--in FILE] [--KEY VALUE …]". Its flags are
// the calculator's keys, so they are read here and not by the parser.
type calcCmd struct {
	Args []string `arg:"" optional:"" passthrough:"" name:"name" help:"Calculator, then --in FILE.json, --in FILE.csv, or its keys as flags: --hold_min 60. Without them, JSON from standard input. --schema prints the JSON Schema, --working the working."`
}

// calcArgs keeps the flags of a calculator from the parser: all that follows
// its name is passed through as it is, save --json.
func calcArgs(args []string) []string {
	at := slices.Index(args, "calc")
	if at < 0 || at > 0 && args[0] != "--json" {
		return args
	}
	rest := args[at+1:]
	if slices.Contains(rest, "--help") || slices.Contains(rest, "-h") || len(rest) == 0 {
		return args
	}
	out := slices.Clone(args[:at])
	if slices.Contains(rest, "--json") {
		out = append(out, "--json")
		rest = slices.DeleteFunc(slices.Clone(rest), func(a string) bool { return a == "--json" })
	}
	out = append(out, "calc")
	if len(rest) > 0 && strings.HasPrefix(rest[0], "-") {
		out = append(out, "--")
	}
	return append(out, rest...)
}

// calcOptions are what calc's own flags say.
type calcOptions struct {
	in      string
	schema  bool
	working bool
	keys    map[string]string
}

func (c *calcCmd) Run(r *run) error {
	if len(c.Args) == 0 {
		return r.listCalculators()
	}
	calculator, err := reckoner.Named(c.Args[0])
	if err != nil {
		return err
	}
	o, err := readCalcFlags(c.Args[1:])
	if err != nil {
		return err
	}
	if o.schema {
		schema, err := calculator.Schema()
		if err != nil {
			return err
		}
		return r.encode(schema)
	}
	in, err := r.calcInput(calculator, o)
	if err != nil {
		return err
	}
	answer, err := calculator.Calculate(in)
	if err != nil {
		return err
	}
	return r.print(answer, func(w io.Writer) { err = printAnswer(w, answer, o.working) })
}

func (r *run) listCalculators() error {
	type line struct {
		Name  string `json:"name"`
		Title string `json:"title"`
		Does  string `json:"does"`
	}
	var all []line
	for _, c := range reckoner.All() {
		all = append(all, line{c.Name, c.Title, c.Does})
	}
	return r.print(all, func(w io.Writer) {
		t := newTable("calculator", "what it does")
		for _, c := range all {
			t.row(c.Name, c.Does)
		}
		t.write(w)
		fmt.Fprintln(w, "\npinset calc NAME --schema prints what it takes.")
	})
}

// readCalcFlags reads "--key value" and "--key=value".
func readCalcFlags(args []string) (calcOptions, error) {
	o := calcOptions{keys: make(map[string]string)}
	for i := 0; i < len(args); i++ {
		key, value, joined := strings.Cut(strings.TrimPrefix(args[i], "--"), "=")
		if !strings.HasPrefix(args[i], "--") || key == "" {
			return o, lab.Invalidf("", "write flags like --hold_min 60", "%q is not a flag", args[i])
		}
		switch key {
		case "schema":
			o.schema = true
			continue
		case "working":
			o.working = true
			continue
		}
		if !joined {
			i++
			if i == len(args) {
				return o, lab.Invalidf(key, "write a value after it", "the flag --%s has no value", key)
			}
			value = args[i]
		}
		if key == "in" {
			o.in = value
		} else {
			o.keys[key] = value
		}
	}
	return o, nil
}

// calcInput gathers the input: a file, the keys given as flags, or standard
// input. Keys given beside a file are laid over it.
func (r *run) calcInput(c reckoner.Calculator, o calcOptions) ([]byte, error) {
	flags, err := c.FromFlags(o.keys)
	if err != nil {
		return nil, err
	}
	if o.in == "" && len(o.keys) > 0 {
		return flags, nil
	}
	if o.in == "" {
		o.in = "-"
	}
	raw, err := r.readInput(o.in)
	if err != nil {
		return nil, err
	}
	if strings.HasSuffix(strings.ToLower(o.in), ".csv") {
		return c.FromCSV(strings.NewReader(string(raw)), flags)
	}
	if len(o.keys) == 0 {
		return raw, nil
	}
	return overlay(raw, flags)
}

// overlay lays the keys of the second object over the first.
func overlay(under, over []byte) ([]byte, error) {
	object := make(map[string]json.RawMessage)
	for _, raw := range [][]byte{under, over} {
		if err := json.Unmarshal(raw, &object); err != nil {
			return nil, figure.Faultf("", "give one JSON object", "the input is not a JSON object: %v", err)
		}
	}
	return json.Marshal(object)
}

// printAnswer prints an answer for people. It goes by the JSON, which is the
// contract, so that nothing is shown that a script would not get.
func printAnswer(w io.Writer, answer any, working bool) error {
	raw, err := json.Marshal(answer)
	if err != nil {
		return err
	}
	var a struct {
		Result   json.RawMessage  `json:"result"`
		Cautions []figure.Caution `json:"cautions"`
		Working  []figure.Step    `json:"working"`
	}
	if err := json.Unmarshal(raw, &a); err != nil {
		return err
	}
	if err := printTree(w, a.Result); err != nil {
		return err
	}
	printCautions(w, a.Cautions)
	if working {
		printWorking(w, a.Working)
	}
	return nil
}

// printTree prints a JSON value as indented lines, keys in their order.
func printTree(w io.Writer, raw json.RawMessage) error {
	d := json.NewDecoder(strings.NewReader(string(raw)))
	d.UseNumber()
	return printValue(w, d, "", 0)
}

func printValue(w io.Writer, d *json.Decoder, name string, depth int) error {
	indent := strings.Repeat("  ", depth)
	token, err := d.Token()
	if err != nil {
		return err
	}
	delim, nested := token.(json.Delim)
	if !nested {
		if name != "" {
			fmt.Fprintf(w, "%s%-24s %s\n", indent, name, showToken(token))
		} else {
			fmt.Fprintf(w, "%s%s\n", indent, showToken(token))
		}
		return nil
	}
	if name != "" {
		fmt.Fprintf(w, "%s%s\n", indent, name)
		depth++
	}
	for n := 1; d.More(); n++ {
		item := strconv.Itoa(n)
		if delim == '{' {
			key, err := d.Token()
			if err != nil {
				return err
			}
			item = fmt.Sprint(key)
		}
		if err := printValue(w, d, item, depth); err != nil {
			return err
		}
	}
	_, err = d.Token()
	return err
}

func showToken(t json.Token) string {
	switch v := t.(type) {
	case nil:
		return "not known"
	case json.Number:
		x, err := v.Float64()
		if err != nil || x == math.Trunc(x) && math.Abs(x) < 1e15 {
			return v.String()
		}
		return strconv.FormatFloat(x, 'g', 5, 64)
	case bool:
		if v {
			return "yes"
		}
		return "no"
	}
	return fmt.Sprint(t)
}

func printCautions(w io.Writer, cautions []figure.Caution) {
	if len(cautions) > 0 {
		fmt.Fprintln(w)
	}
	for _, c := range cautions {
		fmt.Fprintf(w, "%-5s %s\n      %s\n", c.Weight, c.Title, c.Text)
	}
}

func printWorking(w io.Writer, steps []figure.Step) {
	if len(steps) == 0 {
		return
	}
	fmt.Fprintln(w, "\nWorking")
	for _, s := range steps {
		value := fmt.Sprint(s.Value)
		if x, ok := s.Value.(float64); ok {
			value = strconv.FormatFloat(x, 'g', 6, 64)
		} else if s.Value == nil {
			value = "not known"
		}
		fmt.Fprintf(w, "  %s: %s = %s %s", s.Step, s.Formula, value, s.Unit)
		if s.Source != "" {
			fmt.Fprintf(w, " [%s]", s.Source)
		}
		fmt.Fprintln(w)
	}
}
