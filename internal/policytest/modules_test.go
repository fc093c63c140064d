package policytest

import (
	"encoding/json"
	"fmt"
	"maps"
	"os"
	"os/exec"
	"slices"
	"strings"
	"testing"
)

// use says where a module may be imported, and why we have it at all.
type use struct {
	in  []string // packages; none means tests and their helpers only
	why string
}

// allowedModules are all modules that our code may import. The tests of every
// package may import those of a use without packages.
var allowedModules = map[string]use{
	"gonum.org/v1/gonum": {
		[]string{"calc/stats", "calc/trialstat", "calc/substrate", "calc/thermal", "calc/survive", "calc/growth", "calc/pool"},
		"distributions and linear algebra: ADR 0005",
	},
	"modernc.org/sqlite":               {[]string{"store/sqldb"}, "SQLite without cgo: ADR 0002"},
	"github.com/jackc/pgx/v5":          {[]string{"store/sqldb", "testdb"}, "PostgreSQL: ADR 0002"},
	"github.com/pressly/goose/v3":      {[]string{"store/sqldb"}, "migrations: ADR 0003"},
	"github.com/google/uuid":           {[]string{"lab", "app", "api", "store/sqldb", "store/storetest"}, "UUIDv7: ADR 0006"},
	"github.com/alecthomas/kong":       {[]string{"cmd/pinset", "cli"}, "commands and flags: ADR 0007"},
	"golang.org/x/crypto":              {[]string{"web"}, "Argon2id, for the passphrase at the door: ADR 0011"},
	"github.com/google/jsonschema-go":  {[]string{"reckoner", "api"}, "the schema of each calculator, and answers held to theirs: ADR 0010"},
	"github.com/rogpeppe/go-internal":  {nil, "testscript, for the commands: ADR 0008"},
	"pgregory.net/rapid":               {nil, "laws tried on many inputs: ADR 0008"},
	"codeberg.org/go-pdf/fpdf":         {[]string{"picture", "report", "label"}, "PDF: ADR 0012"},
	"github.com/go-fonts/dejavu":       {[]string{"picture", "report", "label"}, "the letters of printed sheets: ADR 0012"},
	"github.com/arran4/golang-ical":    {[]string{"calendar"}, "writes iCalendar feeds: ADR 0015"},
	"github.com/boombuler/barcode":     {[]string{"label"}, "writes QR symbols: ADR 0013"},
	"github.com/makiuchi-d/gozxing":    {[]string{"scan", "label"}, "reads QR symbols; label only in its tests: ADR 0013"},
	"golang.org/x/image":               {[]string{"photo"}, "reads WebP and scales pictures: ADR 0020"},
	"github.com/xuri/excelize/v2":      {[]string{"workbook"}, "workbooks: ADR 0014"},
	"github.com/chromedp/chromedp":     {nil, "pages in a real browser: ADR 0008"},
	"github.com/chromedp/cdproto":      {nil, "what chromedp says to the browser: ADR 0008"},
	"golang.org/x/net":                 {nil, "reads pages back, in their tests: ADR 0008"},
	"github.com/google/go-cmp":         {nil, "differences that can be read: ADR 0008"},
	"github.com/danielgtaylor/huma/v2": {[]string{"api"}, "operations and their OpenAPI document: ADR 0016"},
}

// allowedTools are the commands that go.mod pins for work on the code.
var allowedTools = map[string]string{
	"golang.org/x/perf/cmd/benchstat":    "compares benchmarks",
	"golang.org/x/vuln/cmd/govulncheck":  "finds known vulnerabilities that we can reach",
	"honnef.co/go/tools/cmd/staticcheck": "finds faults that the compiler passes",
	"mvdan.cc/gofumpt":                   "one format",
}

// moduleFaults holds the imports of a tree, and its go.mod, to a table of
// modules.
func moduleFaults(t *tree, table map[string]use, importing map[string]row) []string {
	var faults []string
	used := map[string]bool{}
	for _, s := range t.sources {
		for _, imported := range slices.Sorted(maps.Keys(s.imports())) {
			if !strings.Contains(strings.Split(imported, "/")[0], ".") {
				continue // ours, or the standard library
			}
			name, u, known := moduleOf(imported, table)
			used[name] = true
			if !known {
				faults = append(faults, fmt.Sprintf("%s imports %s: no allowed module has it; an ADR must come first", s.path, imported))
			} else if !slices.Contains(u.in, s.pkg) && !(u.in == nil && (s.test || importing[s.pkg].helper)) {
				faults = append(faults, fmt.Sprintf("%s imports %s, which %s", s.path, imported, u.where()))
			}
		}
	}
	for _, name := range slices.Sorted(maps.Keys(table)) {
		if !used[name] {
			faults = append(faults, "module "+name+" is allowed, but nobody imports it")
		}
	}
	return append(faults, requireFaults(t, used)...)
}

func moduleOf(imported string, table map[string]use) (name string, u use, known bool) {
	for name, u := range table {
		if imported == name || strings.HasPrefix(imported, name+"/") {
			return name, u, true
		}
	}
	return "", use{}, false
}

func (u use) where() string {
	if u.in == nil {
		return "is for tests only"
	}
	return "is for " + strings.Join(u.in, ", ") + " only"
}

// requireFaults compares go.mod with the modules that are used: what is
// imported stands there without "// indirect", all else with it or as a tool.
func requireFaults(t *tree, used map[string]bool) []string {
	var faults []string
	for _, r := range requirements(t.text["go.mod"]) {
		switch {
		case used[r.name] && r.indirect:
			faults = append(faults, "go.mod calls "+r.name+" indirect, but we import it: run go mod tidy")
		case !used[r.name] && !r.indirect:
			faults = append(faults, "go.mod requires "+r.name+", but nobody imports it: run go mod tidy")
		}
	}
	return faults
}

// requirement is one line of the requirements of a go.mod.
type requirement struct {
	name, version string
	indirect      bool
}

func requirements(gomod []byte) []requirement {
	var all []requirement
	for line := range strings.Lines(string(gomod)) {
		fields := strings.Fields(strings.TrimPrefix(line, "require "))
		if len(fields) >= 2 && strings.HasPrefix(fields[1], "v") {
			all = append(all, requirement{fields[0], fields[1], strings.Contains(line, "// indirect")})
		}
	}
	return all
}

// toolFaults compares the tools of go.mod with a table of them.
func toolFaults(t *tree, table map[string]string) []string {
	var faults []string
	pinned := map[string]bool{}
	inTools := false
	for _, line := range strings.Split(string(t.text["go.mod"]), "\n") {
		line = strings.TrimSpace(line)
		one, single := strings.CutPrefix(line, "tool ")
		switch {
		case line == "tool (":
			inTools = true
		case line == ")":
			inTools = false
		case single:
			pinned[one] = true
		case inTools && line != "":
			pinned[line] = true
		}
	}
	for _, name := range slices.Sorted(maps.Keys(pinned)) {
		if table[name] == "" {
			faults = append(faults, "go.mod pins the tool "+name+", for which there is no reason here")
		}
	}
	for _, name := range slices.Sorted(maps.Keys(table)) {
		if !pinned[name] {
			faults = append(faults, "the tool "+name+" is not pinned in go.mod")
		}
	}
	return faults
}

func TestModules(t *testing.T) {
	inHouse(t, func(t *tree) []string { return moduleFaults(t, allowedModules, importTable) })
	inHouse(t, func(t *tree) []string { return toolFaults(t, allowedTools) })
	for name, u := range allowedModules {
		if u.why == "" {
			t.Errorf("%s is allowed without a reason", name)
		}
	}
}

func TestModuleFaults(t *testing.T) {
	table := map[string]use{
		"example.org/sum": {[]string{"calc"}, "sums"},
		"example.org/try": {nil, "tests"},
	}
	rows := map[string]row{"trydb": {helper: true}}
	whole := func(files sketch) sketch {
		all := sketch{
			"go.mod":                  "module pinset\nrequire (\n\texample.org/sum v1.0.0\n\texample.org/try v1.0.0\n\texample.org/deep v1.0.0 // indirect\n)\n",
			"internal/calc/c.go":      `import "example.org/sum/fast"`,
			"internal/calc/c_test.go": `import "example.org/try"`,
			"internal/trydb/t.go":     `import "example.org/try"`,
		}
		maps.Copy(all, files)
		return all
	}
	breaches(t, func(t *tree) []string { return moduleFaults(t, table, rows) }, []breach{
		{"allowed", whole(nil), ""},
		{"unknown", whole(sketch{"internal/web/w.go": `import "example.org/other"`}), "no allowed module has it"},
		{"like a known one", whole(sketch{"internal/web/w.go": `import "example.org/summary"`}), "no allowed module has it"},
		{"elsewhere", whole(sketch{"internal/web/w.go": `import "example.org/sum"`}), "is for calc only"},
		{"test module in the program", whole(sketch{"internal/calc/d.go": `import "example.org/try"`}), "is for tests only"},
		{"not used", sketch{
			"internal/calc/c.go": `import "example.org/sum"`,
		}, "module example.org/try is allowed, but nobody imports it"},
		{"indirect but imported", whole(sketch{"go.mod": "require example.org/sum v1.0.0 // indirect"}), "but we import it"},
		{"required but not imported", whole(sketch{"go.mod": "require example.org/deep v1.0.0"}), "but nobody imports it"},
	})
	breaches(t, func(t *tree) []string { return toolFaults(t, map[string]string{"a.org/fmt": "format"}) }, []breach{
		{"tool pinned", sketch{"go.mod": "tool a.org/fmt\n"}, ""},
		{"tool without a reason", sketch{"go.mod": "tool (\n\ta.org/fmt\n\ta.org/lint\n)\n"}, "a.org/lint"},
		{"tool not pinned", sketch{"go.mod": "module pinset\n"}, "is not pinned"},
	})
}

// TestLibcIsTheOneThatSQLiteWasMadeWith: modernc.org/sqlite is C translated
// for one version of modernc.org/libc, and its go.mod names that version.
// With another one it may crash or compute wrongly, and nothing but this test
// would say so.
func TestLibcIsTheOneThatSQLiteWasMadeWith(t *testing.T) {
	const libc = "modernc.org/libc"
	out, err := exec.Command("go", "list", "-m", "-json", "modernc.org/sqlite").Output()
	if err != nil {
		t.Fatalf("go list -m modernc.org/sqlite: %v", err)
	}
	var sqlite struct{ Version, GoMod string }
	if err := json.Unmarshal(out, &sqlite); err != nil {
		t.Fatal(err)
	}
	theirs, err := os.ReadFile(sqlite.GoMod)
	if err != nil {
		t.Fatal(err)
	}
	repository, err := house()
	if err != nil {
		t.Fatal(err)
	}
	want, got := required(theirs, libc), required(repository.text["go.mod"], libc)
	if want == "" || got != want {
		t.Errorf("go.mod requires %s %q, but sqlite %s was made with %q", libc, got, sqlite.Version, want)
	}
}

// required returns the version of a module that a go.mod asks for, "" if none.
func required(gomod []byte, name string) string {
	for _, r := range requirements(gomod) {
		if r.name == name {
			return r.version
		}
	}
	return ""
}

func TestRequirements(t *testing.T) {
	got := requirements([]byte("module m\nrequire a.org/x v1.2.0\nrequire (\n\ta.org/y v0.3.0 // indirect\n)\nreplace a.org/z => ../z\n"))
	want := []requirement{{"a.org/x", "v1.2.0", false}, {"a.org/y", "v0.3.0", true}}
	if !slices.Equal(got, want) {
		t.Errorf("requirements are %v, want %v", got, want)
	}
}
