package web

import (
	"bytes"
	"cmp"
	"crypto/rand"
	"errors"
	"fmt"
	"io"
	"maps"
	"net/http"
	"sync"
	"time"

	"pinset/internal/app"
	"pinset/internal/ingest"
	"pinset/internal/lab"
)

// importPage takes a sheet of jars in: first it says what would happen.
type importPage struct {
	frame
	Form    form
	Factors []lab.Factor
	Name    string
	Held    string // what the file is called between the two steps
	Report  *app.ImportReport
}

// Nouns lists what can be taken out.
func (*importPage) Nouns() []string { return app.ExportNouns }

// Noun is what the sheet holds.
func (p *importPage) Noun() string { return sheetNoun(p.Form) }

// NounField asks what the sheet holds.
func (p *importPage) NounField() field {
	x := p.Form.Field("noun", "Each row is one of")
	for _, n := range append([]string{ingest.Jars}, ingest.RecordNouns...) {
		x.Options = append(x.Options, choice{n, sheetLabels[n], n == p.Noun()})
	}
	return x
}

// sheetLabels say what a row of each sheet is.
var sheetLabels = map[string]string{
	ingest.Jars: "jars, with what became of them", "cultures": "cultures", "lots": "deliveries of ingredients (lots)", "ingredients": "ingredients, with figures of your own",
	"containers": "containers", "recipes": "lines of recipes", "seen": "things seen on jars", "picks": "picks weighed",
}

// Says is what happened, or would happen, in a few words.
func (p *importPage) Says() string {
	r := p.Report
	if p.Noun() != ingest.Jars {
		return fmt.Sprintf("%s of %s new, %d there already", count(r.Entries, "row"), p.Noun(), r.Same)
	}
	says := "No new jar"
	if r.Jars > 0 {
		says = count(r.Jars, "new jar")
	}
	if r.Known > 0 {
		says += fmt.Sprintf(", %d known already", r.Known)
	}
	return says
}

func (importPage) template() string { return "house/import" }

// getImport serves GET /import.
func (s *server) getImport(w http.ResponseWriter, r *http.Request) error {
	return s.showImport(w, r, http.StatusOK, &importPage{})
}

func (s *server) showImport(w http.ResponseWriter, r *http.Request, status int, p *importPage) error {
	p.Title, p.Section, p.Factors = "Bring a sheet in", "/all", lab.Factors
	return s.show(w, r, status, p)
}

// postImport serves POST /import: reads the file and stores nothing.
func (s *server) postImport(w http.ResponseWriter, r *http.Request) error {
	f := formOf(r)
	name, body, err := uploaded(r)
	if err == nil {
		var report app.ImportReport
		if report, err = s.importSheet(r, f, name, body, app.ImportOptions{DryRun: true}); err == nil {
			return s.showImport(w, r, http.StatusOK, &importPage{Form: f, Name: name, Held: s.held.keep(name, body, s.now()), Report: &report})
		}
	}
	if f, err = f.with(err); err != nil {
		return err
	}
	return s.showImport(w, r, http.StatusUnprocessableEntity, &importPage{Form: f})
}

// sheetPlaces are where what was taken in is seen.
var sheetPlaces = map[string]string{
	"cultures": "/cultures", "lots": "/supplies", "ingredients": "/supplies", "containers": "/supplies", "recipes": "/supplies", "seen": "/batches", "picks": "/crop",
}

// postImportAgain serves POST /import/again: reads the held file once more, with
// what was said of its columns.
func (s *server) postImportAgain(w http.ResponseWriter, r *http.Request) error {
	f := formOf(r)
	name, body, ok := s.held.find(f.Get("held"), s.now())
	if !ok {
		return lab.Conflictf("choose it again", "the file is not held any more")
	}
	report, err := s.importSheet(r, f, name, body, app.ImportOptions{DryRun: true})
	if err == nil {
		return s.showImport(w, r, http.StatusOK, &importPage{Form: f, Name: name, Held: f.Get("held"), Report: &report})
	}
	if f, err = f.with(err); err != nil {
		return err
	}
	return s.showImport(w, r, http.StatusUnprocessableEntity, &importPage{Form: f})
}

// postImportKeep serves POST /import/keep: takes in what was shown before.
func (s *server) postImportKeep(w http.ResponseWriter, r *http.Request) error {
	f := formOf(r)
	name, body, ok := s.held.find(f.Get("held"), s.now())
	if !ok {
		return lab.Conflictf("choose it again", "the file is not held any more")
	}
	report, err := s.importSheet(r, f, name, body, app.ImportOptions{SkipBad: f.Get("skip") == "yes"})
	if err != nil {
		return err
	}
	said, err := saidHeadings(f)
	if err != nil {
		return err
	}
	if err := s.farm.KeepHeadings(r.Context(), name, said); err != nil {
		return err
	}
	if !report.Stored && len(report.Refused) > 0 {
		return s.showImport(w, r, http.StatusUnprocessableEntity, &importPage{Form: f, Name: name, Held: f.Get("held"), Report: &report})
	}
	if noun := sheetNoun(f); noun != ingest.Jars {
		remember(w, r, report.Deed, fmt.Sprintf("%s taken in: %s of %s new, %d there already", name, count(report.Entries, "row"), noun, report.Same))
		return seeOther(w, r, sheetPlaces[noun])
	}
	remember(w, r, "", fmt.Sprintf("%s taken in: %s new, %d known already", name, count(report.Jars, "jar"), report.Known))
	if len(report.Trials) == 1 {
		return seeOther(w, r, at("trials", report.Trials[0]))
	}
	return seeOther(w, r, "/batches")
}

// sheetNoun is what a form says that the sheet holds: jars, if nothing.
func sheetNoun(f form) string { return cmp.Or(f.Get("noun"), ingest.Jars) }

// importSheet reads the file and hands it to the use case.
func (s *server) importSheet(r *http.Request, f form, name string, body []byte, o app.ImportOptions) (app.ImportReport, error) {
	settings, err := s.farm.Settings(r.Context())
	if err != nil {
		return app.ImportReport{}, err
	}
	noun := sheetNoun(f)
	how := ingest.Options{Zone: settings.Zone, Now: s.now()}
	if how.Headings, err = s.headings(r, f, name); err != nil {
		return app.ImportReport{}, err
	}
	if days := f.Get("days"); days != "" {
		dayFirst := days == "first"
		how.DayFirst = &dayFirst
	}
	if noun != ingest.Jars {
		sheet, err := ingest.ReadRecords(bytes.NewReader(body), name, noun, how)
		if err != nil {
			return app.ImportReport{}, err
		}
		return s.farm.ImportRecords(r.Context(), act(r), sheet, o)
	}
	sheet, err := ingest.ReadJars(bytes.NewReader(body), name, how)
	if err != nil {
		return app.ImportReport{}, err
	}
	o.ArmsDifferIn = f.values["differ"]
	return s.farm.ImportJars(r.Context(), act(r), sheet, o)
}

// headings are what the headings of a file stand for: as remembered, and as
// just said.
func (s *server) headings(r *http.Request, f form, file string) (ingest.Aliases, error) {
	remembered, err := s.farm.Headings(r.Context(), file)
	if err != nil {
		return nil, err
	}
	said, err := saidHeadings(f)
	if err != nil {
		return nil, err
	}
	out := ingest.Remembered(sheetNoun(f), remembered)
	maps.Copy(out, said)
	return out, nil
}

// saidHeadings reads what was said of the headings in a form.
func saidHeadings(f form) (ingest.Aliases, error) {
	columns, as := f.All("column"), f.All("as")
	pairs := make(map[string]string, len(columns))
	for i := range min(len(columns), len(as)) {
		pairs[columns[i]] = as[i]
	}
	return ingest.ParseAliases(sheetNoun(f), pairs)
}

// HeadingChoices are what a column can be said to be.
func (p *importPage) HeadingChoices(as string) []choice {
	out := []choice{{"", "what its words say", as == ""}}
	for _, h := range ingest.HeadingsOf(p.Noun()) {
		out = append(out, choice{h, h, h == as})
	}
	return out
}

// Said are the pairs that go along to the taking in.
func (p *importPage) Said() []app.SheetColumn {
	var out []app.SheetColumn
	columns, as := p.Form.All("column"), p.Form.All("as")
	for i := range min(len(columns), len(as)) {
		out = append(out, app.SheetColumn{Header: columns[i], As: as[i]})
	}
	return out
}

// uploaded returns the file that was sent.
func uploaded(r *http.Request) (name string, body []byte, err error) {
	file, header, err := r.FormFile("file")
	if errors.Is(err, http.ErrMissingFile) || errors.Is(err, http.ErrNotMultipart) {
		return "", nil, lab.Invalidf("file", "choose a CSV file", "no file was chosen")
	}
	if err != nil {
		return "", nil, fmt.Errorf("web: read the file sent: %w", err)
	}
	defer file.Close()
	body, err = io.ReadAll(file)
	if err != nil {
		return "", nil, fmt.Errorf("web: read the file sent: %w", err)
	}
	return clipped(header.Filename, 100), body, nil
}

// heldFiles keeps files between the look at them and the taking in. A
// browser can not send a file again by itself.
type heldFiles struct {
	mu    sync.Mutex
	files []heldFile
}

type heldFile struct {
	key, name string
	body      []byte
	until     time.Time
}

// What is held at most.
const (
	holdFor   = 30 * time.Minute
	mostFiles = 4
)

func (h *heldFiles) keep(name string, body []byte, now time.Time) string {
	h.mu.Lock()
	defer h.mu.Unlock()
	if len(h.files) >= mostFiles {
		h.files = h.files[1:]
	}
	key := rand.Text()
	h.files = append(h.files, heldFile{key, name, body, now.Add(holdFor)})
	return key
}

func (h *heldFiles) find(key string, now time.Time) (name string, body []byte, ok bool) {
	h.mu.Lock()
	defer h.mu.Unlock()
	for _, f := range h.files {
		if f.key == key && now.Before(f.until) {
			return f.name, f.body, true
		}
	}
	return "", nil, false
}

// Mends reports whether the good rows could be taken in without the others.
func (p *importPage) Mends() bool {
	return p.Report != nil && len(p.Report.Refused) > 0 && p.Report.Rows > 0
}
