package web

import (
	"net/http"
	"net/url"
	"strings"
	"testing"
	"time"
)

const jarSheet = "jar,batch,arm,inoculated,picked g,fate\n" +
	"1,old one,rye,2025-11-01,12.5,picked\n" +
	"2,old one,millet,2025-11-01,,lost\n" +
	"3,old one,rye,2025-11-01,eleven,picked\n"

func TestASheetIsLookedAtThenTakenIn(t *testing.T) {
	x := newSite(t, Options{})
	x.post("/import", url.Values{}).status(http.StatusUnprocessableEntity).doc().want("what is missing", with("role", "alert"), says("No file"))
	d := x.upload("/import", "jars.csv", jarSheet, nil).status(http.StatusOK).doc()
	d.wellFormed("Bring a sheet in")
	d.want("the refused row with its number and reason", tag("li"), says("Row 4"), says("eleven"))
	if batches, err := x.farm.Batches(t.Context()); err != nil || len(batches) != 0 {
		t.Errorf("the look stored %d batches, error %v", len(batches), err)
	}
	keep := d.filled("/import/keep", url.Values{})
	x.post("/import/keep", keep).status(http.StatusUnprocessableEntity).doc().want("the same list again", says("Row 4"), tag("li"))
	d.want("the way to take in the good rows", tag("button"), with("name", "skip"), says("Take in 2 rows, leave 1 out"))
	keep.Set("skip", "yes")
	x.post("/import/keep", keep).status(http.StatusSeeOther)
	x.get("/batches").doc().want("the batch", tag("li"), says("old one"))

	d = x.upload("/import", "jars.csv", jarSheet, nil).status(http.StatusOK).doc()
	d.want("that nothing is new", class("say"), says("No new jar, 2 known already"))
}

// TestALookStoresNothing uses a sheet without fault, which nothing else
// would keep out.
func TestALookStoresNothing(t *testing.T) {
	x := newSite(t, Options{})
	good, _, _ := strings.Cut(jarSheet, "3,old one")
	d := x.upload("/import", "jars.csv", good, url.Values{"differ": {"recipe"}}).status(http.StatusOK).doc()
	if batches, err := x.farm.Batches(t.Context()); err != nil || len(batches) != 0 {
		t.Errorf("the look stored %d batches, error %v", len(batches), err)
	}
	x.post("/import/keep", d.filled("/import/keep", url.Values{})).to("/trials/old%20one")
	x.get("/trials/old%20one").doc().want("what the arms differ in", tag("dd"), says("recipe"))
}

// A column that was taken for the wrong thing is told what it is, and the next
// sheet of that name is read so without a word.
func TestColumnsAreTold(t *testing.T) {
	x := newSite(t, Options{})
	const sheet = "Glas,batch,Ertrag g,jar\nA,told,9.5,1\n"
	d := x.upload("/import", "ernte 2025.csv", sheet, nil).status(http.StatusOK).doc()
	d.want("a choice for the column", tag("select"), with("name", "as"))
	again := url.Values{"held": d.filled("/import/keep", nil)["held"], "column": {"Glas", "batch", "Ertrag g", "jar"}, "as": {"mark", "", "weight", ""}}
	d = x.post("/import/again", again).status(http.StatusOK).doc()
	d.want("what the column is now taken for", tag("li"), says("Ertrag g"), says("fresh weight, in g, as you said"))
	x.post("/import/keep", d.filled("/import/keep", url.Values{})).status(http.StatusSeeOther)
	d = x.upload("/import", "Ernte-2026.csv", strings.Replace(sheet, "9.5", "10.5", 1), nil).status(http.StatusOK).doc()
	d.want("what is remembered", tag("li"), says("Glas"), says("mark on the jar, as you said"))
	x.post("/import/again", url.Values{"held": again["held"], "column": {"Glas"}, "as": {"pot"}}).status(http.StatusUnprocessableEntity).doc().want("why not", with("role", "alert"), says("pot"))
	x.post("/import/again", url.Values{"held": {"made up"}}).status(http.StatusConflict)
}

// A list of cultures is looked at, mended and taken in; the child stands below
// its parent.
func TestAListOfCulturesComesIn(t *testing.T) {
	x := newSite(t, Options{})
	const list = "culture,form,taken from\nM-1,slant,\nLC-1,LC,M-1\nLC-2,cake,M-1\n"
	d := x.upload("/import", "list.csv", list, url.Values{"noun": {"cultures"}}).status(http.StatusOK).doc()
	d.want("what would happen", class("say"), says("2 rows of cultures new"), says("1 row refused"))
	d.want("the refused row", tag("li"), says("Row 4"), says("cake"))
	if rows, err := x.farm.Cultures(t.Context()); err != nil || len(rows) != 0 {
		t.Errorf("the look stored %d cultures, error %v", len(rows), err)
	}
	x.post("/import/keep", d.filled("/import/keep", url.Values{"skip": {"yes"}})).to("/cultures")
	x.get("/cultures/LC-1").doc().want("its parent", tag("a"), says("M-1"))
	again := x.upload("/import", "list.csv", list, url.Values{"noun": {"cultures"}}).doc()
	again.want("that nothing is new", class("say"), says("0 rows of cultures new, 2 there already"))
	x.upload("/import", "list.csv", list, url.Values{"noun": {"boats"}}).status(http.StatusUnprocessableEntity).doc().want("what can be read", with("role", "alert"), says("boats"))
}

func TestAFileIsNotHeldForEver(t *testing.T) {
	x := newSite(t, Options{})
	keep := x.upload("/import", "jars.csv", jarSheet, nil).doc().filled("/import/keep", url.Values{"skip": {"yes"}})
	x.clock.add(holdFor + time.Minute)
	x.post("/import/keep", keep).status(http.StatusConflict).doc().want("what to do", says("Choose it again"))
	x.post("/import/keep", url.Values{"held": {"made up"}}).status(http.StatusConflict)
	x.upload("/import", "photo.csv", "\xff\xd8\xff\xe0 no sheet", nil).status(http.StatusUnprocessableEntity).doc().want("why not", with("role", "alert"))
}

func TestHeldFilesAreFew(t *testing.T) {
	var h heldFiles
	now := time.Unix(0, 0)
	first := h.keep("a", []byte("1"), now)
	for range mostFiles {
		h.keep("b", nil, now)
	}
	if _, _, ok := h.find(first, now); ok || len(h.files) != mostFiles {
		t.Errorf("%d files are held, the first among them: %v", len(h.files), ok)
	}
	if strings.Contains(first, "a") && len(first) < 20 {
		t.Errorf("the key %q can be guessed", first)
	}
}
