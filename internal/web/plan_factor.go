package web

import (
	"net/url"
	"slices"
	"strconv"
	"strings"

	"pinset/internal/app"
	"pinset/internal/lab"
)

// crossOf is how many factors the form crosses, 0 where arms are a plain list.
func crossOf(f form) int { return min(lab.MaxFactors, max(0, f.int("cross", 0))) }

// readFactors reads the factors of the form.
func readFactors(f form) []app.PlanFactor {
	var out []app.PlanFactor
	for k := range crossOf(f) {
		key := factorKey(k)
		out = append(out, app.PlanFactor{
			Name: f.Get(key), Is: f.Get(key + "_is"), On: f.Get(key + "_on"), Levels: listOf(f.Get(key + "_levels")),
		})
	}
	return out
}

func factorKey(k int) string { return "factor" + strconv.Itoa(k+1) }

// listOf reads "16 mm, 25 mm".
func listOf(typed string) []string {
	var out []string
	for part := range strings.FieldsFuncSeq(typed, func(r rune) bool { return r == ',' || r == ';' || r == '\n' }) {
		if part = strings.TrimSpace(part); part != "" {
			out = append(out, part)
		}
	}
	return out
}

// readOver reads "person: AB, CD; culture lot: L1, L2".
func readOver(typed string) ([]app.PlanOver, error) {
	var out []app.PlanOver
	for part := range strings.FieldsFuncSeq(typed, func(r rune) bool { return r == ';' || r == '\n' }) {
		is, levels, ok := strings.Cut(part, ":")
		if strings.TrimSpace(part) == "" {
			continue
		}
		if !ok {
			return nil, lab.Invalidf("over", "write it like person: AB, CD", "%q names nothing to spread over", clipped(part, 40))
		}
		out = append(out, app.PlanOver{Is: is, Levels: listOf(levels)})
	}
	return out, nil
}

// crossArms names the arms that the typed levels make, as far as they can be told;
// none while a factor has no levels.
func crossArms(factors []app.PlanFactor) [][]string {
	arms := [][]string{nil}
	for k, x := range factors {
		f, err := lab.NewTrialFactor(factorKey(k), x.Name, x.Is, x.On, x.Unit, x.Levels)
		if err != nil || len(arms)*len(f.Levels) > lab.MaxArms {
			return nil
		}
		var wider [][]string
		for _, a := range arms {
			for _, l := range f.Levels {
				wider = append(wider, append(slices.Clone(a), l))
			}
		}
		arms = wider
	}
	return arms
}

// sharedRecord reports whether two factors of the form are of one record, so that
// each arm must name it.
func sharedRecord(factors []app.PlanFactor, is lab.Factor) bool {
	n := 0
	for _, f := range factors {
		if f.Is == string(is) {
			n++
		}
	}
	return n > 1
}

// readCrossed reads the factors of a plan, and what was typed of their arms.
func readCrossed(f form, in *app.PlanInput) error {
	in.Factors = readFactors(f)
	levels := crossArms(in.Factors)
	for i, at := range levels {
		arm, err := readArm(f, i)
		if err != nil {
			return err
		}
		arm.Levels, arm.Treatment = at, ""
		if strings.TrimSpace(f.Get("arm"+strconv.Itoa(i+1)+"_name")) == "" {
			arm.Name = ""
		}
		in.Arms = append(in.Arms, arm)
	}
	if usual := f.int("usual", 0); usual >= 1 && usual <= len(levels) {
		in.Control = firstNonBlank(in.Arms[usual-1].Name, strings.Join(levels[usual-1], ", "))
	}
	return nil
}

func firstNonBlank(a, b string) string {
	if strings.TrimSpace(a) != "" {
		return a
	}
	return b
}

// crossValues are the fields of the form for factors that are there already.
func crossValues(v url.Values, in app.PlanInput) {
	if len(in.Factors) == 0 {
		return
	}
	v.Set("cross", strconv.Itoa(len(in.Factors)))
	v.Del("differ")
	for k, x := range in.Factors {
		key := factorKey(k)
		v.Set(key, x.Name)
		v.Set(key+"_is", x.Is)
		v.Set(key+"_on", x.On)
		v.Set(key+"_levels", strings.Join(x.Levels, ", "))
	}
}

// overText writes what arms are spread over as it is typed.
func overText(over []app.PlanOver) string {
	var out []string
	for _, o := range over {
		out = append(out, o.Is+": "+strings.Join(o.Levels, ", "))
	}
	return strings.Join(out, "; ")
}

// factorForm is one factor of the form.
type factorForm struct {
	Number               int
	Name, Is, On, Levels field
}

var (
	factorHints = []string{"Such as broth.", "Such as depth.", "Such as hold."}
	levelHints  = []string{"Two or more, such as malt, potato. A recipe, culture or container goes by its name.", "Such as 16 mm, 25 mm. Numbers are doses.", "Such as 60 min, 90 min."}
	onLabels    = map[lab.Unit]string{lab.OnJar: "each jar", lab.OnCook: "a whole cook", lab.OnShelf: "a whole shelf", lab.OnMaking: "a whole making of the mix"}
)

// factorForms are the fields of the factors.
func factorForms(f form) []factorForm {
	var out []factorForm
	for k := range crossOf(f) {
		key := factorKey(k)
		x := factorForm{
			Number: k + 1,
			Name:   f.Field(key, "Called").Needed().WithHint(factorHints[k]),
			Levels: f.Field(key+"_levels", "Its levels").Needed().WithHint(levelHints[k]),
			Is:     f.Field(key+"_is", "Told apart by"),
			On:     f.Field(key+"_on", "Set on"),
		}
		for _, is := range lab.Factors {
			label := "the " + string(is)
			if is == lab.ByTreatment {
				label = "what is done"
			}
			x.Is.Options = append(x.Is.Options, choice{string(is), label, f.Is(key+"_is", string(is))})
		}
		for _, on := range lab.Units {
			x.On.Options = append(x.On.Options, choice{string(on), onLabels[on], f.Is(key+"_on", string(on))})
		}
		out = append(out, x)
	}
	return out
}
