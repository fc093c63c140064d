package trialstat

import (
	"fmt"

	"pinset/internal/calc/stats"
	"pinset/internal/figure"
)

// YieldsInput holds arms known by their totals only.
type YieldsInput struct {
	Arms []YieldArm `json:"arms" jsonschema:"totals of each arm; the first is the one the others are set against"`
}

// YieldArm is one arm in totals. Spent jars were picked before; they are not
// among picked.
type YieldArm struct {
	Name          Label    `json:"name" jsonschema:"name of the arm"`
	Inoculated    int      `json:"inoculated" jsonschema:"jars inoculated"`
	Discarded     int      `json:"discarded" jsonschema:"jars thrown out, 0 or more"`
	Barren        int      `json:"barren" jsonschema:"jars that grew but bore nothing"`
	Picked        int      `json:"picked" jsonschema:"jars picked, those already spent not among them"`
	Growing       int      `json:"growing,omitempty" jsonschema:"jars still growing; 0 if left out"`
	Spent         int      `json:"spent,omitempty" jsonschema:"jars picked before and done with; 0 if left out"`
	FreshG        *float64 `json:"fresh_g,omitempty" jsonschema:"fresh grams of all jars together; left out, no yield is told"`
	DrySubstrateG *float64 `json:"dry_substrate_g,omitempty" jsonschema:"dry substrate filled into all jars together; left out, no biological efficiency is told"`
}

// YieldsResult is what totals can say. Differences are of the second arm less
// the first, the order of Of.
type YieldsResult struct {
	Arms            []YieldSummary `json:"arms"`
	Of              []string       `json:"of"` // [second, first], empty for one arm
	ShareDifference Interval       `json:"share_difference"`
	GramRatio       *float64       `json:"gram_ratio"` // of grams per jar inoculated
	Pairs           []YieldPair    `json:"pairs"`      // every later arm against the first
	Ending          Ending         `json:"ending"`
	Sentence        string         `json:"sentence"`
}

// YieldSummary is one arm in rates. Figures that can not be said are nil.
type YieldSummary struct {
	Name           string   `json:"name"`
	GPerInoculated *float64 `json:"g_per_inoculated"`
	GPerPicked     *float64 `json:"g_per_picked"`
	PickedShare    Interval `json:"picked_share"` // of the jars inoculated, 0..1, Wilson
	BEPct          *float64 `json:"be_pct"`       // 100 · fresh / dry substrate
}

// YieldPair is one arm against the first.
type YieldPair struct {
	Of              []string `json:"of"`
	ShareDifference Interval `json:"share_difference"` // Newcombe
	GramRatio       *float64 `json:"gram_ratio"`
}

// highBE is a biological efficiency that is seldom right: wet substrate was
// taken for dry, or the fresh mass is of more jars.
const highBE = 200

// Yields says what totals can say: rates, the share of jars picked with its
// interval, biological efficiency, and the ratio of grams without an interval.
// Totals hold no spread between jars, so they support no verdict on grams,
// whatever their ratio.
//
// Biological efficiency is 100 · fresh mass picked / dry mass of substrate.
//
// The error is a *figure.Fault that names the arm.
//
// Source: Wilson (1927); Newcombe (1998), method 10; biological efficiency as
// in Royse, common in the trade.
func Yields(in YieldsInput) (figure.Answer[YieldsResult], error) {
	if n := len(in.Arms); n < 1 || n > maxJars {
		return figure.Answer[YieldsResult]{}, figure.Faultf("arms", "give one entry for each arm", "there are %d arms", n)
	}
	seen := map[string]bool{}
	for i, a := range in.Arms {
		if err := a.check(i, seen); err != nil {
			return figure.Answer[YieldsResult]{}, err
		}
	}
	out := figure.Answer[YieldsResult]{Cautions: []figure.Caution{}, Working: []figure.Step{}}
	r := &out.Result
	r.Ending, r.Of, r.Pairs = NoComparison, []string{}, []YieldPair{}
	for _, a := range in.Arms {
		r.Arms = append(r.Arms, a.summary())
		out.Cautions = append(out.Cautions, a.cautions()...)
		out.Working = append(out.Working, a.working(r.Arms[len(r.Arms)-1])...)
	}
	for k := 1; k < len(in.Arms); k++ {
		r.Pairs = append(r.Pairs, pairOf(in.Arms[k], in.Arms[0]))
	}
	if len(r.Pairs) > 0 {
		r.Of, r.ShareDifference, r.GramRatio = r.Pairs[0].Of, r.Pairs[0].ShareDifference, r.Pairs[0].GramRatio
	}
	r.Sentence = sayTotals(in.Arms)
	out.Cautions = append(out.Cautions, figure.Caution{
		Code: "totals_only", Title: "Totals only", Weight: figure.Care,
		Text: "A total hides how far the jars lie apart: the same totals fit jars that all agree and jars that overlap altogether. Weigh jars one by one.",
	})
	return out, nil
}

// name returns the arm's name, or its place where it has none.
func (a YieldArm) name(i int) string {
	if n := a.Name.Trimmed(); n != "" {
		return brief(n)
	}
	return "arm " + whole(i+1)
}

func (a YieldArm) check(i int, seen map[string]bool) error {
	field := func(key string) string { return fmt.Sprintf("arms[%d].%s", i, key) }
	name := a.name(i)
	if seen[a.Name.Trimmed()] && a.Name != "" {
		return figure.Faultf(field("name"), "give each arm a name of its own", "two arms are called %s", name)
	}
	seen[a.Name.Trimmed()] = true
	if a.Inoculated < 1 {
		return figure.Faultf(field("inoculated"), "write how many jars were inoculated, the lost ones too", "%s has %s inoculated", name, jars(a.Inoculated))
	}
	sum := 0
	for _, c := range []struct {
		key string
		n   int
	}{{"discarded", a.Discarded}, {"barren", a.Barren}, {"picked", a.Picked}, {"growing", a.Growing}, {"spent", a.Spent}} {
		if c.n < 0 {
			return figure.Faultf(field(c.key), "write 0 for none", "%s has %d jars %s", name, c.n, c.key)
		}
		if c.n > a.Inoculated-sum {
			return figure.Faultf(field(c.key), "give every jar one fate, and count all that were inoculated",
				"%s has %s inoculated, and more than that by their fates", name, jars(a.Inoculated))
		}
		sum += c.n
	}
	for _, c := range []struct {
		key string
		v   *float64
	}{{"fresh_g", a.FreshG}, {"dry_substrate_g", a.DrySubstrateG}} {
		if c.v != nil && !(*c.v >= 0 && *c.v <= maxGrams*maxJars) {
			return figure.Faultf(field(c.key), "write grams, 0 or more, or leave it out", "%s has %s g", name, plain(*c.v))
		}
	}
	if a.FreshG != nil && *a.FreshG > 0 && a.gave() == 0 {
		return figure.Faultf(field("fresh_g"), "count the jars that it came from as picked", "%s has %s g and no jar picked", name, plain(*a.FreshG))
	}
	return nil
}

// gave counts the jars that fresh mass came from.
func (a YieldArm) gave() int { return a.Picked + a.Spent }

func (a YieldArm) summary() YieldSummary {
	s := YieldSummary{Name: a.Name.Trimmed()}
	share := float64(a.gave()) / float64(a.Inoculated)
	low, high, err := stats.Wilson(a.gave(), a.Inoculated, confidence)
	if err == nil {
		s.PickedShare = Interval{maybe(share), maybe(low), maybe(high)}
	}
	if a.FreshG == nil {
		return s
	}
	s.GPerInoculated = maybe(*a.FreshG / float64(a.Inoculated))
	s.GPerPicked = maybe(*a.FreshG / float64(a.gave()))
	if a.DrySubstrateG != nil {
		s.BEPct = maybe(100 * *a.FreshG / *a.DrySubstrateG)
	}
	return s
}

func (a YieldArm) cautions() []figure.Caution {
	var out []figure.Caution
	name := brief(a.Name.Trimmed())
	add := func(weight figure.Weight, code, title, text string, args ...any) {
		out = append(out, figure.Caution{Code: code, Title: title, Text: fmt.Sprintf(text, args...), Weight: weight})
	}
	if a.Growing > 0 {
		add(figure.Care, "still_growing", "Not finished", "Of %s, %s still growing: its figures are so far, over all jars inoculated.", name, figure.Of(a.Growing, a.Inoculated, "jar", "is", "are"))
	}
	if rest := a.Inoculated - a.Discarded - a.Barren - a.gave() - a.Growing; rest > 0 {
		add(figure.Care, "unaccounted", "Jars without a fate", "%d of %s of %s have no fate. They count as inoculated and not picked; find out what became of them.", rest, jars(a.Inoculated), name)
	}
	if s := a.summary(); s.BEPct != nil && *s.BEPct > highBE {
		add(figure.Care, "be_high", "Very high efficiency", "%s has a biological efficiency of %s. Over %d %% is rare; check that the substrate is its dry mass, of all jars.", name, percent(*s.BEPct), highBE)
	}
	return out
}

func (a YieldArm) working(s YieldSummary) []figure.Step {
	name := brief(s.Name)
	out := []figure.Step{
		{Step: "share picked, " + name, Formula: fmt.Sprintf("%d/%d", a.gave(), a.Inoculated), Value: s.PickedShare.Value, Unit: "", Source: "interval: Wilson (1927)"},
	}
	if s.GPerInoculated != nil {
		out = append(out, figure.Step{
			Step: "per jar inoculated, " + name, Formula: fmt.Sprintf("%s g/%d", plain(*a.FreshG), a.Inoculated), Value: s.GPerInoculated, Unit: "g", Source: "",
		})
	}
	if s.BEPct != nil {
		out = append(out, figure.Step{
			Step: "biological efficiency, " + name, Formula: fmt.Sprintf("100·%s/%s", plain(*a.FreshG), plain(*a.DrySubstrateG)), Value: s.BEPct, Unit: "%", Source: "fresh mass over dry substrate",
		})
	}
	return out
}

// pairOf compares arm b with arm a in totals.
func pairOf(b, a YieldArm) YieldPair {
	p := YieldPair{Of: []string{b.Name.Trimmed(), a.Name.Trimmed()}}
	if d, low, high, err := stats.Newcombe(b.gave(), b.Inoculated, a.gave(), a.Inoculated, confidence); err == nil {
		p.ShareDifference = Interval{maybe(d), maybe(low), maybe(high)}
	}
	sb, sa := b.summary(), a.summary()
	if sb.GPerInoculated != nil && sa.GPerInoculated != nil {
		p.GramRatio = maybe(*sb.GPerInoculated / *sa.GPerInoculated)
	}
	return p
}

// sayTotals says in one sentence that totals support no verdict.
func sayTotals(arms []YieldArm) string {
	if len(arms) < 2 {
		return "One arm is not a comparison; a second one and the weight of every jar would make it one."
	}
	b, a := arms[1], arms[0]
	which := fmt.Sprintf("%s and %s", b.name(1), a.name(0))
	if len(arms) > 2 {
		which = fmt.Sprintf("these %d arms", len(arms))
	} else if a.FreshG != nil && b.FreshG != nil {
		which += fmt.Sprintf(" (%s g and %s g)", plain(*b.FreshG), plain(*a.FreshG))
	}
	return fmt.Sprintf("Totals can not show whether %s differ in grams, for the same totals fit jars that all agree and jars that overlap altogether; weigh jars one by one.", which)
}
