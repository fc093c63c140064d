package trialstat

import (
	"pinset/internal/figure"
)

// confidence is the level of every interval that is printed.
const confidence = 0.95

// leastJars is the number of jars an arm needs for a verdict: with 3 against 3
// the smallest p that the lot itself can give is 0.10, with 4 against 4 it is
// 0.029 (counted: 2/20 and 2/70).
const leastJars = 4

// CompareInput is a table of jars, one row each, and what is asked of it.
type CompareInput struct {
	// ArmsDifferIn says what the arms differ in on purpose: any of recipe,
	// culture, container, treatment.
	ArmsDifferIn []string     `json:"arms_differ_in,omitempty" jsonschema:"what the arms differ in on purpose; left out, no factor is excused"`
	Rows         []CompareRow `json:"rows" jsonschema:"one row for each jar, lost ones too"`
	Control      Label        `json:"control,omitempty" jsonschema:"arm that the others are set against; left out, every pair is compared"`
	MattersPct   *float64     `json:"matters_pct,omitempty" jsonschema:"smallest difference that matters, % of the control; 20 if left out"`
	Primary      string       `json:"primary,omitempty" jsonschema:"jars that the verdict counts: all inoculated (if left out, lost and barren at 0 g), or picked ones only"`
	Seed         *uint64      `json:"seed,omitempty" jsonschema:"number that the jars were placed by lot with; left out, the answer says so"`
}

// CompareRow is one jar. What is not recorded is left empty.
type CompareRow struct {
	Jar       Label    `json:"jar" jsonschema:"number or name of the jar"`
	Arm       Label    `json:"arm" jsonschema:"arm that the jar belongs to"`
	Fate      string   `json:"fate" jsonschema:"what became of the jar"`
	Value     *float64 `json:"value,omitempty" jsonschema:"grams from this jar over all flushes; left out for a lost or growing one"`
	Cook      Label    `json:"cook,omitempty" jsonschema:"cook that the jar was in"`
	Layer     Label    `json:"layer,omitempty" jsonschema:"layer of the cooker"`
	Culture   Label    `json:"culture,omitempty" jsonschema:"culture it was inoculated with"`
	LC        Label    `json:"lc,omitempty" jsonschema:"jar of liquid culture that the dose came from"`
	Container Label    `json:"container,omitempty" jsonschema:"kind of container"`
	Recipe    Label    `json:"recipe,omitempty" jsonschema:"recipe of the substrate"`
	Treatment Label    `json:"treatment,omitempty" jsonschema:"what was done to this jar and not to others"`
	MixMade   Label    `json:"mix_made,omitempty" jsonschema:"which making of the mix"`
	Shelf     Label    `json:"shelf,omitempty" jsonschema:"shelf it stood on"`
	Room      Label    `json:"room,omitempty" jsonschema:"room it stood in"`
	Day       Label    `json:"day,omitempty" jsonschema:"day of inoculation"`
	Person    Label    `json:"person,omitempty" jsonschema:"who inoculated it"`
}

// Ending is what a comparison comes to.
type Ending string

// The endings, in the order in which they are looked for.
const (
	Running      Ending = "running"        // jars are still growing
	NoComparison Ending = "no_comparison"  // the design or the data do not allow one
	Supported    Ending = "supported"      // 0 lies outside the interval
	Alike        Ending = "alike"          // the interval lies within what does not matter
	NotToldApart Ending = "not_told_apart" // neither
)

// The two ways to count jars.
const (
	PerInoculated = "inoculated" // lost and barren jars count 0 g
	PerPicked     = "picked"
)

// CompareResult is the analysis of one table. Arms are sorted by name.
type CompareResult struct {
	Arms        []ArmSummary `json:"arms"`
	Comparisons []Comparison `json:"comparisons"`
	// Efficiency is the share of information on the first comparison that is
	// left within the same cook and layer: 1 when both arms lie over them alike,
	// 0 when they can not be told from them.
	Efficiency    float64    `json:"efficiency"`
	Aliased       []string   `json:"aliased"`        // factors that moved fully with the arms of some comparison
	PartlyAliased []Aliasing `json:"partly_aliased"` // efficiency under 0.75
	BlockBy       []string   `json:"block_by"`       // factors within which jars are compared
	Unit          string     `json:"unit"`
	Ending        Ending     `json:"ending"`   // of the first comparison
	Sentence      string     `json:"sentence"` // of the first comparison
	// JarsToSettle is how many jars an arm would need for 80 % chance to notice a
	// difference of matters_pct; nil if the spread or the mean is not known.
	JarsToSettle *int     `json:"jars_to_settle"`
	MattersPct   float64  `json:"matters_pct"`
	Differ       []string `json:"arms_differ_in"`
	Seed         *uint64  `json:"seed"`
}

// ArmSummary counts and describes the jars of one arm. Growing jars are in no
// mean.
type ArmSummary struct {
	Name           string   `json:"name"`
	Inoculated     int      `json:"inoculated"`
	Lost           int      `json:"lost"`
	Barren         int      `json:"barren"`
	Picked         int      `json:"picked"` // spent jars among them
	Growing        int      `json:"growing"`
	MeanInoculated *float64 `json:"mean_inoculated"` // g, lost and barren jars as 0
	MeanPicked     *float64 `json:"mean_picked"`     // g
	SD             *float64 `json:"sd"`              // g, between jars, of the primary
	CVPct          *float64 `json:"cv_pct"`          // of the primary
	SDPicked       *float64 `json:"sd_picked"`       // g
	CVPickedPct    *float64 `json:"cv_picked_pct"`
}

// Comparison is one arm against another. Figures that can not be said are nil.
type Comparison struct {
	Arms       []string   `json:"arms"` // [b, control]: differences are b less control
	Per        string     `json:"per"`  // inoculated or picked
	Difference Difference `json:"difference"`
	Percent    Interval   `json:"percent"` // by Fieller, of the control's mean
	Ratio      *Ratio     `json:"ratio"`   // of geometric means of picked jars; nil where a zero is in
	Also       *Beside    `json:"also"`    // the other way to count jars; decides nothing
	ByCook     *OverCooks `json:"by_cook"` // what a new cook may show; decides nothing
	// CommonSpread is Dunnett's interval against the control, with one spread for
	// all arms; nil with places, fewer than 6 jars in an arm, or no control. It
	// decides nothing.
	CommonSpread *CommonSpread `json:"common_spread"`
	Fruited      *ShareApart   `json:"fruited"` // share of the jars inoculated that were picked; decides nothing
	Kept         *ShareApart   `json:"kept"`    // share that was not lost; decides nothing
	Efficiency   float64       `json:"efficiency"`
	Aliased      []string      `json:"aliased"`
	Ending       Ending        `json:"ending"`
	Sentence     string        `json:"sentence"`
}

// CommonSpread is the joint 95 % interval of a difference in grams, and its
// adjusted p, with one spread for all arms.
type CommonSpread struct {
	Low  float64 `json:"low"`
	High float64 `json:"high"`
	P    float64 `json:"p"`
}

// Difference is a difference of means in grams with its 95 % interval.
type Difference struct {
	Value *float64 `json:"value"`
	Low   *float64 `json:"low"`
	High  *float64 `json:"high"`
	Pct   *float64 `json:"pct"` // of the control's mean
	// PRandomisation is the share of the layouts that could have been drawn that
	// would set the arms at least as far apart.
	PRandomisation *float64 `json:"p_randomisation"`
	PWelch         *float64 `json:"p_welch"`
	// With several comparisons: the interval widened so that all of them hold
	// together with 95 % (Games and Howell for all pairs without places, Hasler and
	// Hothorn against a control, Bonferroni below 6 jars an arm and for all pairs
	// within places), and Holm's p. The ending rests on the interval.
	JointLow  *float64 `json:"joint_low,omitempty"`
	JointHigh *float64 `json:"joint_high,omitempty"`
	PHolm     *float64 `json:"p_holm,omitempty"`
}

// Interval is an estimate with its 95 % interval.
type Interval struct {
	Value *float64 `json:"value"`
	Low   *float64 `json:"low"`
	High  *float64 `json:"high"`
}

// Ratio is a ratio with its 95 % interval and the p of a ratio of 1.
type Ratio struct {
	Interval
	P *float64 `json:"p"`
}

// Beside is a comparison printed beside the one that decides.
type Beside struct {
	Per        string     `json:"per"`
	Difference Difference `json:"difference"`
	Percent    Interval   `json:"percent"`
}

// OverCooks is the mean of one difference for each cook, in grams, with its 95 %
// interval over cooks.
type OverCooks struct {
	Cooks int `json:"cooks"` // that hold both arms, 3 or more
	Interval
}

// Compare judges a table of jars.
//
// The difference in grams per jar is estimated within the same cook and layer
// where these are recorded, each arm with a spread of its own ("blocked
// Welch"): least squares with the HC2 variance and Satterthwaite's degrees of
// freedom. The one 95 % interval of the primary decides the ending; the
// randomisation p, the ratio of picked jars and the other way to count jars are
// printed beside it and decide nothing. With several comparisons that interval
// is widened for all of them.
//
// No figure stands for jars that can not carry it: arms that moved fully with a
// recorded factor, arms of fewer than 4 jars, picked jars without a weight, and
// jars without any spread end in no_comparison. Without spread there is no
// interval, however far apart the arms lie: equal weights to the last digit are
// a total divided, not jars weighed.
//
// The error is a *figure.Fault that names the row.
//
// Source: the blocked Welch, see stats.BlockFit; percentages, Fieller (1954);
// the randomisation p, Pitman (1937) inside blocks; several comparisons, Holm,
// Scand. J. Statist. 6 (1979) 65-70, and Games and Howell, J. Educ. Stat. 1 (1976)
// 113-125.
func Compare(in CompareInput) (figure.Answer[CompareResult], error) {
	return CompareWith(in, nil)
}

// CompareWith is Compare with a randomisation p that runs the very draw of the
// allotment again, if there are two arms. redraw returns, for draw rep = 0, 1,
// …, the arm of each row of in.Rows, as an index into the arms sorted by name
// (the order of the result); see Redraw. Without it, and for each pair of three
// or more arms, the two arms are dealt out anew within the same cook and layer.
func CompareWith(in CompareInput, redraw func(rep int) []int) (figure.Answer[CompareResult], error) {
	c, err := newComparing(in, redraw)
	if err != nil {
		return figure.Answer[CompareResult]{}, err
	}
	c.alias()
	c.fit()
	c.summarise()
	c.settle()
	c.compareAll()
	c.caution()
	return figure.Answer[CompareResult]{Result: c.result, Cautions: c.cautions, Working: c.working}, nil
}

// comparing is one analysis on its way.
type comparing struct {
	*sheet
	columns  []column
	matters  float64
	primary  string
	redraw   func(rep int) []int
	main     scale // the primary
	beside   scale // the other way to count
	aliasing []pairAliasing
	blockBy  []factor
	blocks   []int // by row, nil if none
	result   CompareResult
	cautions []figure.Caution
	working  []figure.Step
	seed     uint64 // of the deals of a randomisation p
	how      string // how that p came about
	draws    int    // runs of the draw, or deals
	unlike   bool   // the draw is of another table
}

// scale is one way to count jars: which rows take part, and their grams.
type scale struct {
	per   string
	rows  []int
	grams []float64
}

func newComparing(in CompareInput, redraw func(rep int) []int) (*comparing, error) {
	s, err := newSheet(in.Rows, in.ArmsDifferIn, in.Control, true)
	if err != nil {
		return nil, err
	}
	c := &comparing{sheet: s, matters: 20, primary: in.Primary, redraw: redraw, cautions: []figure.Caution{}, working: []figure.Step{}}
	if in.Seed != nil {
		c.seed = *in.Seed
	}
	if in.MattersPct != nil {
		c.matters = *in.MattersPct
	}
	if !(c.matters > 0 && c.matters <= 1000) {
		return nil, figure.Faultf("matters_pct", "write the smallest difference that matters to you, such as 20", "%s %% is not between 0 and 1000 %%", plain(c.matters))
	}
	switch in.Primary {
	case "":
		c.primary = PerInoculated
	case PerInoculated, PerPicked:
	default:
		return nil, figure.Faultf("primary", "write inoculated or picked", "jars can not be counted per %q", brief(in.Primary))
	}
	c.main, c.beside = s.scale(PerInoculated), s.scale(PerPicked)
	if c.primary == PerPicked {
		c.main, c.beside = c.beside, c.main
	}
	for _, f := range factors {
		c.columns = append(c.columns, s.column(f))
	}
	c.result = CompareResult{
		Aliased: []string{}, PartlyAliased: []Aliasing{}, BlockBy: []string{}, Comparisons: []Comparison{},
		Unit: "g per jar " + c.primary, MattersPct: c.matters, Differ: append([]string{}, s.differ...), Seed: in.Seed,
	}
	return c, nil
}

// scale collects the jars that count and have a figure: all that are closed,
// or all picked. A picked jar without a weight has none.
func (s *sheet) scale(per string) scale {
	out := scale{per: per}
	for i, f := range s.fates {
		v := s.rows[i].Value
		switch {
		case f == picked && v != nil:
			out.rows, out.grams = append(out.rows, i), append(out.grams, *v)
		case (f == lost || f == barren) && per == PerInoculated:
			out.rows, out.grams = append(out.rows, i), append(out.grams, 0)
		}
	}
	return out
}

// of returns the rows and grams of the jars of two arms, and which of the two:
// 0 for the second (the control), 1 for the first.
func (s *sheet) of(x scale, pair [2]int) (rows []int, grams []float64, arm []int) {
	for k, i := range x.rows {
		switch s.arm[i] {
		case pair[1]:
			arm = append(arm, 0)
		case pair[0]:
			arm = append(arm, 1)
		default:
			continue
		}
		rows, grams = append(rows, i), append(grams, x.grams[k])
	}
	return rows, grams, arm
}
