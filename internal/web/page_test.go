package web

import (
	"fmt"
	"net/http"
	"net/url"
	"strings"
	"testing"

	"golang.org/x/net/html"
)

// pagePaths are the addresses that a GET must answer on a farm with a trial
// of 12 jars, one for each GET route that shows a page, and what stands in
// the heading. "CODE" is a jar's code.
var pagePaths = map[string][2]string{
	"GET /{$}":                         {"/", "Monday 2 March"},
	"GET /forecast":                    {"/forecast", "What comes next"},
	"GET /plan":                        {"/plan", "Plan"},
	"GET /plan/day":                    {"/plan/day", "Cooks over a day"},
	"GET /plan/trial":                  {"/plan/trial?differ=recipe&arms=3", "Plan a trial"},
	"GET /plan/batch":                  {"/plan/batch", "Plan a batch"},
	"GET /plan/again":                  {"/plan/again?trial=rice%20or%20millet", "Plan a trial"},
	"GET /trials/{trial}/days":         {"/trials/rice%20or%20millet/days", "Days of rice or millet"},
	"GET /trials/{trial}/report":       {"/trials/rice%20or%20millet/report", "Trial rice or millet"},
	"GET /batches":                     {"/batches", "Batches"},
	"GET /batches/{batch}":             {"/batches/B1", "B1 rice or millet"},
	"GET /batches/{batch}/bench":       {"/batches/B1/bench", "Bench sheet, B1 rice or millet"},
	"GET /batches/{batch}/check":       {"/batches/B1/check?have=1-3&code=CODE", "Check the labels of B1"},
	"GET /batches/{batch}/list/{list}": {"/batches/B1/list/inoculate?amount=2+mL&step=2", "2"},
	"GET /cooks/{cook}/list":           {"/cooks/1/list", "Cook 1"},
	"GET /rounds":                      {"/rounds", "Rounds"},
	"GET /labels":                      {"/labels?kind=jars&batch=B1&side=both", "Labels"},
	"GET /scan":                        {"/scan", "Scan a label"},
	"GET /trust":                       {"/trust", "HTTPS, and what a phone asks"},
	"GET /address":                     {"/address", "The farm’s address"},
	"GET /batches/{batch}/inoculate":   {"/batches/B1/inoculate", "Inoculate"},
	"GET /batches/{batch}/rounds":      {"/batches/B1/rounds", "Rounds"},
	"GET /batches/{batch}/photos":      {"/batches/B1/photos", "Photos"},
	"GET /j/{code}/photos":             {"/j/CODE/photos", "Photos of B1·1"},
	"GET /batches/{batch}/weigh":       {"/batches/B1/weigh", "Weigh"},
	"GET /trials":                      {"/trials", "Trials"},
	"GET /trials/{trial}":              {"/trials/rice%20or%20millet", "rice or millet"},
	"GET /fouled":                      {"/fouled", "Who fouled it?"},
	"GET /pooled":                      {"/pooled", "What past trials add up to"},
	"GET /elsewhere":                   {"/elsewhere", "Trials from elsewhere"},
	"GET /supplies":                    {"/supplies", "Supplies"},
	"GET /supplies/recipe":             {"/supplies/recipe?from=millet+cake", "Write a recipe"},
	"GET /recipes/{recipe}":            {"/recipes/millet%20cake", "millet cake"},
	"GET /supplies/found":              {"/supplies/found?text=2+cups+oats,+60+%25+moisture", "A recipe found elsewhere"},
	"GET /ingredients/{ingredient}":    {"/ingredients/dextrose", "dextrose"},
	"GET /recipes/{recipe}/ladder":     {"/recipes/millet%20cake/ladder?step=millet&from=40&to=50&by=5", "A ladder of millet cake"},
	"GET /cultures":                    {"/cultures", "Cultures"},
	"GET /cultures/{culture}":          {"/cultures/LC-3", "LC-3"},
	"GET /species":                     {"/species", "Species"},
	"GET /species/{species}":           {"/species/pleurotus-ostreatus", "Pleurotus ostreatus"},
	"GET /shelf":                       {"/shelf", "Shelf"},
	"GET /j/{code}":                    {"/j/CODE", "B1·1"},
	"GET /j/{code}/chain":              {"/j/CODE/chain?paper=letter", "Chain of B1·1"},
	"GET /J/{code}":                    {"/J/CODE", "B1·1"},
	"GET /cooks":                       {"/cooks", "Cooks"},
	"GET /cooks/{cook}":                {"/cooks/1", "Cook 1"},
	"GET /cookers":                     {"/cookers", "Cookers"},
	"GET /standard":                    {"/standard", "Own standard"},
	"GET /crop":                        {"/crop", "Crop"},
	"GET /reckoner":                    {"/reckoner", "Reckoner"},
	"GET /reckoner/{calc}":             {"/reckoner/held", "Did the hold hold?"},
	"GET /all":                         {"/all", "All sections"},
	"GET /find":                        {"/find", "Find"},
	"GET /calendar":                    {"/calendar", "Due days"},
	"GET /settings":                    {"/settings", "Settings"},
	"GET /undo":                        {"/undo", "Take back an entry"},
	"GET /people":                      {"/people", "People and phones"},
	"GET /import":                      {"/import", "Bring a sheet in"},
}

// notPages are the GET routes that show no page of their own.
var notPages = map[string]bool{
	"GET /":                                      true,
	"GET /alarms.json":                           true,
	"GET /away":                                  true,
	"GET /api/v1/{rest...}":                      true,
	"GET /trials/{trial}/package.zip":            true,
	"GET /batches/{batch}/bench.pdf":             true,
	"GET /batches/{batch}/list/{list}/sheet.pdf": true,
	"GET /calibration.pdf":                       true,
	"GET /calendar/{key}":                        true,
	"GET /cooks/{cook}/list.pdf":                 true,
	"GET /cooks/{cook}/records/{record}":         true,
	"GET /export/{file}":                         true,
	"GET /healthz":                               true,
	"GET /labels.pdf":                            true,
	"GET /login":                                 true,
	"GET /pair":                                  true,
	"GET /trust/pinset.crt":                      true,
	"GET /worker.js":                             true,
	"GET /static/{file}":                         true,
	"GET /trials/{trial}/report.pdf":             true,
}

// mostBytes is what a page for 12 jars may hold.
const mostBytes = 60_000

func TestEveryPageAnswers(t *testing.T) {
	x := newSite(t, Options{})
	x.stock()
	k := x.batch(6)
	code := x.codes(k.Batch.String())[0]
	largest, where := 0, ""
	for _, rt := range routes {
		want, ok := pagePaths[rt.pattern]
		if strings.HasSuffix(rt.pattern, "/{name}") || strings.Contains(rt.pattern, "{shelf}") || strings.Contains(rt.pattern, "{photo}") || strings.Contains(rt.pattern, "{guest}") {
			continue // TestLabelsLeadOn, TestShelfRounds, TestPhotosOfAJar, TestPackageIsTakenInOnAPage
		}
		if !strings.HasPrefix(rt.pattern, "GET") || notPages[rt.pattern] {
			continue
		}
		if !ok {
			t.Errorf("no test asks for %s", rt.pattern)
			continue
		}
		a := x.get(strings.Replace(want[0], "CODE", code, 1)).status(http.StatusOK)
		a.doc().wellFormed(want[1])
		if n := a.Body.Len(); n > largest {
			largest, where = n, want[0]
		}
		if a.Body.Len() > mostBytes {
			t.Errorf("%s: %d bytes for 12 jars, %d are the most", want[0], a.Body.Len(), mostBytes)
		}
	}
	t.Logf("largest page for 12 jars: %d bytes, %s", largest, where)
}

// TestEveryPageInEveryState asks for all pages of an empty farm, of a cooked
// batch, and of one that was picked.
func TestEveryPageInEveryState(t *testing.T) {
	for name, prepare := range map[string]func(*site) string{
		"empty":  func(*site) string { return "" },
		"cooked": func(x *site) string { x.stock(); k := x.batch(6); x.cooked(k); return x.codes("B1")[0] },
		"picked": func(x *site) string { x.stock(); x.grown(x.batch(6)); return x.codes("B1")[3] },
		"one":    func(x *site) string { x.stock(); x.batch(1); return x.codes("B1")[0] },
	} {
		t.Run(name, func(t *testing.T) {
			x := newSite(t, Options{})
			code := prepare(x)
			for pattern, want := range pagePaths {
				a := x.get(strings.Replace(want[0], "CODE", code, 1))
				needs := strings.Contains(pattern, "{batch}") || strings.Contains(pattern, "{trial}") || strings.Contains(pattern, "{recipe}") ||
					strings.Contains(pattern, "{code}") || strings.Contains(pattern, "{culture}") || strings.Contains(pattern, "{cook}") || strings.Contains(want[0], "from=") || strings.Contains(want[0], "batch=") || strings.Contains(want[0], "trial=")
				switch {
				case code == "" && needs:
					if a.Code == http.StatusOK || a.Code >= 500 {
						t.Errorf("%s on an empty farm: status %d", want[0], a.Code)
					}
				default:
					a.status(http.StatusOK).doc().wellFormed("")
				}
			}
			if strings.Contains(x.log.String(), "level=ERROR") {
				t.Errorf("faults were logged:\n%s", x.log)
			}
		})
	}
}

// wellFormed checks what holds on every page: language, title, one heading
// that says heading, landmarks, a skip link that leads somewhere, labels,
// ids that are used once, headings in order, and nothing that the policy
// forbids.
func (d doc) wellFormed(heading string) {
	d.t.Helper()
	if got := attr(d.one("html", tag("html")), "lang"); got != "en" {
		d.t.Errorf("%s: language %q", d.what, got)
	}
	h1 := d.one("h1", tag("h1"))
	if !strings.Contains(text(h1), heading) {
		d.t.Errorf("%s: heading %q, want %q", d.what, text(h1), heading)
	}
	if title := text(d.one("title", tag("title"), func(n *html.Node) bool { return within(n, "head") })); !strings.HasSuffix(title, "· Pinset") || strings.HasPrefix(title, "·") {
		d.t.Errorf("%s: title %q", d.what, title)
	}
	d.one("main landmark", tag("main"), with("id", "main"))
	d.want("navigation with a name", tag("nav"), has("aria-label"))
	d.want("skip link", tag("a"), with("href", "#main"))
	d.uniqueIDs()
	d.labelled()
	d.headingsInOrder()
	d.none("a value that nobody can read", tag("body"), func(n *html.Node) bool {
		return strings.Contains(text(n), "&{") || strings.Contains(text(n), "0xc0") || strings.Contains(text(n), "%!")
	})
	d.none("an inline style", has("style"))
	d.none("an inline script", tag("script"), func(n *html.Node) bool { return attr(n, "src") == "" })
	d.none("an inline style sheet", tag("style"))
	for n := range d.Descendants() {
		for _, a := range n.Attr {
			if strings.HasPrefix(a.Key, "on") {
				d.t.Errorf("%s: a handler %s in the page", d.what, a.Key)
			}
		}
	}
}

func (d doc) uniqueIDs() {
	d.t.Helper()
	seen := make(map[string]bool)
	for _, n := range d.all(has("id")) {
		if id := attr(n, "id"); seen[id] {
			d.t.Errorf("%s: id %q is used twice", d.what, id)
		} else {
			seen[id] = true
		}
	}
	for _, key := range []string{"aria-labelledby", "aria-describedby", "list"} {
		for _, n := range d.all(has(key)) {
			for _, id := range strings.Fields(attr(n, key)) {
				if !seen[id] {
					d.t.Errorf("%s: %s names %q, which is not there", d.what, key, id)
				}
			}
		}
	}
}

// labelled checks that every control that is filled in has a name.
func (d doc) labelled() {
	d.t.Helper()
	for _, n := range d.all(func(n *html.Node) bool { return n.Data == "input" || n.Data == "select" || n.Data == "textarea" }) {
		if kind := attr(n, "type"); kind == "hidden" || attr(n, "aria-label") != "" || within(n, "label") {
			continue
		}
		if len(d.all(tag("label"), with("for", attr(n, "id")))) != 1 {
			d.t.Errorf("%s: the field %q has no label", d.what, attr(n, "name"))
		}
	}
	for _, n := range d.all(tag("button")) {
		if text(n) == "" {
			d.t.Errorf("%s: a button without a word", d.what)
		}
	}
}

func within(n *html.Node, name string) bool {
	for p := range n.Ancestors() {
		if p.Data == name {
			return true
		}
	}
	return false
}

// headingsInOrder checks that no level is left out on the way down.
func (d doc) headingsInOrder() {
	d.t.Helper()
	last := 0
	for _, n := range d.all(func(n *html.Node) bool {
		return len(n.Data) == 2 && n.Data[0] == 'h' && n.Data[1] >= '1' && n.Data[1] <= '6'
	}) {
		level := int(n.Data[1] - '0')
		if level > last+1 {
			d.t.Errorf("%s: heading %q is of level %d after level %d", d.what, text(n), level, last)
		}
		last = level
	}
}

// codes returns the codes of a batch's jars by number.
func (x *site) codes(batch string) []string {
	x.t.Helper()
	v, err := x.farm.BatchView(x.t.Context(), batch, 0)
	if err != nil {
		x.t.Fatal(err)
	}
	var out []string
	for _, j := range v.Jars {
		out = append(out, string(j.Code))
	}
	return out
}

// TestHostileNames writes names that would break a careless page.
func TestHostileNames(t *testing.T) {
	const script = `<script>alert("1")</script>'"&`
	names := []string{script, strings.Repeat("w", 60), "كورديسيبس", "冬虫夏草 四号", "x\" onmouseover=\"x", "{{.Farm}}", "javascript:alert(1)"}
	for i, name := range names {
		t.Run(fmt.Sprint(i), func(t *testing.T) {
			x := newSite(t, Options{})
			x.nameEverything(name)
			for _, path := range []string{
				"/", "/plan", "/plan/trial", "/batches", "/batches/B1", "/batches/B1/bench", "/batches/B1/rounds",
				"/batches/B1/inoculate", "/batches/B1/weigh", at("trials", name), at("recipes", name), "/supplies", "/cultures", "/shelf", "/cooks", "/cooks/1",
				"/j/" + x.codes("B1")[0], "/undo", "/find?q=" + url.QueryEscape(name), "/trials",
			} {
				a := x.get(path)
				if a.Code == http.StatusSeeOther {
					continue
				}
				a.status(http.StatusOK)
				d := a.doc()
				d.wellFormed("")
				for _, n := range d.all(tag("script")) {
					if text(n) != "" {
						t.Errorf("%s: a script with content", path)
					}
				}
				if !strings.Contains(text(d.Node), strings.Join(strings.Fields(name), " ")) && strings.HasPrefix(path, "/trials/") {
					t.Errorf("%s: the name is not on the page", path)
				}
			}
		})
	}
}
