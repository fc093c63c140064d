package cli

import (
	"encoding/json"
	"fmt"
	"io"
	"maps"
	"strings"

	"pinset/internal/lab"
	"pinset/internal/reckoner"
)

// calcCmd is "pinset calc [NAME] [--in FILE] [--KEY VALUE …]". Its flags are
// the calculator's keys, so they are read here and not by the parser.
type calcCmd struct {
	Args []string `arg:"" optional:"" passthrough:"" name:"name" help:"Calculator, then its keys as flags (--hold_min 60), or --in FILE.json, --in FILE.csv; without them JSON is read from standard input. --help lists its keys, --schema prints its JSON Schema, --working shows how the figures came to be."`
}

// calcOptions are what calc's own flags say.
type calcOptions struct {
	in      string
	help    bool
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
	switch {
	case o.help:
		return r.explainCalculator(calculator)
	case o.schema:
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
	return r.printAnswer(answer, o.working)
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
		for _, c := range all {
			wrap(w, fmt.Sprintf("%-12s", c.Name), c.Does)
		}
		fmt.Fprintln(w, "\npinset calc NAME --help lists what one of them takes.")
	})
}

// readCalcFlags reads "--key value" and "--key=value".
func readCalcFlags(args []string) (calcOptions, error) {
	o := calcOptions{keys: make(map[string]string)}
	switches := map[string]*bool{"schema": &o.schema, "working": &o.working, "help": &o.help}
	for i := 0; i < len(args); i++ {
		if args[i] == "-h" {
			o.help = true
			continue
		}
		key, value, joined := strings.Cut(strings.TrimPrefix(args[i], "--"), "=")
		if !strings.HasPrefix(args[i], "--") || key == "" {
			return o, lab.Invalidf("", "write keys as flags, like --hold_min 60", "%q is not a flag", args[i])
		}
		if on, ok := switches[key]; ok && !joined {
			*on = true
			continue
		}
		if !joined {
			i++
			if i == len(args) {
				return o, lab.Invalidf(key, "write the value after it", "the flag --%s has no value", key)
			}
			value = args[i]
		}
		if key == "in" {
			o.in = value
			continue
		}
		key = strings.ReplaceAll(key, "-", "_") // --hold-min is --hold_min
		if _, twice := o.keys[key]; twice {
			return o, lab.Invalidf(key, "leave one of them out", "--%s is said twice", key)
		}
		o.keys[key] = value
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
	raw, err := r.readInput(o.in, fmt.Sprintf("a JSON object with what pinset calc %s --help lists", c.Name))
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

// overlay lays the keys of the second object over the first. If the first is
// no object it is returned as it is: the calculator says what is wrong with it.
func overlay(under, over []byte) ([]byte, error) {
	var object, keys map[string]json.RawMessage
	if json.Unmarshal(under, &object) != nil || object == nil {
		return under, nil
	}
	if err := json.Unmarshal(over, &keys); err != nil {
		return nil, err
	}
	maps.Copy(object, keys)
	return json.Marshal(object)
}
