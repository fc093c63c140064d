package app_test

import (
	"bytes"
	"strings"
	"testing"
	"testing/fstest"

	"pinset/internal/app"
	"pinset/internal/datapackage"
	"pinset/internal/lab"
	"pinset/internal/store/sqldb"
	"pinset/internal/testfile"
)

// friend is another farm, with a trial of its own that was weighed to the end.
func friend(t testing.TB, name, trial string, more float64) (*bench, *app.Package) {
	t.Helper()
	s, err := sqldb.Open(t.Context(), testfile.New(t))
	if err != nil {
		t.Fatal(err)
	}
	b := newBench(t, s)
	b.ok(b.SaveSettings(b.ctx, app.NewSettings{Name: name}))
	weighedBy(b, trial, more)
	return b, must(b.PackageTrial(b.ctx, trial))(b)
}

// posted is a package as it comes out of its zip file.
func posted(b *bench, p *app.Package) *app.Package {
	b.t.Helper()
	return must(datapackage.FromZip(must(p.Zip())(b)))(b)
}

// A friend's package is taken in once, marked with where it is from, and makes
// nothing on the farm itself.
func TestPackageIsTakenIn(t *testing.T) {
	onBoth(t, func(b *bench) {
		_, p := friend(t, "North farm", "Away", 4)
		before := must(b.Today(b.ctx))(b)
		in := must(b.TakePackage(b.ctx, app.Act{By: "AB"}, posted(b, p), ""))(b)
		if in.Repeat || in.Guest.From != "North farm" || in.Guest.By != "AB" || in.Guest.Jars != 13 || in.Usable != 1 || in.Guest.Hash != p.Hash() {
			t.Errorf("taken in: %+v", in.Guest)
		}
		again := must(b.TakePackage(b.ctx, app.Act{}, posted(b, p), ""))(b)
		if !again.Repeat || again.Deed != in.Deed || !strings.Contains(again.Says(), "nothing was stored twice") {
			t.Errorf("the same again: %+v", again.Done)
		}
		g := must(b.Guest(b.ctx, "away"))(b)
		c := g.Contrasts[0]
		if c.This() != "millet" || c.Than() != "oats" || c.Outcome != lab.PerInoculated || !(c.Value > 1 && c.Low < c.Value && c.Value < c.High) || c.Jars != [2]int{6, 6} {
			t.Errorf("its contrast is %+v", c)
		}
		if len(must(b.Trials(b.ctx))(b)) != 0 || len(must(b.Batches(b.ctx))(b)) != 0 || len(must(b.Cultures(b.ctx))(b)) != 0 || len(must(b.Recipes(b.ctx))(b)) != 0 {
			t.Error("it made records of the farm's own")
		}
		if after := must(b.Today(b.ctx))(b); len(after.Late)+len(after.Due) != len(before.Late)+len(before.Due) {
			t.Errorf("Today changed: %+v", after)
		}
		must(b.SetGuestAside(b.ctx, app.Act{}, g.Hash[:12]))(b)
		if n := len(must(b.Guests(b.ctx))(b)); n != 0 {
			t.Errorf("%d are there after it was set aside", n)
		}
		if back := must(b.TakePackage(b.ctx, app.Act{}, posted(b, p), "A friend"))(b); back.Repeat || back.Guest.From != "A friend" {
			t.Errorf("taken in again: %+v", back.Guest)
		}
	})
}

// Setting aside and naming are undone as what they are: the guest is back as it was.
func TestGuestsAreUndone(t *testing.T) {
	onBoth(t, func(b *bench) {
		_, p := friend(t, "North farm", "Away", 4)
		in := must(b.TakePackage(b.ctx, app.Act{}, posted(b, p), ""))(b)
		called := must(b.CallGuest(b.ctx, app.Act{}, "Away", map[string]string{"millet": "Millet, mine", "oats": ""}))(b)
		if c := must(b.Guest(b.ctx, "Away"))(b).Contrasts[0]; c.This() != "Millet, mine" || c.Than() != "oats" {
			t.Errorf("called as here: %+v", c)
		}
		must(b.Undo(b.ctx, app.Act{}, called.Deed))(b)
		if c := must(b.Guest(b.ctx, "Away"))(b).Contrasts[0]; c.This() != "millet" {
			t.Errorf("after undo: %+v", c)
		}
		if _, err := b.CallGuest(b.ctx, app.Act{}, "Away", map[string]string{"rye": "oats"}); !lab.IsKind(err, lab.Invalid) {
			t.Errorf("naming what is not in it: %v", err)
		}
		if _, err := b.CallGuest(b.ctx, app.Act{}, "Away", map[string]string{"millet": "oats"}); !lab.IsKind(err, lab.Invalid) {
			t.Errorf("both the same: %v", err)
		}
		act := app.Act{ID: app.NewActID()}
		aside := must(b.SetGuestAside(b.ctx, act, "Away"))(b)
		if twice := must(b.SetGuestAside(b.ctx, act, "Away"))(b); !twice.Repeat {
			t.Error("the same act twice is two")
		}
		must(b.Undo(b.ctx, app.Act{}, aside.Deed))(b)
		if n := len(must(b.Guests(b.ctx))(b)); n != 1 {
			t.Errorf("%d are there after setting aside was undone", n)
		}
		undone := must(b.Undo(b.ctx, app.Act{}, in.Deed))(b)
		if n := len(must(b.Guests(b.ctx))(b)); n != 0 || undone.Repeat {
			t.Errorf("%d are there after the taking in was undone", n)
		}
	})
}

// What must not be added up is refused with what to do.
func TestPackagesThatAreNotTakenIn(t *testing.T) {
	onBoth(t, func(b *bench) {
		far, p := friend(t, "North farm", "Away", 4)
		refused := func(what string, q *app.Package, from, want string) {
			t.Helper()
			_, err := b.TakePackage(b.ctx, app.Act{}, q, from)
			if x, ok := lab.AsProblem(err); !ok || x.Mend == "" || !strings.Contains(err.Error(), want) {
				t.Errorf("%s: %v, want %q", what, err, want)
			}
			if n := len(must(b.Guests(b.ctx))(b)); n != 0 {
				t.Fatalf("%s was stored", what)
			}
		}
		digit := posted(b, p)
		digit.Files["picks.csv"] = bytes.Replace(digit.Files["picks.csv"], []byte(",1,8"), []byte(",1,9"), 1)
		refused("one digit", digit, "", "picks.csv, row")
		row := posted(b, p)
		lines := bytes.SplitAfter(row.Files["seen.csv"], []byte("\n"))
		row.Files["seen.csv"] = bytes.Join(append(append([][]byte{}, lines[:2]...), lines[3:]...), nil)
		refused("a row less", row, "", "seen.csv, row 3: 1 row is missing")
		folder := func(change func(fstest.MapFS)) error {
			files := folderOf(p, p.Raw())
			change(files)
			_, err := datapackage.Read(files)
			return err
		}
		for what, err := range map[string]error{
			"a file more":    folder(func(f fstest.MapFS) { f["more.csv"] = f["picks.csv"] }),
			"a file renamed": folder(func(f fstest.MapFS) { f["pick.csv"] = f["picks.csv"]; delete(f, "picks.csv") }),
		} {
			if !lab.IsKind(err, lab.Invalid) || !strings.Contains(err.Error(), "is not part of this package") {
				t.Errorf("%s: %v", what, err)
			}
		}
		nameless := posted(b, p)
		nameless.Contributors = nil
		b.ok(nameless.Seal())
		refused("from nobody", nameless, "", "nothing says where Away is from")
		later := resealed(t, p, "analysis.json", `"version": "compare `, `"version": "compare 9`)
		later = resealed(t, later, "analysis.json", `"ending": "supported"`, `"ending": "alike"`)
		refused("another computation", later, "", "bring both farms up to date")

		weighedBy(b, "Mine", 4)
		refused("the same jars under another name", posted(b, p), "", "your own trial Mine")

		blind := plan("Hidden")
		blind.Blind, blind.Recipe = true, ""
		k := far.cooked(blind, 60)
		must(far.Inoculate(far.ctx, app.Act{}, app.InoculateInput{Batch: k.Batch.String()}))(far)
		refused("a blind one", posted(b, must(far.PackageTrial(far.ctx, "Hidden"))(far)), "", "ask for it again when its key is open")
	})
}
