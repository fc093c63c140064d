package trialstat

import (
	"slices"

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
	Rows         []CompareRow `json:"rows,omitempty" jsonschema:"one row for each jar, lost ones too"`
	Arms         []ArmFigures `json:"arms,omitempty" jsonschema:"arms known by mean and spread, or by totals, in place of jars"`
	Control      Label        `json:"control,omitempty" jsonschema:"arm that the others are set against; left out, every pair is compared"`
	MattersPct   *float64     `json:"matters_pct,omitempty" jsonschema:"smallest difference that matters, % of the control; 20 if left out"`
	Primary      string       `json:"primary,omitempty" jsonschema:"what decides; left out, grams per jar inoculated, lost and barren ones at 0 g"`
	Unit         string       `json:"unit,omitempty" jsonschema:"what the arms are set on as a whole; left out, the jar, or the cook or shelf if each holds one arm only"`
	Within       []string     `json:"within,omitempty" jsonschema:"factors within which jars are compared; left out, cook and layer"`
	// Factors are those of a crossing, in the order of the columns level1 to level3.
	Factors []CompareFactor `json:"factors,omitempty" jsonschema:"things that the arms cross, for the columns level1 to level3; left out, they are called by the columns"`

	crossing bool    // the arms are the levels of one factor of a crossing
	Seed     *uint64 `json:"seed,omitempty" jsonschema:"number that the jars were placed by lot with; left out, the answer says so"`
}

// CompareRow is one jar. What is not recorded is left empty.
type CompareRow struct {
	Jar       Label    `json:"jar" jsonschema:"number or name of the jar"`
	Arm       Label    `json:"arm,omitempty" jsonschema:"arm that the jar belongs to; may be left out with levels or a dose"`
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
	Count     *float64 `json:"count,omitempty" jsonschema:"pins or fruit bodies counted on it"`
	Score     *float64 `json:"score,omitempty" jsonschema:"ordered score of it, such as colour from 0 to 4"`
	Dose      *float64 `json:"dose,omitempty" jsonschema:"dose of its arm, of a ladder of three or more"`
	Level1    Label    `json:"level1,omitempty" jsonschema:"level of the first factor of a crossing; the arm may then be left out"`
	Level2    Label    `json:"level2,omitempty" jsonschema:"level of the second factor"`
	Level3    Label    `json:"level3,omitempty" jsonschema:"level of the third factor"`

	others Label // levels of the other factors while one of a crossing is judged
}

// CompareFactor is one thing that the arms cross.
type CompareFactor struct {
	Name Label  `json:"name" jsonschema:"such as broth"`
	On   string `json:"on,omitempty" jsonschema:"what is set to a level as a whole; the jar if left out"`
	Unit string `json:"unit,omitempty" jsonschema:"of its doses, such as mm"`
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
	JarsToSettle *int       `json:"jars_to_settle"`
	MattersPct   float64    `json:"matters_pct"`
	Differ       []string   `json:"arms_differ_in"`
	Seed         *uint64    `json:"seed"`
	Counted      *UnitCount `json:"counted"` // what was counted in place of jars; nil for jars
	// Figures reports that arms were known by their figures only, not by jars.
	Figures bool `json:"figures_only"`
	// Trends are the ladders: the single one of a trial of doses, which then decides, or
	// one for each factor of a crossing with three doses or more.
	Trends       []Trend       `json:"trends"`
	Interactions []Interaction `json:"interactions"` // of a crossing; they decide nothing
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
	Figures        int      `json:"figures"`         // of the primary: jars, or units counted in their place
	Mean           *float64 `json:"mean"`            // of the primary, in the unit of the result
	SD             *float64 `json:"sd"`              // of the primary, between jars or the units counted
	CVPct          *float64 `json:"cv_pct"`          // of the primary
	SDPicked       *float64 `json:"sd_picked"`       // g
	CVPickedPct    *float64 `json:"cv_picked_pct"`
}

// Comparison is one arm against another. Figures that can not be said are nil.
type Comparison struct {
	Arms []string `json:"arms"` // [b, control]: differences are b less control
	Per  string   `json:"per"`  // the primary
	// Factor is the factor of a crossing whose levels Arms are, "" for whole arms.
	Factor     string     `json:"factor,omitempty"`
	Difference Difference `json:"difference"` // in the unit of the result; nil for scores
	// Above is how many of 100 pairs of jars, one of either arm, the first is scored
	// above the second, ties as half; nil unless scores decide.
	Above     *Above     `json:"above"`
	Shift     *Shift     `json:"shift"`     // the shifts that the lot does not rule out; nil within places, and for shares and scores
	Bootstrap *Interval  `json:"bootstrap"` // from 15 jars an arm on, that no place divides; decides nothing
	Counts    *CountRate `json:"counts"`    // nil unless counts decide; decides nothing
	Percent   Interval   `json:"percent"`   // by Fieller, of the control's mean
	Ratio     *Ratio     `json:"ratio"`     // of geometric means of picked jars; nil where a zero is in
	Also      *Beside    `json:"also"`      // the other way to count jars; decides nothing
	// ByCook is the comparison judged from cook to cook. It decides where it is there:
	// where three cooks or more hold both arms. Difference is then that within these
	// cooks.
	ByCook   *OverCooks  `json:"by_cook"`
	EachCook []CookApart `json:"each_cook"` // for two cooks or more
	// CommonSpread is Dunnett's interval against the control, with one spread for
	// all arms; nil with places, fewer than 6 jars in an arm, or no control. It
	// decides nothing.
	CommonSpread *CommonSpread `json:"common_spread"`
	// WithinPlaces is a difference of shares within the same places, in points; it
	// decides nothing.
	WithinPlaces *Interval   `json:"within_places"`
	Fruited      *ShareApart `json:"fruited"` // share of the jars inoculated that were picked; decides nothing
	Kept         *ShareApart `json:"kept"`    // share that was not lost; decides nothing
	Efficiency   float64     `json:"efficiency"`
	Aliased      []string    `json:"aliased"`
	Ending       Ending      `json:"ending"`
	Sentence     string      `json:"sentence"`
}

// CommonSpread is the joint 95 % interval of a difference in grams, and its
// adjusted p, with one spread for all arms.
type CommonSpread struct {
	Low  float64 `json:"low"`
	High float64 `json:"high"`
	P    float64 `json:"p"`
}

// Difference is a difference of means with its 95 % interval, in grams, counts or
// points of a hundred jars.
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

// Decides is the interval that the ending rests on: from cook to cook where that is
// known, widened where several comparisons are made; of scores, how many of 100 pairs
// the first arm leads.
func (x Comparison) Decides() Interval {
	d := x.Difference
	out := Interval{d.Value, d.Low, d.High}
	jointLow, jointHigh := d.JointLow, d.JointHigh
	switch {
	case x.Above != nil:
		out, jointLow, jointHigh = x.Above.Interval, x.Above.JointLow, x.Above.JointHigh
	case x.ByCook != nil:
		return x.ByCook.Decides()
	}
	if jointLow != nil && jointHigh != nil {
		out.Low, out.High = jointLow, jointHigh
	}
	return out
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

// Compare judges a table of jars.
//
// The difference in grams (or counts) per jar is estimated within the same cook and
// layer where these are recorded, their effects added up, each arm with a spread of
// its own ("blocked Welch"): least squares with the HC2 variance and Satterthwaite's
// degrees of freedom. Shares are compared by Newcombe's interval, scores by how often
// one lies above the other. Where arms are set on whole cooks, shelves or makings,
// their means are compared. Arms of doses are a ladder, whose line decides; arms that
// cross several factors are judged factor by factor. Where three cooks or more hold both
// arms, grams and counts are judged from cook to cook, by one difference for each cook or
// a model in which cooks vary at random. The one 95 % interval of the primary decides the
// ending; the randomisation p, the ratio of picked jars and the other way to count jars
// are printed beside it and decide nothing. With several comparisons that interval
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
	if len(in.Arms) > 0 {
		return compareSummaries(in)
	}
	in, crossed, err := in.filled()
	if err != nil {
		return figure.Answer[CompareResult]{}, err
	}
	if crossed > 1 {
		return compareCrossing(in, crossed)
	}
	c, err := judged(in, redraw)
	if err != nil {
		return figure.Answer[CompareResult]{}, err
	}
	return c.answer(), nil
}

// judged judges one table of arms.
func judged(in CompareInput, redraw func(rep int) []int) (*comparing, error) {
	c, err := newComparing(in, redraw)
	if err != nil {
		return nil, err
	}
	c.judge()
	return c, nil
}

func (c *comparing) judge() {
	c.alias()
	c.fit()
	c.summarise()
	c.settle()
	c.compareAll()
	c.climb()
	c.caution()
}

func (c *comparing) answer() figure.Answer[CompareResult] {
	return figure.Answer[CompareResult]{Result: c.result, Cautions: c.cautions, Working: c.working}
}

// comparing is one analysis on its way.
type comparing struct {
	*sheet
	jars     *sheet // one row a jar; the sheet itself unless whole units are compared
	unit     unit
	columns  []column
	inside   []string // factors within which jars are compared
	matters  float64
	outcome  outcome
	primary  string
	crossing bool      // of one factor of a crossing
	dose     []float64 // by arm, nil unless the arms are a ladder
	doseUnit string
	redraw   func(rep int) []int
	main     scale // the primary
	beside   scale // the other way to count
	aliasing []pairAliasing
	blockBy  []factor
	blocks   []int // by row, nil if none
	result   CompareResult
	cautions []figure.Caution
	working  []figure.Step
	seed     uint64    // of the deals of a randomisation p
	how      string    // how that p came about
	draws    int       // runs of the draw, or deals
	unlike   bool      // the draw is of another table
	apart    *cookwise // nil until it is asked for
}

// defaultWithin are the factors within which jars are compared.
var defaultWithin = []string{factorCook, factorLayer}

func newComparing(in CompareInput, redraw func(rep int) []int) (*comparing, error) {
	s, err := newSheet(in.Rows, in.ArmsDifferIn, in.Control, true)
	if err != nil {
		return nil, err
	}
	c := &comparing{sheet: s, jars: s, unit: aJar, inside: defaultWithin, crossing: in.crossing, matters: 20, redraw: redraw, cautions: []figure.Caution{}, working: []figure.Step{}}
	if in.Seed != nil {
		c.seed = *in.Seed
	}
	if err := c.ask(in); err != nil {
		return nil, err
	}
	if c.dose, err = s.doses(); err != nil {
		return nil, err
	}
	if len(in.Factors) > 0 {
		c.doseUnit = in.Factors[0].Unit
	}
	if c.unit, err = s.unitOf(in.Unit); err != nil {
		return nil, err
	}
	if c.unit.factor != "" {
		if c.sheet, err = s.byUnit(c.unit); err != nil {
			return nil, err
		}
		c.redraw = nil
	}
	c.main, c.beside = c.scale(c.primary), c.scale(besideOf(c.primary))
	for _, f := range factors {
		c.columns = append(c.columns, c.column(f))
	}
	c.result = CompareResult{
		Aliased: []string{}, PartlyAliased: []Aliasing{}, BlockBy: []string{}, Comparisons: []Comparison{}, Trends: []Trend{}, Interactions: []Interaction{},
		Unit: c.outcome.unit(), MattersPct: c.matters, Differ: append([]string{}, s.differ...), Seed: in.Seed, Counted: c.counted(in.Unit != ""),
	}
	return c, nil
}

// ask reads what is asked of the table.
func (c *comparing) ask(in CompareInput) (err error) {
	if in.MattersPct != nil {
		c.matters = *in.MattersPct
	}
	if !(c.matters > 0 && c.matters <= 1000) {
		return figure.Faultf("matters_pct", "write the smallest difference that matters to you, such as 20", "%s %% is not between 0 and 1000 %%", plain(c.matters))
	}
	if c.outcome, err = primaryOf(in.Primary); err != nil {
		return err
	}
	c.primary = string(c.outcome)
	for _, name := range in.Within {
		f, ok := factorNamed(name)
		if !ok || f.offers {
			return figure.Faultf("within", "write factors of place, such as cook, layer or shelf", "jars can not be compared within the same %q", brief(name))
		}
	}
	if len(in.Within) > 0 {
		c.inside = in.Within
	}
	c.inside = append(slices.Clone(c.inside), factorOther)
	return nil
}

// besideOf is the way to count jars that stands beside one.
func besideOf(primary string) string {
	if primary == PerInoculated {
		return PerPicked
	}
	return PerInoculated
}

// columnOf is the column of a factor.
func (c *comparing) columnOf(name string) column {
	return c.columns[slices.IndexFunc(c.columns, func(x column) bool { return x.name == name })]
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
