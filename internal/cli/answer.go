package cli

import (
	"encoding/json"
	"fmt"
	"io"
	"strconv"

	"pinset/internal/figure"
)

// printAnswer prints an answer as JSON, or as text for people. The text goes
// by the JSON, which is the contract, so that it shows nothing that a script
// would not get.
func (r *run) printAnswer(answer any, working bool) error {
	if r.json {
		return r.encode(answer)
	}
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
	result, err := readNode(a.Result)
	if err != nil {
		return err
	}
	return r.print(nil, func(w io.Writer) {
		printResult(w, result)
		printCautions(w, a.Cautions)
		if working {
			printWorking(w, a.Working)
		}
	})
}

// printResult prints the sentence of a result first, if it has one.
func printResult(w io.Writer, result node) {
	figures := node{kind: objectKind}
	for _, m := range result.members {
		if m.key == "sentence" && m.value.text != "" {
			wrap(w, "", m.value.text)
			fmt.Fprintln(w)
			continue
		}
		figures.members = append(figures.members, m)
	}
	figures.print(w, "", "")
}

func printCautions(w io.Writer, cautions []figure.Caution) {
	if len(cautions) > 0 {
		fmt.Fprintln(w)
	}
	for _, c := range cautions {
		fmt.Fprintf(w, "%-5s %s\n", c.Weight, c.Title)
		wrap(w, "      ", c.Text)
	}
}

// printWorking prints how figures came to be.
func printWorking(w io.Writer, steps []figure.Step) {
	if len(steps) == 0 {
		return
	}
	fmt.Fprintln(w, "\nWorking")
	for _, s := range steps {
		value := showValue(s.Value)
		wrap(w, "  ", fmt.Sprintf("%s: %s = %s %s", s.Step, s.Formula, value, s.Unit))
		if s.Source != "" {
			wrap(w, "    ", "source: "+s.Source)
		}
	}
}

// showValue returns the value of a step, which may be of any type, as its JSON
// says it.
func showValue(v any) string {
	raw, err := json.Marshal(v)
	if err != nil {
		return notKnown
	}
	n, err := readNode(raw)
	if err != nil {
		return notKnown
	}
	if text, ok := n.brief(""); ok {
		return text
	}
	return string(raw)
}

// notKnown stands for a figure that can not be said.
const notKnown = "not known"

// showNumber prints five digits, or all before the point, and no exponent for
// what people meet.
func showNumber(x float64) string {
	sign := ""
	if x < 0 {
		sign, x = "−", -x
	}
	switch {
	case x != 0 && x < 1e-4 || x >= 1e15:
		return sign + strconv.FormatFloat(x, 'g', 3, 64)
	case x >= 1e4:
		return sign + strconv.FormatFloat(x, 'f', 0, 64)
	}
	return sign + strconv.FormatFloat(x, 'g', 5, 64)
}
