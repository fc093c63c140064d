package web

import (
	"bytes"
	"context"
	"image"
	"image/color"
	"image/png"
	"net/http"
	"net/http/httptest"
	"net/url"
	"strings"
	"testing"
	"time"

	"golang.org/x/net/html"

	"pinset/internal/app"
	"pinset/internal/lab"
	"pinset/internal/label"
)

// shelved keeps a trial whose jars stand on two shelves, inoculated.
func (x *site) shelved() app.Kept {
	x.t.Helper()
	in := plan("rice or millet", 6)
	in.Shelves = []app.PlanShelf{{Name: "Left, 2", Places: 7}, {Name: "Left, 10", Places: 7}}
	k := must[app.Kept](x.t)(x.farm.KeepPlan(context.Background(), app.Act{ID: app.NewActID()}, in))
	x.cooked(k)
	must[app.InoculateReport](x.t)(x.farm.Inoculate(context.Background(), app.Act{ID: app.NewActID()}, app.InoculateInput{Batch: k.Batch.String(), Amount: "2 mL"}))
	return k
}

// What a phone's camera opens leads on, in either case and behind a code that
// was misread.
func TestLabelsLeadOn(t *testing.T) {
	x := newSite(t, Options{})
	x.stock()
	x.shelved()
	_, _, err := x.farm.AddLot(context.Background(), app.Act{ID: app.NewActID()}, app.NewLot{Ingredient: "millet", Bought: "5 kg"})
	if err != nil {
		t.Fatal(err)
	}
	for path, want := range map[string]string{
		"/B/1": "/batches/B1", "/b/1": "/batches/B1", "/C/LC-3": "/cultures/LC-3", "/c/lc-3": "/cultures/LC-3", "/I/1": "/ingredients/millet", "/i/1": "/ingredients/millet",
		"/K/2": "/cooks/2", "/k/2": "/cooks/2", "/S/LEFT%2C%202": "/shelves/Left%2C%202/rounds", "/s/left%2C%2010": "/shelves/Left%2C%2010/rounds",
	} {
		x.get(path).to(want)
	}
	code := x.codes("B1")[0]
	loose := strings.NewReplacer("8", "b", "5", "s", "2", "z").Replace(strings.ToLower(code))
	for _, path := range []string{"/J/" + code, "/j/" + strings.ToLower(code), "/j/" + loose, "/J/" + code[:2] + "-" + code[2:]} {
		x.get(path).status(http.StatusOK).doc().want("the code of the jar", says(code))
	}
	for _, path := range []string{"/C/nobody", "/K/99", "/I/99", "/S/attic", "/B/99", "/J/22222"} {
		x.get(path).status(http.StatusNotFound)
	}
	x.get("/find?q=" + url.QueryEscape("HTTP://10.1.1.1:99/J/"+code)).to("/j/" + code)
}

func TestLabelsPage(t *testing.T) {
	x := newSite(t, Options{})
	x.stock()
	k := x.batch(6)
	n := len(x.codes("B1"))
	x.get("/labels").doc().want("the newest batch, which nobody had to choose", tag("option"), with("value", "B1"), has("selected"))
	p := x.get("/labels?kind=jars&batch=B1&side=both&start=3").status(http.StatusOK).doc()
	p.want("what it comes to", says("labels on 2 sheets"))
	p.want("the caution that no address is kept", class("caution"), says("no address"))
	p.want("the place that was chosen", tag("input"), with("name", "start"), with("value", "3"), has("checked"))
	p.want("the first jar at that place", class("place"), says("1"), func(m *html.Node) bool { return strings.HasPrefix(strings.TrimSpace(text(m)), "3") })
	pdf := x.get("/labels.pdf?kind=jars&batch=B1").status(http.StatusOK)
	if pdf.Header().Get("Content-Type") != "application/pdf" || !bytes.HasPrefix(pdf.Body.Bytes(), []byte("%PDF-")) {
		t.Error("the labels are no PDF")
	}
	for query, field := range map[string]string{
		"kind=jars&batch=B1&own=a4+9x9+70x37+0,0+70x37": "own", "kind=jars&batch=B1&start=99": "start", "kind=jars&batch=B1&numbers=99": "batch",
		"kind=jars&batch=B7": "batch", "kind=cultures&names=LC-9": "names", "kind=jars": "batch",
	} {
		for _, page := range []string{"/labels?", "/labels.pdf?"} {
			if a := x.get(page + query); a.Code != http.StatusUnprocessableEntity && a.Code != http.StatusNotFound {
				t.Errorf("%s%s (%s): status %d", page, query, field, a.Code)
			}
		}
	}
	x.post("/labels", url.Values{"grid": {"letter-3x10"}, "dots": {"300"}, "fit": {"21,20"}}).to("/labels")
	p = x.get("/labels?kind=jars&batch=B1").doc()
	p.want("the usual sheet", tag("option"), with("value", "letter-3x10"), has("selected"))
	p.want("what the ruler said", tag("input"), with("name", "fit"), with("value", "21,20 150x150"))
	x.post("/labels", url.Values{"grid": {"letter-3x10"}, "fit": {"21,20 100x150"}}).status(http.StatusUnprocessableEntity).doc().want("the mend", says("fit to page"))
	x.get("/calibration.pdf").status(http.StatusOK)
	_ = k
	_ = n
}

func TestAddressIsKeptAndAnsweredTo(t *testing.T) {
	x := newSite(t, Options{})
	ask := func(host string) int {
		r := httptest.NewRequest(http.MethodGet, "/find", nil)
		r.Host = host
		return x.do(r).Code
	}
	if got := ask("pinset.home:8470"); got != http.StatusMisdirectedRequest {
		t.Errorf("a name that nobody kept is answered with %d", got)
	}
	x.post("/address", url.Values{"address": {"127.0.0.1:8470"}}).status(http.StatusUnprocessableEntity).doc().want("why not", says("each phone itself"))
	x.post("/address", url.Values{"address": {"pinset.home:8470"}}).to("/address")
	p := x.get("/address").doc()
	p.want("the square to try", tag("svg"), class("square"))
	if got := ask("pinset.home:8470"); got != http.StatusOK {
		t.Errorf("the name that was kept is answered with %d", got)
	}
	if got := ask("evil.example"); got != http.StatusMisdirectedRequest {
		t.Errorf("another name is answered with %d", got)
	}
	x.post("/address", url.Values{"address": {"barn.local"}}).to("/address")
	x.get("/address").doc().want("the caution about .local", class("caution"), says(".local"))
	x.post("/address", url.Values{"address": {""}}).to("/address")
	x.get("/address").doc().none("a square of no address", tag("svg"), class("square"))
}

// seenAs is the PNG of a square as a camera would see it.
func seenAs(t testing.TB, text string) string {
	t.Helper()
	q, err := label.NewSquare(text, "Q")
	if err != nil {
		t.Fatal(err)
	}
	const px, quiet = 7, 6
	side := (q.Side + 2*quiet) * px
	p := image.NewGray(image.Rect(0, 0, side, side))
	for y := range side {
		for x := range side {
			mx, my := x/px-quiet, y/px-quiet
			v := uint8(210)
			if mx >= 0 && my >= 0 && mx < q.Side && my < q.Side && q.Dark(mx, my) {
				v = 40
			}
			p.SetGray(x, y, color.Gray{v})
		}
	}
	var b bytes.Buffer
	if err := png.Encode(&b, p); err != nil {
		t.Fatal(err)
	}
	return b.String()
}

func TestScanPicture(t *testing.T) {
	x := newSite(t, Options{})
	x.stock()
	x.batch(2)
	code := x.codes("B1")[1]
	send := func(content string) answer {
		return x.upload("/scan", "label.png", content, url.Values{"act": {string(app.NewActID())}})
	}
	send(seenAs(t, "HTTP://192.168.7.7:8470/"+lab.LabelPath(lab.JarLabel, code))).to("/j/" + code)
	send(seenAs(t, lab.LabelPath(lab.CultureLabel, "LC-3"))).to("/cultures/LC-3")
	for content, want := range map[string]string{
		seenAs(t, "HTTP://192.168.7.7:8470/J/22222"): "no such jar",
		seenAs(t, "SOMETHING ELSE"):                  "Nothing is called",
		"no picture at all":                          "format that can not be read",
		"":                                           "format that can not be read",
	} {
		a := send(content)
		if a.Code < 400 || a.Code >= 500 {
			t.Errorf("%s: status %d", want, a.Code)
		}
		a.doc().want("what is wrong: "+want, says(want))
	}
	x.post("/scan", url.Values{}).status(http.StatusUnprocessableEntity).doc().want("what to do", says("Take a picture"))
	big := strings.Repeat("x", photoBytes+1)
	if a := send(big); a.Code != http.StatusRequestEntityTooLarge {
		t.Errorf("%d bytes: status %d", len(big), a.Code)
	}
}

func TestCheckPage(t *testing.T) {
	x := newSite(t, Options{})
	x.stock()
	x.batch(6)
	codes := x.codes("B1")
	have := ""
	for i, code := range codes {
		p := x.get("/batches/B1/check?have=" + url.QueryEscape(have) + "&code=" + code).status(http.StatusOK).doc()
		have = attr(p.one("what was found", tag("input"), with("name", "have")), "value")
		p.want("the count", class("say"), says(strings.Join([]string{lab.ShowNumbers([]int{i + 1}), "of", lab.ShowNumbers([]int{len(codes)}), "found"}, " ")))
	}
	x.get("/batches/B1/check?have=1-5&code=ZZZZZ").doc().want("missing jars by number", says("Missing: 6–"))
	x.get("/batches/B1/check?have=nonsense").status(http.StatusUnprocessableEntity)
}

func TestShelfRounds(t *testing.T) {
	x := newSite(t, Options{})
	x.stock()
	x.shelved()
	x.clock.add(20 * 24 * 3600e9)
	walk := x.get("/rounds").status(http.StatusOK).doc()
	stops := walk.all(tag("a"), class("go-to"))
	if len(stops) != 2 || !strings.Contains(text(stops[0]), "Left, 2") || !strings.Contains(text(stops[1]), "Left, 10") {
		t.Fatalf("the way is %d stops", len(stops))
	}
	page := attr(stops[0], "href")
	path, since, _ := strings.Cut(page, "?since=")
	p := x.get(page).status(http.StatusOK).doc()
	p.wellFormed("Left, 2")
	p.want("the next shelf", tag("a"), says("On to Left, 10"))
	next := at("shelves", "Left, 10", "rounds") + "?since=" + since
	var jars []string
	for _, n := range p.all(tag("input"), with("name", "jar")) {
		jars = append(jars, attr(n, "value"))
	}
	if len(jars) < 4 {
		t.Fatalf("%d jars can be ticked", len(jars))
	}
	x.clock.add(60e9)
	x.post(path, url.Values{"see": {"stage:pins"}, "since": {since}}).mended("numbers", "", "No jar is chosen")
	x.post(path, url.Values{"see": {"stage:pins"}, "since": {since}, "jar": jars[:2], "counted": {"8"}}).to(page + "#n" + jars[1])
	x.get(page).doc().want("what was written", with("role", "status"), says("8 pins"))
	x.get(page).doc().want("the rest", tag("button"), with("value", "rest"), says("All the rest as before"))
	x.post(path, url.Values{"see": {"rest"}, "since": {since}, "jar": jars[2:3]}).to(page + "#n" + jars[2])
	x.get(page).doc().want("the one that was left out", tag("button"), with("value", "rest"), says("before , 1"))
	x.post(path, url.Values{"see": {"rest"}, "since": {since}}).to(next)
	x.post(path, url.Values{"see": {"rest"}, "since": {since}}).status(http.StatusUnprocessableEntity)
	x.get(page).doc().want("the way on", tag("a"), with("href", next), says("All are written: on to Left, 10"))
	x.get(next).doc().want("the way back", tag("a"), says("back to Left, 2"))
	last, _, _ := strings.Cut(next, "?")
	x.post(last, url.Values{"see": {"rest"}, "since": {since}}).to(next)
	x.get(next).doc().want("an end", tag("a"), with("href", "/"), says("All are written: to Today"))

	x.post("/rounds", url.Values{"walk": {"left, 10\nLeft, 2"}}).to("/rounds")
	if first := x.get("/rounds").doc().all(tag("a"), class("go-to"))[0]; !strings.Contains(text(first), "Left, 10") {
		t.Errorf("the way begins with %q", text(first))
	}
	x.get("/shelves/attic/rounds").status(http.StatusNotFound)
}

// TestFoggedIsOnePress writes of a jar that nothing could be seen in it.
func TestFoggedIsOnePress(t *testing.T) {
	x := newSite(t, Options{})
	x.stock()
	x.shelved()
	page := attr(x.get("/rounds").doc().all(tag("a"), class("go-to"))[0], "href")
	path, since, _ := strings.Cut(page, "?since=")
	d := x.get(page).doc()
	jar := attr(d.all(tag("input"), with("name", "jar"))[0], "value")
	fogged := attr(d.one("fogged", tag("button"), says("fogged")), "value")
	x.post(path, url.Values{"see": {fogged}, "since": {since}, "jar": {jar}}).to(page + "#n" + jar)
	x.get("/j/"+jar).doc().want("the note", tag("li"), says("fogged"))
}

// TestAFouledJarInARound: after a sign that may be a mould the page says to
// leave the jar shut, keeps it ticked, and offers the loss as one press.
func TestAFouledJarInARound(t *testing.T) {
	x := newSite(t, Options{})
	x.stock()
	x.shelved()
	x.clock.add(20 * 24 * time.Hour)
	page := attr(x.get("/rounds").doc().all(tag("a"), class("go-to"))[0], "href")
	path, since, _ := strings.Cut(page, "?since=")
	jar := attr(x.get(page).doc().all(tag("input"), with("name", "jar"))[0], "value")
	for sign, fouls := range map[string]bool{"green": true, "orange powder": true, "sour smell": true, "clean": false, "drops": false} {
		a := x.post(path, url.Values{"see": {"sign:" + sign}, "since": {since}, "jar": {jar}}).status(http.StatusSeeOther)
		to := a.Header().Get("Location")
		if !strings.HasSuffix(to, "#n"+jar) {
			t.Errorf("%s leads to %s, want the place of the jar", sign, to)
		}
		to, _, _ = strings.Cut(to, "#")
		d := x.get(to).status(http.StatusOK).doc()
		d.wellFormed("")
		if got := len(d.all(with("role", "status"), says("Leave it shut"))); got > 0 != fouls {
			t.Errorf("after %s the page says so %d times that the jar is left shut", sign, got)
		}
		if got := len(d.all(tag("input"), with("value", jar), has("checked"))); got > 0 != fouls {
			t.Errorf("after %s the jar is ticked: %v", sign, got > 0)
		}
		if fouls {
			d.want("the loss", tag("button"), class("go"), with("value", "lost:fouled"))
			x.post("/undo", url.Values{"deed": {attr(d.one("undo", tag("input"), with("name", "deed")), "value")}, "here": {to}}).to(to)
			if got := x.get(to).doc().all(says("Leave it shut"), with("role", "status")); len(got) > 0 {
				t.Errorf("%s was taken back, and the page goes on to say: %s", sign, text(got[0]))
			}
		}
		to = x.post("/j/"+jar+"/seen", url.Values{"see": {"sign:" + sign}}).status(http.StatusSeeOther).Header().Get("Location")
		if got := len(x.get(to).status(http.StatusOK).doc().all(class("caution"), with("data-weight", "stop"), says("Leave it shut"))); got > 0 != fouls {
			t.Errorf("after %s the page of the jar says %d times that it is left shut", sign, got)
		}
	}
}

func TestWeighOneAtATime(t *testing.T) {
	x := newSite(t, Options{})
	x.stock()
	x.shelved()
	x.clock.add(40 * 24 * 3600e9)
	list := x.get("/batches/B1/list/weigh").status(http.StatusOK).doc()
	list.want("what the scale can tell", says("steps of 1 g"))
	n := len(list.all(tag("li"), func(m *html.Node) bool { return within(m, "ol") }))
	card := x.get("/batches/B1/list/weigh?step=1").doc()
	code := attr(card.one("the jar", tag("input"), with("name", "jar")), "value")
	send := func(typed string) answer {
		return x.post("/batches/B1/list/weigh", url.Values{"jar": {code}, "grams": {typed}, "step": {"1"}})
	}
	send("ST,+0012.4  g").to("/batches/B1/list/weigh?step=2")
	x.get("/j/"+code).doc().want("the weight as the scale sent it", says("12.4"))
	send("US,+0012.9  g").status(http.StatusUnprocessableEntity).doc().want("that the scale had not settled", says("not settled"))
	send("").to("/batches/B1/list/weigh?step=2")
	send("heavy").status(http.StatusUnprocessableEntity)
	x.post("/batches/B1/list/weigh", url.Values{"jar": {code}, "grams": {""}, "step": {lab.ShowNumbers([]int{n})}, "last": {"yes"}}).to("/batches/B1/list/weigh")
	for _, path := range []string{"/batches/B1/list/weigh/sheet.pdf", "/batches/B1/list/inoculate/sheet.pdf?amount=2+mL", "/cooks/1/list.pdf?paper=letter"} {
		if a := x.get(path).status(http.StatusOK); !bytes.HasPrefix(a.Body.Bytes(), []byte("%PDF-")) {
			t.Errorf("%s is no PDF", path)
		}
	}
	x.get("/batches/B1/list/nothing").status(http.StatusNotFound)
	x.get("/cooks/1/list.pdf?paper=a5").status(http.StatusUnprocessableEntity)
}
