package app_test

import (
	"strings"
	"testing"

	"pinset/internal/app"
	"pinset/internal/lab"
)

// A label of a jar in a trial tells no arm: neither by its name nor by what
// differs.
func TestLabelsAreBlind(t *testing.T) {
	onBoth(t, func(b *bench) {
		b.supplies()
		k := b.cooked(plan("Blind"), 60)
		texts := func(arms bool) string {
			var out strings.Builder
			for _, l := range must(b.Labels(b.ctx, app.LabelInput{Kind: lab.JarLabel, Batch: k.Batch.String(), Arms: arms}))(b) {
				out.WriteString(l.Large + "|" + l.Over + "|" + l.Code + "|" + l.Day + "|" + strings.Join(l.About, "|") + "\n")
			}
			return out.String()
		}
		if got := texts(false); strings.Contains(got, "oats") || strings.Contains(got, "millet") || !strings.Contains(got, "never inoculate") {
			t.Errorf("blind labels say\n%s", got)
		}
		if got := texts(true); !strings.Contains(got, "oats") || !strings.Contains(got, "millet") {
			t.Errorf("labels with arms say\n%s", got)
		}
		plain := plan("Plain")
		plain.Question, plain.Differ, plain.Arms, plain.Control, plain.Recipe, plain.Shelves = "", nil, nil, "", "oats", nil
		p := must(b.KeepPlan(b.ctx, app.Act{}, plain))(b)
		l := must(b.Labels(b.ctx, app.LabelInput{Kind: lab.JarLabel, Batch: p.Batch.String(), Numbers: "2-3"}))(b)
		if len(l) != 2 || l[0].Large != "2" || l[0].About[0] != "oats" || l[0].Diameter != 80 || l[0].Path != "J/"+l[0].Code {
			t.Errorf("jars 2 and 3 of a plain batch are labelled %+v", l)
		}
	})
}

// Whatever a label holds, in whatever case and behind whatever host, leads to
// the thing that it is stuck on.
func TestLabelsLeadBack(t *testing.T) {
	onBoth(t, func(b *bench) {
		b.supplies()
		in := plan("Labels")
		in.Shelves = []app.PlanShelf{{Name: "Étage 1/2", Places: 14}}
		b.cooked(in, 60)
		_, _, err := b.AddLot(b.ctx, app.Act{}, app.NewLot{Ingredient: "oats", Bought: "25 kg"})
		b.ok(err)
		for kind, want := range map[lab.LabelKind]string{
			lab.JarLabel: "jar", lab.CultureLabel: "culture LC-1", lab.LotLabel: "ingredient oats", lab.ShelfLabel: "shelf Étage 1/2", lab.CookLabel: "cook 1",
		} {
			labels := must(b.Labels(b.ctx, app.LabelInput{Kind: kind, Batch: "B1"}))(b)
			if len(labels) == 0 {
				t.Fatalf("no labels of kind %s", kind)
			}
			for _, scanned := range []string{labels[0].Path, "HTTP://10.0.0.9/" + labels[0].Path, "https://old.example:1/" + strings.ToLower(labels[0].Path)} {
				found, err := b.Find(b.ctx, scanned)
				if got := found.Kind + " " + found.Name; err != nil || !strings.HasPrefix(got, want) {
					t.Errorf("%s leads to %q, %v, want %q", scanned, got, err, want)
				}
			}
		}
		for typed, want := range map[string]string{"i1": "ingredient", "étage 1/2": "shelf", "B/1": "batch"} {
			if found, err := b.Find(b.ctx, typed); err != nil || found.Kind != want {
				t.Errorf("%q leads to %+v, %v, want a %s", typed, found, err, want)
			}
		}
		for _, stray := range []string{"J/AAAAA", "C/NOBODY", "I/99", "K/99", "S/ATTIC", "B/99"} {
			if found, err := b.Find(b.ctx, stray); err == nil {
				t.Errorf("%s leads to %+v", stray, found)
			}
		}
		if _, err := b.Labels(b.ctx, app.LabelInput{Kind: lab.CultureLabel, Names: []string{"LC-9"}}); !lab.IsKind(err, lab.NotFound) {
			t.Errorf("a culture that is not there: %v", err)
		}
	})
}

func TestCheckLabels(t *testing.T) {
	onBoth(t, func(b *bench) {
		b.supplies()
		k := b.cooked(plan("Check"), 60)
		other := b.cooked(plan("Other"), 60)
		jars := must(b.BatchView(b.ctx, k.Batch.String(), 0))(b).Jars
		stray := must(b.BatchView(b.ctx, other.Batch.String(), 0))(b).Jars[0]
		found := ""
		for i, j := range jars[:len(jars)-1] {
			scan := []string{string(j.Code), "HTTP://10.0.0.1/J/" + string(j.Code), strings.ToLower(string(j.Code)), k.Batch.String() + "·" + lab.ShowNumbers([]int{j.Number}), lab.ShowNumbers([]int{j.Number})}[i%5]
			c := must(b.CheckLabels(b.ctx, k.Batch.String(), found, scan))(b)
			if c.Stranger || len(c.Found) != i+1 {
				t.Fatalf("scan %q: %q, %d found", scan, c.Says, len(c.Found))
			}
			found = lab.ShowNumbers(c.Found)
		}
		last := jars[len(jars)-1]
		c := must(b.CheckLabels(b.ctx, k.Batch.String(), found, string(jars[0].Code)))(b)
		if c.Whole() || len(c.Missing) != 1 || c.Missing[0] != last.Number || !strings.Contains(c.Says, "found before") {
			t.Errorf("one is left, one was scanned twice: %+v", c)
		}
		for _, scan := range []string{string(stray.Code), "ZZZZZ", "999", "nonsense"} {
			if c := must(b.CheckLabels(b.ctx, k.Batch.String(), found, scan))(b); !c.Stranger || c.Says == "" || len(c.Found) != len(jars)-1 {
				t.Errorf("scan of %q: %+v", scan, c)
			}
		}
		if c := must(b.CheckLabels(b.ctx, k.Batch.String(), found, string(last.Code)))(b); !c.Whole() || c.Of != len(jars) {
			t.Errorf("all were scanned: %+v", c)
		}
	})
}

func TestParseAddress(t *testing.T) {
	for typed, want := range map[string][2]string{
		"192.168.1.20:8470":          {"http://192.168.1.20:8470", "number"},
		" HTTP://Pinset.Home:8470/ ": {"http://pinset.home:8470", ""},
		"https://barn.example":       {"https://barn.example", ""},
		"http://barn.local:8470":     {"http://barn.local:8470", "local_name"},
		"169.254.3.4":                {"http://169.254.3.4", "no_router"},
		"http://[fd00::1]:8470":      {"http://[fd00::1]:8470", "number"},
	} {
		a, err := app.ParseAddress(typed)
		code := ""
		if len(a.Cautions) > 0 {
			code = a.Cautions[0].Code
		}
		if err != nil || a.Text != want[0] || code != want[1] {
			t.Errorf("ParseAddress(%q) = %q, %v, caution %q, want %q, %q", typed, a.Text, err, code, want[0], want[1])
		}
	}
	for _, typed := range []string{"", "http://", "127.0.0.1:8470", "http://localhost", "http://0.0.0.0:8470", "ftp://x", "http://a/b", "http://u:p@a", "http://a?x", "http://bärn.example", "http://a b", "http://[::1]"} {
		if a, err := app.ParseAddress(typed); err == nil {
			t.Errorf("ParseAddress(%q) = %q, want an error", typed, a.Text)
		}
	}
}
