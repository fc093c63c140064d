package web

import (
	"context"
	"encoding/json"
	"fmt"
	"net/http"
	"slices"
	"strconv"
	"strings"

	"pinset/internal/figure"
	"pinset/internal/lab"
	"pinset/internal/reckoner"
)

// reckonerPage lists the calculators.
type reckonerPage struct {
	frame
	List []reckoner.Calculator
}

func (reckonerPage) template() string { return "reckon/list" }

// getReckoner serves GET /reckoner.
func (s *server) getReckoner(w http.ResponseWriter, r *http.Request) error {
	return s.show(w, r, http.StatusOK, &reckonerPage{frame{Title: "Reckoner", Section: "/reckoner"}, reckoner.All()})
}

// calcPage is one calculator: its form, and below what came of it.
type calcPage struct {
	frame
	Name, Does string
	Form       form
	Fields     []calcField
	Answer     *calcAnswer // nil before anything is typed
	usual      map[string]bool
}

// fewest is how many fields are worth folding away.
const fewest = 4

// Asked are the fields that everybody is asked for or that say something, and
// Folded the rest, if there are enough to be in the way.
func (p calcPage) Asked() []calcField { asked, _ := p.part(); return asked }

func (p calcPage) Folded() []calcField { _, folded := p.part(); return folded }

func (p calcPage) part() (asked, folded []calcField) {
	for _, c := range p.Fields {
		said := c.Value != "" || c.Bad != nil || slices.ContainsFunc(c.Ticks, func(t choice) bool { return t.Chosen })
		if c.Must || said || c.Table() || p.usual[c.Name] {
			asked = append(asked, c)
		} else {
			folded = append(folded, c)
		}
	}
	if len(folded) < fewest {
		return p.Fields, nil
	}
	return asked, folded
}

// begin fills in what the farm knows of a form that nothing was typed into.
func (s *server) begin(ctx context.Context, f form, schema *node) error {
	if len(f.values) > 0 || schema.at("properties").at("altitude_m") == nil {
		return nil
	}
	settings, err := s.farm.Settings(ctx)
	if err == nil && settings.Altitude != nil {
		f.values.Set("altitude_m", strconv.FormatFloat(*settings.Altitude, 'f', -1, 64))
	}
	return err
}

// calcAnswer is an answer as shown.
type calcAnswer struct {
	Sentence string // the verdict, "" if it has none
	Figures  []figureRow
	Tables   []figureTable
	Groups   []calcGroup
	Cautions []figure.Caution
	Working  []figure.Step
	Clock    *drawing // of the timetable of load, else nil
}

func (calcPage) template() string { return "reckon/calc" }

// getCalc serves GET /reckoner/{calc}. The address carries what was typed.
func (s *server) getCalc(w http.ResponseWriter, r *http.Request) error {
	calc, err := reckoner.Named(r.PathValue("calc"))
	if err != nil {
		return err
	}
	schema, err := schemaOf(calc)
	if err != nil {
		return err
	}
	usual, err := calc.Usual()
	if err != nil {
		return err
	}
	f := formOf(r)
	typed := len(f.values) > 0
	if err := s.begin(r.Context(), f, schema); err != nil {
		return err
	}
	fields := calcFields(schema, "", f)
	p := &calcPage{frame: frame{Title: calc.Title, Section: "/reckoner"}, Name: calc.Name, Does: calc.Does, Form: f, Fields: fields, usual: usual}
	status := http.StatusOK
	if editsRows(fields, f) {
		p.Fields = calcFields(schema, "", f)
	} else if typed && !prefilled(fields, f) {
		if p.Answer, err = answerOf(calc, fields, f); err != nil {
			if p.Form, err = f.with(err); err != nil {
				return err
			}
			atCalcField(p.Form.problem, fields)
			status = http.StatusUnprocessableEntity
			p.Fields = calcFields(schema, "", p.Form)
		}
	}
	return s.show(w, r, status, p)
}

// prefilled reports whether the address only begins the form: a link from
// elsewhere says what it knows, and lacks a field that must be typed. A form
// that was sent has them all, blank or not.
func prefilled(fields []calcField, f form) bool {
	return slices.ContainsFunc(fields, func(c calcField) bool { return c.Must && c.kind != tableField && !f.Has(c.Name) })
}

func schemaOf(calc reckoner.Calculator) (*node, error) {
	schema, err := calc.Schema()
	if err != nil {
		return nil, err
	}
	raw, err := json.Marshal(schema)
	if err != nil {
		return nil, fmt.Errorf("web: schema of %s: %w", calc.Name, err)
	}
	return readNode(raw)
}

// answerOf computes from what was typed.
func answerOf(calc reckoner.Calculator, fields []calcField, f form) (*calcAnswer, error) {
	in, err := inputOf(fields, f)
	if err != nil {
		return nil, err
	}
	out, err := calc.Calculate(in)
	if err != nil {
		return nil, err
	}
	raw, err := json.Marshal(out)
	if err != nil {
		return nil, fmt.Errorf("web: answer of %s: %w", calc.Name, err)
	}
	var a figure.Answer[json.RawMessage]
	if err := json.Unmarshal(raw, &a); err != nil {
		return nil, fmt.Errorf("web: answer of %s: %w", calc.Name, err)
	}
	result, err := readNode(a.Result)
	if err != nil {
		return nil, err
	}
	answer := &calcAnswer{Cautions: a.Cautions, Working: a.Working}
	if calc.Name == "load" {
		if answer.Clock, err = loadDrawingOf(in, a.Result); err != nil {
			return nil, err
		}
	}
	answer.lay(result, "", "")
	answer.gatherUnknown()
	return answer, nil
}

// atCalcField moves a problem at "marks[2].at" to the field "marks".
func atCalcField(p *lab.Problem, fields []calcField) {
	for _, c := range fields {
		if p.Field == c.Name || strings.HasPrefix(p.Field, c.Name+".") || strings.HasPrefix(p.Field, c.Name+"[") {
			p.Field = c.Name
			return
		}
	}
}

// figureRow is one figure with its name and unit.
type figureRow struct{ Label, Value, Unit string }

// figureTable is a list of alike figures.
type figureTable struct {
	Label string
	Heads []figureHead
	Rows  [][]string
}

// IsLong reports whether the table is shown on demand only.
func (t figureTable) IsLong() bool { return len(t.Rows) > 16 }

type figureHead struct {
	Label, Unit string
	Number      bool
}

// calcGroup is one of several alike results that is too wide for a row.
type calcGroup struct {
	Label string
	calcAnswer
}

// lay sorts a result into sentence, figures and tables. What lies below a key
// has its unit, unless its own key says one.
func (a *calcAnswer) lay(n *node, under, unitAbove string) {
	for _, key := range n.keys {
		v := n.fields[key]
		words, unit := reckoner.Label(key)
		if unit == "" {
			unit = unitAbove
		}
		label := capital(words)
		if under != "" {
			label = under + ", " + words
		}
		switch {
		case key == "sentence" && under == "" && v.scalar != nil:
			a.Sentence = v.text()
		case v.isObject() && isInterval(v):
			a.Figures = append(a.Figures, figureRow{label, intervalText(v), unit})
		case isRuns(v):
			a.Tables = append(a.Tables, runsTable(label, v))
		case v.isObject():
			a.lay(v, label, unit)
		case v.isList && len(v.items) > 0 && v.items[0].isObject() && isWide(v.items[0]):
			for _, item := range v.items {
				g := calcGroup{Label: groupLabel(label, item)}
				g.lay(item, "", "")
				g.gatherUnknown()
				a.Groups = append(a.Groups, g)
			}
		case v.isList && len(v.items) > 0 && v.items[0].isObject():
			a.Tables = append(a.Tables, tableOf(label, v))
		case v.isList:
			a.Figures = append(a.Figures, figureRow{label, listText(v), unit})
		default:
			a.Figures = append(a.Figures, figureRow{label, v.text(), unitOf(v, unit)})
		}
	}
}

// gatherUnknown makes one line of the figures that are not known, if there are
// several: what is known shall be seen.
func (a *calcAnswer) gatherUnknown() {
	var known []figureRow
	var unknown []string
	for _, row := range a.Figures {
		if row.Value == notKnown {
			unknown = append(unknown, row.Label)
		} else {
			known = append(known, row)
		}
	}
	if len(unknown) > 1 {
		a.Figures = append(known, figureRow{"Not known", strings.Join(unknown, "; "), ""})
	}
}

func unitOf(v *node, unit string) string {
	if v.scalar == nil {
		return ""
	}
	return unit
}

// isWide reports whether n does not fit into a row: it holds a sentence, or
// objects that are no intervals.
func isWide(n *node) bool {
	for _, key := range n.keys {
		if v := n.fields[key]; key == "sentence" || v.isObject() && !isInterval(v) {
			return true
		}
	}
	return false
}

// groupLabel names one of several results by its first value.
func groupLabel(label string, item *node) string {
	if len(item.keys) == 0 {
		return label
	}
	return label + ": " + cellText(item.fields[item.keys[0]])
}

// isInterval reports whether n is an estimate with its bounds and no more.
func isInterval(n *node) bool {
	if n.at("low") == nil || n.at("high") == nil || n.at("low").isObject() {
		return false
	}
	for _, key := range n.keys {
		if key != "low" && key != "high" && key != "value" && key != "best" {
			return false
		}
	}
	return true
}

// isRuns reports whether n is three results alike: low, best and high.
func isRuns(n *node) bool {
	return n.isObject() && slices.Equal(n.keys, []string{"low", "best", "high"}) && n.at("low").isObject() && n.at("best").isObject() && n.at("high").isObject()
}

// runsTable sets three results side by side.
func runsTable(label string, n *node) figureTable {
	t := figureTable{Label: label, Heads: []figureHead{{"Figure", "", false}, {"Low", "", true}, {"Best", "", true}, {"High", "", true}}}
	t.addRuns("", n.at("low"), n.at("best"), n.at("high"))
	return t
}

func (t *figureTable) addRuns(under string, low, best, high *node) {
	for _, key := range low.keys {
		words, unit := reckoner.Label(key)
		label := capital(words)
		if under != "" {
			label = under + ", " + words
		}
		if low.at(key).isObject() {
			t.addRuns(label, low.at(key), best.at(key), high.at(key))
			continue
		}
		if unit != "" {
			label += ", " + unit
		}
		t.Rows = append(t.Rows, []string{label, cellText(low.at(key)), cellText(best.at(key)), cellText(high.at(key))})
	}
}

// intervalText prints "1.05, from 0.3 to 1.8".
func intervalText(n *node) string {
	best := n.at("value")
	if best == nil {
		best = n.at("best")
	}
	if n.at("low").scalar == nil || n.at("high").scalar == nil {
		if best == nil || best.scalar == nil {
			return notKnown
		}
		return best.text()
	}
	bounds := n.at("low").text() + " to " + n.at("high").text()
	if best == nil || best.scalar == nil {
		return bounds
	}
	return best.text() + ", from " + bounds
}

func listText(n *node) string {
	if len(n.items) == 0 {
		return "none"
	}
	const most = 60
	var words []string
	for _, item := range n.items[:min(most, len(n.items))] {
		words = append(words, cellText(item))
	}
	if len(n.items) > most {
		words = append(words, "…")
	}
	return strings.Join(words, ", ")
}

// cellText prints any value in the room of one cell.
func cellText(n *node) string {
	switch {
	case n == nil:
		return ""
	case n.isObject() && isInterval(n):
		return intervalText(n)
	case n.isObject():
		var parts []string
		for _, key := range n.keys {
			if v := n.fields[key]; v.isObject() || v.isList || v.scalar != nil {
				words, _ := reckoner.Label(key)
				parts = append(parts, words+" "+cellText(v))
			}
		}
		return strings.Join(parts, ", ")
	case n.isList:
		return listText(n)
	}
	return n.text()
}

func tableOf(label string, list *node) figureTable {
	t := figureTable{Label: label}
	first := list.items[0]
	for _, key := range first.keys {
		l, u := keyLabel(key)
		_, number := first.fields[key].scalar.(json.Number)
		t.Heads = append(t.Heads, figureHead{l, u, number})
	}
	for _, item := range list.items {
		row := make([]string, len(first.keys))
		for i, key := range first.keys {
			row[i] = cellText(item.at(key))
		}
		t.Rows = append(t.Rows, row)
	}
	return t
}

// Loose is what is wrong with no field of the form.
func (p *calcPage) Loose() *lab.Problem {
	for _, c := range p.Fields {
		if c.Bad != nil {
			return nil
		}
	}
	return p.Form.Wrong()
}
