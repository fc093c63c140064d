package web

import (
	"archive/zip"
	"bytes"
	"net/http"
	"net/url"
	"strings"
	"testing"

	"pinset/internal/app"
	"pinset/internal/datapackage"
)

// fromNorth is a package of another farm's trial, as it comes by post.
func fromNorth(t *testing.T, name string) []byte {
	t.Helper()
	x := newSite(t, Options{})
	x.stock()
	if err := x.farm.SaveSettings(t.Context(), app.NewSettings{Name: name}); err != nil {
		t.Fatal(err)
	}
	in := plan("Up north", 6)
	in.Seed = "7"
	k := must[app.Kept](t)(x.farm.KeepPlan(t.Context(), app.Act{}, in))
	x.grown(k)
	data, err := must[*app.Package](t)(x.farm.PackageTrial(t.Context(), "Up north")).Zip()
	if err != nil {
		t.Fatal(err)
	}
	return data
}

// A friend's package is taken in on its page, marked wherever it is shown, and set
// aside again; one that was altered is refused with what differs.
func TestPackageIsTakenInOnAPage(t *testing.T) {
	x := newSite(t, Options{})
	x.stock()
	x.grown(x.batch(6))
	const north = "North <farm>"
	data := fromNorth(t, north)

	a := x.upload("/elsewhere", "up.zip", string(data), nil)
	a.status(http.StatusSeeOther)
	page := a.Header().Get("Location")
	if !strings.HasPrefix(page, "/elsewhere/") {
		t.Fatalf("it leads to %s", page)
	}
	d := x.get(page).status(http.StatusOK).doc()
	d.wellFormed("Up north")
	if says := text(d.one("main", tag("main"))); !strings.Contains(says, "Not a trial of this farm: from "+north) || !strings.Contains(says, "millet cake against brown rice cake") {
		t.Errorf("its page says %q", says)
	}
	x.upload("/elsewhere", "up.zip", string(data), nil).status(http.StatusSeeOther)
	if n := len(must[[]app.TrialRow](t)(x.farm.Trials(t.Context()))); n != 1 {
		t.Errorf("the farm has %d trials of its own", n)
	}
	list := text(x.get("/elsewhere").doc().one("main", tag("main")))
	if strings.Count(list, "judged again here") != 1 {
		t.Errorf("taken in twice, the list says %q", list)
	}

	past := must[app.Past](t)(x.farm.Past(t.Context()))
	of := "/pooled?of=" + past.Sets[0].Key
	d = x.get(of).status(http.StatusOK).doc()
	d.wellFormed("Millet cake against brown rice cake")
	says := text(d.one("main", tag("main")))
	for _, want := range []string{"Over 2 trials, 1 of them from elsewhere, millet cake", "The next grow may show", "from elsewhere: " + north + ", a package, judged again here", "your own, planned", "The same by name only", "Hartung and Knapp"} {
		if !strings.Contains(says, want) {
			t.Errorf("the page of the sum does not say %q", want)
		}
	}
	if own := text(x.get(of+"&own=yes").doc().one("main", tag("main"))); !strings.Contains(own, "One trial so far") || !strings.Contains(own, "left out, as asked") {
		t.Errorf("own trials only: %q", own)
	}
	x.get(of + "&outcome=colour").status(http.StatusOK).doc().wellFormed("")
	x.get("/pooled?of=x").status(http.StatusNotFound)
	x.get("/elsewhere/nobody").status(http.StatusNotFound)

	x.send(page, page+"/names", url.Values{"theirs": {"millet cake", "brown rice cake"}, "as": {"proso", ""}}).status(http.StatusSeeOther)
	if past = must[app.Past](t)(x.farm.Past(t.Context())); len(past.Sets) != 2 {
		t.Errorf("named otherwise, %d contrasts are there", len(past.Sets))
	}
	x.send(page, page+"/names", url.Values{"theirs": {"proso"}, "as": {"Brown rice CAKE"}}).status(http.StatusUnprocessableEntity)
	x.send(page, page+"/aside", nil).status(http.StatusSeeOther)
	x.get(page).status(http.StatusNotFound)
	if list := text(x.get("/elsewhere").doc().one("main", tag("main"))); strings.Contains(list, "Taken in") {
		t.Errorf("set aside, the list says %q", list)
	}
}

// What a stranger sends is bounded, opened with care, and answered on the same page.
func TestPackagesOfStrangersAreRefusedOnAPage(t *testing.T) {
	x := newSite(t, Options{})
	x.stock()
	data := fromNorth(t, "North farm")
	altered := rezipped(t, data, func(files map[string][]byte) {
		files["picks.csv"] = bytes.Replace(files["picks.csv"], []byte(",1,1"), []byte(",1,9"), 1)
	})
	slip := rezipped(t, data, func(files map[string][]byte) { files["../../etc/picks.csv"] = nil })
	bomb := rezipped(t, data, func(files map[string][]byte) { files["bomb.csv"] = make([]byte, datapackage.MostBytes) })
	for what, c := range map[string]struct{ body, says string }{
		"one digit": {altered, "picks.csv, row"},
		"a slip":    {slip, "can not be the name of a file"},
		"a bomb":    {bomb, "more than 32 MB"},
		"no zip":    {"jar,grams", "This is no zip file"},
		"nothing":   {"", "This is no zip file"},
	} {
		d := x.upload("/elsewhere", "up.zip", c.body, nil).status(http.StatusUnprocessableEntity).doc()
		d.wellFormed("Trials from elsewhere")
		if says := text(d.one("main", tag("main"))); !strings.Contains(says, c.says) {
			t.Errorf("%s: the page says %q, want %q", what, says, c.says)
		}
	}
	x.upload("/elsewhere", "up.zip", strings.Repeat("x", datapackage.MostZipBytes+(1<<20)), nil).status(http.StatusRequestEntityTooLarge)
	if n := len(must[app.Past](t)(x.farm.Past(t.Context())).Sets); n != 0 {
		t.Errorf("%d contrasts were kept of them", n)
	}
}

// rezipped is a zip file with its files changed.
func rezipped(t *testing.T, data []byte, change func(map[string][]byte)) string {
	t.Helper()
	p, err := datapackage.FromZip(data)
	if err != nil {
		t.Fatal(err)
	}
	files := map[string][]byte{datapackage.DescriptorName: p.Raw()}
	for name, body := range p.Files {
		files[name] = body
	}
	change(files)
	var b bytes.Buffer
	z := zip.NewWriter(&b)
	for name, body := range files {
		w, err := z.Create(name)
		if err == nil {
			_, err = w.Write(body)
		}
		if err != nil {
			t.Fatal(err)
		}
	}
	if err := z.Close(); err != nil {
		t.Fatal(err)
	}
	return b.String()
}

// Figures from print are typed on the same page, and mended in place.
func TestPrintedFiguresAreTyped(t *testing.T) {
	x := newSite(t, Options{})
	x.stock()
	v := url.Values{"source": {"Invented (1999), table 2"}, "this": {"millet cake"}, "than": {"brown rice cake"}, "is": {"recipe"}, "outcome": {"inoculated"}, "estimate": {"1.2"}}
	d := x.send("/elsewhere", "/elsewhere/printed", v).status(http.StatusUnprocessableEntity).doc()
	d.wellFormed("Trials from elsewhere")
	if says := text(d.one("main", tag("main"))); !strings.Contains(says, "the low end of its 95 % interval") && !strings.Contains(says, "The low end of its 95 % interval") {
		t.Errorf("without an interval: %q", says)
	}
	v.Set("se", "0.1")
	page := x.send("/elsewhere", "/elsewhere/printed", v).status(http.StatusSeeOther).Header().Get("Location")
	d = x.get(page).status(http.StatusOK).doc()
	d.wellFormed("Millet cake against brown rice cake")
	if says := text(d.one("main", tag("main"))); !strings.Contains(says, "typed in from print") || !strings.Contains(says, "1.20 times (0.99 to 1.46)") {
		t.Errorf("its page says %q", says)
	}
}
