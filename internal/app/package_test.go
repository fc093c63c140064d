package app_test

import (
	"bytes"
	"encoding/json"
	"fmt"
	"slices"
	"strings"
	"testing"

	"pinset/internal/app"
	"pinset/internal/datapackage"
	"pinset/internal/lab"
)

// weighed is a trial that was watched, and weighed to the end: millet gives 6 g
// more.
func weighed(b *bench, name string) app.Kept {
	b.t.Helper()
	return weighedBy(b, name, 6)
}

func weighedBy(b *bench, name string, more float64) app.Kept {
	b.t.Helper()
	k, arms := grown(b, name)
	lost := fmt.Sprintf("%s·%d", k.Batch, arms["oats"][2])
	b.clock.days(3)
	must(b.See(b.ctx, app.Act{}, app.SeeInput{Jars: lost, Fate: "lost", Reason: "fouled", Note: "not for strangers"}))(b)
	b.clock.days(30)
	var picks []app.TypedPick
	for arm, numbers := range arms {
		for i, n := range numbers {
			if arm != "oats" || i != 2 {
				grams := 8 + 0.4*float64(i)
				if arm == "millet" {
					grams += more
				}
				picks = append(picks, app.TypedPick{Jar: fmt.Sprintf("%s·%d", k.Batch, n), Grams: fmt.Sprintf("%.1f", grams)})
			}
		}
	}
	slices.SortFunc(picks, func(a, b app.TypedPick) int { return strings.Compare(a.Jar, b.Jar) })
	must(b.PickJars(b.ctx, app.Act{}, app.PickInput{Picks: picks, At: "today"}))(b)
	return k
}

// resealed is p with a file changed and all hashes made to fit: what somebody
// would do who knows how.
func resealed(t *testing.T, p *app.Package, file, from, to string) *app.Package {
	t.Helper()
	z, err := p.Zip()
	if err != nil {
		t.Fatal(err)
	}
	q, err := datapackage.FromZip(z)
	if err != nil {
		t.Fatal(err)
	}
	if !bytes.Contains(q.Files[file], []byte(from)) {
		t.Fatalf("%s does not hold %q", file, from)
	}
	q.Files[file] = bytes.Replace(q.Files[file], []byte(from), []byte(to), 1)
	if err := q.Seal(); err != nil {
		t.Fatal(err)
	}
	return q
}

// A package goes out, comes back, and is judged again from its files alone
// with the same answer.
func TestPackageIsVerified(t *testing.T) {
	onBoth(t, func(b *bench) {
		b.ok(b.SaveSettings(b.ctx, app.NewSettings{Zone: "Asia/Tokyo"})) // its calendar is not that of UTC
		weighed(b, "Sent")
		p := must(b.PackageTrial(b.ctx, "sent"))(b)
		zip := must(p.Zip())(b)
		again := must(datapackage.FromZip(zip))(b)
		v, err := app.Verify(again)
		b.ok(err)
		if v.Jars != 13 || v.Files != 7 || v.Figures < 200 || v.Furthest != 0 || v.From != "Test farm" {
			t.Errorf("verified %+v", v)
		}
		own := must(b.Verdict(b.ctx, "sent"))(b)
		if v.Sentence != own.Result.Sentence || v.Sentence == "" {
			t.Errorf("the package says %q, the farm %q", v.Sentence, own.Result.Sentence)
		}
		if second := must(must(b.PackageTrial(b.ctx, "sent"))(b).Zip())(b); !bytes.Equal(zip, second) {
			t.Error("the same trial twice is not the same package")
		}
		for _, private := range []string{"not for strangers", "Asia/Tokyo"} {
			for name, data := range p.Files {
				if bytes.Contains(data, []byte(private)) {
					t.Errorf("%s holds %q", name, private)
				}
			}
		}
	})
}

// What was altered is named, by file and row, whether or not the hashes were
// made to fit.
func TestAlteredPackagesAreRefused(t *testing.T) {
	onBoth(t, func(b *bench) {
		weighed(b, "Altered")
		p := must(b.PackageTrial(b.ctx, "altered"))(b)
		row := strings.Split(string(p.Files["picks.csv"]), "\n")[3]
		grams := row[strings.LastIndex(row, ",")+1:]
		jar := row[:strings.Index(row, ",")]
		better := strings.Replace(row, ","+grams, ",99", 1)
		refused := func(name string, q *app.Package, want ...string) {
			t.Helper()
			v, err := app.Verify(q)
			if !lab.IsKind(err, lab.Conflict) || len(v.Differences) == 0 {
				t.Errorf("%s: %v, want a Conflict", name, err)
				return
			}
			for _, w := range want {
				if !strings.Contains(err.Error(), w) {
					t.Errorf("%s: %v, want it to say %q", name, err, w)
				}
			}
		}
		fresh := func() *app.Package { return must(datapackage.FromZip(must(p.Zip())(b)))(b) }

		q := fresh()
		q.Files["picks.csv"] = bytes.Replace(q.Files["picks.csv"], []byte(row), []byte(better), 1)
		refused("a weight", q, "picks.csv, row 4", better)
		q = fresh()
		q.Files["picks.csv"] = bytes.Replace(q.Files["picks.csv"], []byte(row+"\n"), nil, 1)
		refused("a row less", q, "picks.csv, row 4: 1 row is missing")
		q = fresh()
		delete(q.Files, "seen.csv")
		refused("a file less", q, "seen.csv: the file is missing")

		refused("a weight, resealed", resealed(t, p, "picks.csv", row, better), "jar "+jar, ".value is "+grams, "99")
		refused("a fate, resealed", resealed(t, p, "jars.csv", ",lost,", ",picked,"), ".fate", "lost")
		refused("the data, resealed", resealed(t, p, "analysis.json", `"value": `+grams, `"value": 99`), "hash")
		refused("a sentence, resealed", resealed(t, p, "analysis.json", `"ending": "supported"`, `"ending": "alike"`), "ending")
		refused("the seed, resealed", resealed(t, p, "plan.json", `"seed": "40218"`, `"seed": "40219"`), "data.seed")
	})
}

// While a trial is blind its package tells the letters only.
func TestPackageOfABlindTrialTellsNoArm(t *testing.T) {
	onBoth(t, func(b *bench) {
		b.supplies()
		in := plan("Hidden")
		in.Blind, in.Question = true, "Which gives more?"
		k := b.cooked(in, 60)
		must(b.Inoculate(b.ctx, app.Act{}, app.InoculateInput{Batch: k.Batch.String()}))(b)
		b.clock.days(20)
		must(b.See(b.ctx, app.Act{}, app.SeeInput{Jars: jarsBut(b, k), Stage: "pins", Note: "the millet ones are taller"}))(b)
		must(b.See(b.ctx, app.Act{}, app.SeeInput{Jars: k.Batch.String() + "·2", Fate: "lost", Reason: "the millet fell over"}))(b)
		must(b.See(b.ctx, app.Act{}, app.SeeInput{Jars: k.Batch.String() + "·3", Fate: "lost", Reason: "Broken"}))(b)
		p := must(b.PackageTrial(b.ctx, "hidden"))(b)
		if jars := string(p.Files["jars.csv"]); !strings.Contains(jars, ",in own words") || !strings.Contains(jars, ",Broken") {
			t.Errorf("reasons of a blind trial: %s", jars)
		}
		for name, data := range p.Files {
			for _, word := range []string{"oats", "millet", "40218"} {
				if bytes.Contains(data, []byte(word)) {
					t.Errorf("%s of a blind trial holds %q", name, word)
				}
			}
		}
		if v, err := app.Verify(must(datapackage.FromZip(must(p.Zip())(b)))(b)); err != nil || !strings.Contains(v.Sentence, "blind") {
			t.Errorf("verified: %v, %q", err, v.Sentence)
		}
		must(b.OpenKey(b.ctx, app.Act{}, "hidden"))(b)
		open := must(b.PackageTrial(b.ctx, "hidden"))(b)
		if _, err := app.Verify(open); err != nil || !bytes.Contains(open.Files["jars.csv"], []byte("millet")) {
			t.Errorf("with its key open: %v", err)
		}
	})
}

// What can not be a package of ours is answered in plain words.
func TestPackagesThatAreNone(t *testing.T) {
	onBoth(t, func(b *bench) {
		weighed(b, "Odd")
		p := must(b.PackageTrial(b.ctx, "odd"))(b)
		for name, change := range map[string]struct{ file, from, to string }{
			"another program":  {"", `"program": "pinset"`, `"program": "other"`},
			"a later form":     {"", `"format": 1,`, `"format": 2,`},
			"a path":           {"", `"path": "seen.csv"`, `"path": "../seen.csv"`},
			"no number":        {"picks.csv", ",1,", ",first,"},
			"an unknown stage": {"seen.csv", "cover", "soup"},
			"a stranger":       {"seen.csv", "B1·", "B7·"},
			"a huge number":    {"picks.csv", ",1,", ",1,1e308"},
			"no JSON":          {"plan.json", "{", "["},
			"one arm":          {"plan.json", `"name": "millet"`, `"name": "oats"`},
		} {
			var err error
			if change.file == "" {
				raw := bytes.Replace(p.Raw(), []byte(change.from), []byte(change.to), 1)
				if bytes.Equal(raw, p.Raw()) {
					t.Fatalf("%s changes nothing", name)
				}
				_, err = datapackage.Read(folderOf(p, raw))
			} else {
				_, err = app.Verify(resealed(t, p, change.file, change.from, change.to))
			}
			if x, ok := lab.AsProblem(err); !ok || x.Mend == "" || strings.Contains(x.What, "invalid") {
				t.Errorf("%s: %v", name, err)
			}
		}
	})
}

// Seeds above 2⁵³ come back to the last digit.
func TestSeedsKeepTheirDigits(t *testing.T) {
	onBoth(t, func(b *bench) {
		b.supplies()
		in := plan("Seeded")
		in.Seed = "18446744073709551557"
		k := b.cooked(in, 60)
		must(b.Inoculate(b.ctx, app.Act{}, app.InoculateInput{Batch: k.Batch.String()}))(b)
		p := must(b.PackageTrial(b.ctx, "seeded"))(b)
		var plan struct {
			Draws []struct {
				Seed json.Number `json:"seed"`
			} `json:"draws"`
		}
		b.ok(json.Unmarshal(p.Files["plan.json"], &plan))
		if plan.Draws[0].Seed != "18446744073709551557" {
			t.Errorf("the seed is %s", plan.Draws[0].Seed)
		}
		_, err := app.Verify(p)
		b.ok(err)
	})
}
