package api

import (
	"bytes"
	"encoding/json"
	"image/jpeg"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"
	"time"

	"github.com/google/jsonschema-go/jsonschema"
	"github.com/google/uuid"

	"pinset/internal/app"
	"pinset/internal/demo"
	"pinset/internal/lab"
	"pinset/internal/reckoner"
	"pinset/internal/store/sqldb"
	"pinset/internal/testfile"
)

// house is the demo farm behind the handler.
type house struct {
	t       *testing.T
	handler http.Handler
	farm    *app.Farm
	doc     map[string]any
}

func newHouse(t *testing.T) *house {
	t.Helper()
	db, err := sqldb.Open(t.Context(), testfile.New(t))
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := db.Close(); err != nil {
			t.Error(err)
		}
	})
	now := time.Date(2026, 3, 20, 12, 0, 0, 0, time.UTC)
	begin := func(o ...app.Option) *app.Farm { return app.New(db, append(o, app.WithFiles(db.Files()))...) }
	if err := demo.Plant(t.Context(), begin, now); err != nil {
		t.Fatal(err)
	}
	farm := begin(app.WithClock(func() time.Time { return now }))
	handler, err := New(farm, "test")
	if err != nil {
		t.Fatal(err)
	}
	h := &house{t: t, handler: handler, farm: farm}
	if err := json.Unmarshal(h.ask("GET", "/openapi.json", "", "").Body.Bytes(), &h.doc); err != nil {
		t.Fatal(err)
	}
	return h
}

func (h *house) ask(method, path, body, key string) *httptest.ResponseRecorder {
	h.t.Helper()
	r := httptest.NewRequest(method, Prefix+path, strings.NewReader(body))
	if method == "POST" {
		r.Header.Set("Content-Type", "application/json")
	}
	if key != "" {
		r.Header.Set("Idempotency-Key", key)
	}
	w := httptest.NewRecorder()
	h.handler.ServeHTTP(w, r)
	return w
}

// calls are one call of each operation of records, by its method and path in
// the document. DEED, COOK and PHOTO are filled in.
var calls = map[string][3]string{
	"get /today":                        {"GET", "/today"},
	"get /batches":                      {"GET", "/batches"},
	"get /batches/{batch}":              {"GET", "/batches/B7"},
	"get /batches/{batch}/jars":         {"GET", "/batches/B7/jars?after=3"},
	"get /batches/{batch}/forecast":     {"GET", "/batches/B7/forecast"},
	"get /forecast":                     {"GET", "/forecast"},
	"get /forecast/past":                {"GET", "/forecast/past"},
	"get /batches/{batch}/photos":       {"GET", "/batches/B7/photos"},
	"get /jars/{jar}":                   {"GET", "/jars/B7.2"},
	"get /jars/{jar}/photos":            {"GET", "/jars/B7.2/photos?after="},
	"get /photos/{photo}":               {"GET", "/photos/PHOTO"},
	"get /photos/{photo}/picture":       {"GET", "/photos/PHOTO/picture?size=small"},
	"get /cooks":                        {"GET", "/cooks"},
	"get /cultures":                     {"GET", "/cultures"},
	"get /trials":                       {"GET", "/trials"},
	"get /trials/{trial}/verdict":       {"GET", "/trials/Millet%20or%20oats/verdict"},
	"get /records/{noun}":               {"GET", "/records/containers?after=0"},
	"post /records/{noun}":              {"POST", "/records/containers", `{"rows": [{"container": "tall jar", "bore mm": "76"}]}`},
	"get /species/{species}":            {"GET", "/species/oyster"},
	"post /seen":                        {"POST", "/seen", `{"jars": "B7·2-4", "sign": "clean"}`},
	"post /picks":                       {"POST", "/picks", `{"picks": [{"jar": "B7.2", "weight": "12.5 g"}]}`},
	"post /batches/{batch}/inoculate":   {"POST", "/batches/B8/inoculate", `{"amount": "2 mL"}`},
	"post /cooks/{cook}/marks":          {"POST", "/cooks/COOK/marks", `{"event": "reached", "at": "2026-03-20T10:00:00Z"}`},
	"post /cultures/{culture}/keepings": {"POST", "/cultures/LC-5/keepings", `{"did": "tested", "finding": "clean"}`},
	"post /deeds/{deed}/undo":           {"POST", "/deeds/DEED/undo"},
}

// The document is OpenAPI 3.1 and true: each operation in it answers a call
// with what it says it answers, and no operation is left untried.
func TestTheDocumentIsTrue(t *testing.T) {
	h := newHouse(t)
	if v, _ := h.doc["openapi"].(string); !strings.HasPrefix(v, "3.1") {
		t.Errorf("the document is of version %q", v)
	}
	cook, err := h.farm.AddCook(t.Context(), app.NewCook{Hold: "60 min", Gauge: "15 psi", Layers: 2})
	if err != nil {
		t.Fatal(err)
	}
	deed := h.written(h.ask("POST", "/seen", `{"jars": "B7·5", "sign": "clean"}`, "")).Deed
	// A visit that contradicts an earlier one is asked about in the answer, and
	// on the jar until the entry is taken back.
	back := h.written(h.ask("POST", "/seen", `{"jars": "B7·5", "stage": "growth"}`, ""))
	if len(back.Questions) != 1 || back.Questions[0].Jar != "B7·5" || !strings.Contains(back.Questions[0].Text, "Which of the two visits is right?") {
		t.Errorf("a jar seen backwards in time: %+v", back)
	}
	if a := h.ask("GET", "/jars/B7·5", "", ""); !strings.Contains(a.Body.String(), "Which of the two visits is right?") {
		t.Errorf("the jar says %s", a.Body)
	}
	h.ask("POST", "/deeds/"+back.Deed+"/undo", "", "")
	photos := h.photos("/batches/B7/photos").Items
	if len(photos) == 0 {
		t.Fatal("the demo farm has no photos of B7")
	}
	tried := 0
	for path, item := range h.doc["paths"].(map[string]any) {
		for method, op := range item.(map[string]any) {
			name := method + " " + strings.TrimPrefix(path, Prefix)
			call, ok := calls[name]
			if calc, is := strings.CutPrefix(name, "post /calc/"); is {
				call, ok = [3]string{"POST", "/calc/" + calc, `{}`}, true
			}
			if !ok {
				t.Errorf("no test calls %s", name)
				continue
			}
			call[1] = strings.NewReplacer("DEED", deed, "COOK", cook.String()[len("cook "):], "PHOTO", photos[0].Photo).Replace(call[1])
			a := h.ask(call[0], call[1], call[2], "")
			status := "200"
			if strings.HasPrefix(name, "post /calc/") && a.Code == http.StatusUnprocessableEntity {
				status = "422"
			} else if a.Code != http.StatusOK {
				t.Errorf("%s: status %d: %s", name, a.Code, a.Body)
				continue
			}
			h.holds(name, op.(map[string]any), status, a.Body.Bytes())
			tried++
		}
	}
	if want := len(calls) + len(reckoner.All()); tried != want {
		t.Errorf("%d operations were tried, want %d", tried, want)
	}
}

// holds checks a body against the schema that the document gives for it.
func (h *house) holds(name string, op map[string]any, status string, raw []byte) {
	h.t.Helper()
	response, ok := op["responses"].(map[string]any)[status].(map[string]any)
	if !ok {
		h.t.Errorf("%s: the document has no answer %s", name, status)
		return
	}
	for kind, media := range response["content"].(map[string]any) {
		if kind == "image/jpeg" {
			if _, err := jpeg.Decode(bytes.NewReader(raw)); err != nil {
				h.t.Errorf("%s answers no JPEG: %v", name, err)
			}
			continue
		}
		text, err := json.Marshal(map[string]any{"$defs": h.doc["components"].(map[string]any)["schemas"], "allOf": []any{media.(map[string]any)["schema"]}})
		if err != nil {
			h.t.Fatal(err)
		}
		text = bytes.ReplaceAll(text, []byte("#/components/schemas/"), []byte("#/$defs/"))
		var schema jsonschema.Schema
		if err := json.Unmarshal(text, &schema); err != nil {
			h.t.Fatalf("%s: %v", name, err)
		}
		resolved, err := schema.Resolve(nil)
		if err != nil {
			h.t.Fatalf("%s: %v", name, err)
		}
		var value any
		if err := json.Unmarshal(raw, &value); err != nil {
			h.t.Fatalf("%s: %v in %s", name, err, raw)
		}
		if err := resolved.Validate(value); err != nil {
			h.t.Errorf("%s answers what the document does not say: %v\n%.300s", name, err, raw)
		}
	}
}

func (h *house) written(a *httptest.ResponseRecorder) Written {
	h.t.Helper()
	var w Written
	if a.Code != http.StatusOK {
		h.t.Fatalf("status %d: %s", a.Code, a.Body)
	}
	if err := json.Unmarshal(a.Body.Bytes(), &w); err != nil {
		h.t.Fatal(err)
	}
	return w
}

// The same key twice is written once; undone, it is taken back.
func TestPostsAreIdempotent(t *testing.T) {
	h := newHouse(t)
	key := uuid.Must(uuid.NewV7()).String()
	const pick = `{"picks": [{"jar": "B7.2", "weight": "12.5"}]}`
	first := h.written(h.ask("POST", "/picks", pick, key))
	again := h.written(h.ask("POST", "/picks", pick, key))
	if first.Repeat || !again.Repeat || first.Deed != again.Deed {
		t.Errorf("first %+v, again %+v", first, again)
	}
	grams := func() float64 {
		var j Jar
		if err := json.Unmarshal(h.ask("GET", "/jars/B7.2", "", "").Body.Bytes(), &j); err != nil {
			t.Fatal(err)
		}
		return j.Grams
	}
	if grams() != 12.5 {
		t.Errorf("the jar gave %g g, want 12.5 once", grams())
	}
	h.written(h.ask("POST", "/deeds/"+first.Deed+"/undo", "", ""))
	if grams() != 0 {
		t.Errorf("taken back, the jar gave %g g", grams())
	}
}

// What is wrong comes as an RFC 9457 problem: what, where and what to do.
func TestProblems(t *testing.T) {
	h := newHouse(t)
	for _, c := range []struct {
		method, path, body string
		status             int
		says, mends        string
	}{
		{"GET", "/batches/B99", "", 404, "B99", ""},
		{"GET", "/jars/ZZZZZ", "", 404, "", ""},
		{"GET", "/nowhere", "", 404, "", ""},
		{"POST", "/picks", `{"picks": [{"jar": "B7.2", "weight": "heavy"}]}`, 422, "heavy", "such as"},
		{"POST", "/picks", `{"picks": []}`, 422, "", ""},
		{"POST", "/seen", `{"jars": "B7·2", "sing": "clean"}`, 422, "", "sing"},
		{"POST", "/seen", `{"jars": `, 400, "", ""},
		{"POST", "/seen", `{"jars": "B7·2", "note": "` + strings.Repeat("x", mostBytes) + `"}`, 413, "", ""},
		{"POST", "/calc/steam", `{"altitude_m": 420, "gauge_pis": 15}`, 422, "gauge_pis", "gauge_psi"},
		{"POST", "/calc/steam", `[]`, 422, "", ""},
		{"POST", "/deeds/x/undo", "", 422, "", ""},
	} {
		a := h.ask(c.method, c.path, c.body, "")
		if a.Code != c.status {
			t.Errorf("%s %s: status %d, want %d: %.200s", c.method, c.path, a.Code, c.status, a.Body)
			continue
		}
		if c.path == "/nowhere" {
			continue
		}
		var p struct {
			Status int    `json:"status"`
			Detail string `json:"detail"`
			Errors []struct{ Message, Location string }
		}
		if err := json.Unmarshal(a.Body.Bytes(), &p); err != nil || p.Status != c.status || a.Header().Get("Content-Type") != "application/problem+json" {
			t.Errorf("%s %s: %v in %s of type %s", c.method, c.path, err, a.Body, a.Header().Get("Content-Type"))
		}
		if !strings.Contains(p.Detail, c.says) || !strings.Contains(a.Body.String(), c.mends) {
			t.Errorf("%s %s says %s, want %q and %q", c.method, c.path, a.Body, c.says, c.mends)
		}
	}
}

// Jars come a page at a time, and all of them come.
func TestPages(t *testing.T) {
	h := newHouse(t)
	var page list[Jar]
	seen := 0
	for path := "/batches/B7/jars"; ; path = "/batches/B7/jars?after=" + *page.Next {
		page = list[Jar]{}
		if err := json.Unmarshal(h.ask("GET", path, "", "").Body.Bytes(), &page); err != nil {
			t.Fatal(err)
		}
		seen += len(page.Items)
		if page.Next == nil {
			break
		}
	}
	if seen != 22 {
		t.Errorf("%d jars came, want 20 and 2 blanks", seen)
	}
}

func (h *house) photos(path string) (page list[photo]) {
	h.t.Helper()
	if err := json.Unmarshal(h.ask("GET", path, "", "").Body.Bytes(), &page); err != nil {
		h.t.Fatal(err)
	}
	return page
}

// Photos come with what is known of them and in three sizes; what was taken
// off the pages does not.
func TestPhotos(t *testing.T) {
	h := newHouse(t)
	all := h.photos("/batches/B7/photos").Items
	first := all[len(all)-1]
	if len(all) != 8 || first.Age == nil || *first.Age != 5 || first.Since != "inoculation" || first.Arm == "" || first.Note == "" || !strings.HasPrefix(first.Jar, "B7·") {
		t.Errorf("%d photos, the first of them %+v", len(all), first)
	}
	if behind := h.photos("/batches/B7/photos?after=" + all[5].Photo); len(behind.Items) != 2 || behind.Next != nil {
		t.Errorf("behind the sixth of eight come %d, next %v", len(behind.Items), behind.Next)
	}
	if of := h.photos("/jars/" + first.Code + "/photos").Items; len(of) != 4 {
		t.Errorf("one of two jars has %d of eight photos", len(of))
	}
	for size, want := range map[string]int{"whole": 480, "middle": 480, "small": 240} {
		a := h.ask("GET", "/photos/"+first.Photo+"/picture?size="+size, "", "")
		seen, err := jpeg.Decode(a.Body)
		if err != nil || seen.Bounds().Dy() != want || a.Header().Get("Content-Type") != "image/jpeg" {
			t.Errorf("%s: status %d, %v, type %s", size, a.Code, err, a.Header().Get("Content-Type"))
		}
	}
	if a := h.ask("GET", "/photos/"+first.Photo+"/picture?size=huge", "", ""); a.Code != http.StatusUnprocessableEntity {
		t.Errorf("a size that is none: status %d", a.Code)
	}
	if _, err := h.farm.RemovePhoto(t.Context(), app.Act{}, lab.EntryID(first.Photo), false); err != nil {
		t.Fatal(err)
	}
	for _, path := range []string{"/photos/" + first.Photo, "/photos/" + first.Photo + "/picture", "/jars/ZZZZZ/photos", "/batches/B99/photos"} {
		if a := h.ask("GET", path, "", ""); a.Code != http.StatusNotFound {
			t.Errorf("%s: status %d, want 404", path, a.Code)
		}
	}
}

// Rows under the headings of a sheet are taken in once, refused with their
// number, and come out under the same headings.
func TestRowsGoInAndOut(t *testing.T) {
	h := newHouse(t)
	const rows = `{"rows": [{"culture": "K-1", "form": "slant", "made": "2026-01-05"}, {"culture": "K-2", "form": "LC", "parent": "K-1", "volume": "600 mL", "made": "2026-01-20"}]}`
	var got tookIn
	read := func(a *httptest.ResponseRecorder) {
		t.Helper()
		got = tookIn{}
		if err := json.Unmarshal(a.Body.Bytes(), &got); a.Code != http.StatusOK || err != nil {
			t.Fatalf("status %d: %s", a.Code, a.Body)
		}
	}
	if read(h.ask("POST", "/records/cultures", rows, "")); !got.Stored || got.New != 2 {
		t.Errorf("the first time: %+v", got)
	}
	if read(h.ask("POST", "/records/cultures", rows, "")); got.Stored || got.Same != 2 {
		t.Errorf("the second time: %+v", got)
	}
	if read(h.ask("POST", "/records/cultures", `{"rows": [{"culture": "K-3", "form": "cake"}]}`, "")); got.Stored || len(got.Refused) != 1 || got.Refused[0].Row != 1 {
		t.Errorf("a row that can not be: %+v", got)
	}
	var page struct{ Items []Row }
	if err := json.Unmarshal(h.ask("GET", "/records/cultures", "", "").Body.Bytes(), &page); err != nil {
		t.Fatal(err)
	}
	last := page.Items[len(page.Items)-1]
	if last["culture"] != "K-2" || last["volume mL"] != 600.0 || last["made"] != "2026-01-20" || last["parent"] != "K-1" {
		t.Errorf("comes out as %v", last)
	}
	if a := h.ask("GET", "/records/money", "", ""); a.Code != http.StatusUnprocessableEntity {
		t.Errorf("an unknown noun: status %d", a.Code)
	}
}
