package policytest

import (
	"fmt"
	"go/ast"
	"regexp"
	"slices"
	"strings"
	"testing"
)

// tabled are the documents whose tables name tests.
var tabled = []string{"doc/security.md", "doc/access.md", "doc/conditions.md"}

var (
	quoted     = regexp.MustCompile("`([^`]+)`")
	testName   = regexp.MustCompile(`^(?:Test|Fuzz)[A-Z]\w*(?:/\w+)?$`)
	itemNumber = regexp.MustCompile(`^\d+(?:\.\d+\.\d+)?$`)
)

// standardFaults finds items of standards in the tables that name no test and do
// not say "not held", tests that are nowhere, and items that stand twice.
func standardFaults(t *tree) []string {
	var faults []string
	tests := t.tests()
	for _, doc := range tabled {
		faults = append(faults, t.itemFaults(doc, tests)...)
	}
	return faults
}

func (t *tree) itemFaults(doc string, tests map[string]bool) []string {
	var faults []string
	items := map[string]bool{}
	for i, line := range strings.Split(string(t.text[doc]), "\n") {
		cells := strings.Split(strings.Trim(line, "| "), " | ")
		if !itemNumber.MatchString(strings.Split(cells[0], " ")[0]) {
			continue
		}
		at := fmt.Sprintf("%s:%d: %s", doc, i+1, cells[0])
		if items[cells[0]] {
			faults = append(faults, at+" stands twice")
		}
		items[cells[0]] = true
		last := cells[len(cells)-1]
		named := quoted.FindAllStringSubmatch(last, -1)
		if len(cells) != 3 || len(named) == 0 && !strings.Contains(last, "not held") {
			faults = append(faults, at+" names no test")
		}
		for _, n := range named {
			if !testName.MatchString(n[1]) || !tests[n[1]] {
				faults = append(faults, at+" names "+n[1]+", which is no test here")
			}
		}
	}
	if len(items) == 0 {
		faults = append(faults, doc+" holds no item")
	}
	return faults
}

// tests returns the names of all tests and fuzz tests, those of the scripts
// as "TestScripts/serve".
func (t *tree) tests() map[string]bool {
	found := map[string]bool{}
	for _, s := range t.sources {
		for _, d := range s.file.Decls {
			if f, ok := d.(*ast.FuncDecl); ok && s.test && f.Recv == nil && testName.MatchString(f.Name.Name) {
				found[f.Name.Name] = true
			}
		}
	}
	const scripts = "cmd/pinset/testdata/script/"
	for _, p := range t.within(scripts, ".txtar") {
		found["TestScripts/"+strings.TrimSuffix(strings.TrimPrefix(p, scripts), ".txtar")] = true
	}
	return found
}

func TestStandardsNameTests(t *testing.T) { inHouse(t, standardFaults) }

func TestStandardFaults(t *testing.T) {
	const head = "| item | what is held | test |\n|---|---|---|\n"
	with := func(row string) sketch {
		return sketch{
			tabled[0]:                                head + row,
			tabled[1]:                                head + "| 1.1.1 | words | `TestDoor` |\n",
			tabled[2]:                                head + "| 1 wet hands | words | `TestDoor` |\n",
			"internal/web/a_test.go":                 "import \"testing\"\nfunc TestDoor(t *testing.T) {}\nfunc FuzzPath(f *testing.F) {}\nfunc TestingAid() {}\n",
			"internal/web/a.go":                      "func TestOfNothing() {}\n",
			"cmd/pinset/testdata/script/serve.txtar": "exec pinset\n",
		}
	}
	breaches(t, standardFaults, []breach{
		{"held", with("| 2.1.1 | long | `TestDoor`, `FuzzPath`, `TestScripts/serve` |\n"), ""},
		{"not held", with("| 2.1.8 | no meter | not held: there is one passphrase |\n"), ""},
		{"no test", with("| 2.1.1 | long | see the record |\n"), "names no test"},
		{"gone", with("| 2.1.1 | long | `TestGate` |\n"), "TestGate"},
		{"not a test", with("| 2.1.1 | long | `TestOfNothing` |\n"), "TestOfNothing"},
		{"no script", with("| 2.1.1 | long | `TestScripts/tls` |\n"), "TestScripts/tls"},
		{"twice", with("| 2.1.1 | long | `TestDoor` |\n| 2.1.1 | long | `TestDoor` |\n"), "twice"},
		{"nothing", with("no table\n"), "no item"},
		{"two cells", with("| 2.1.1 | `TestDoor` |\n"), "names no test"},
	})
}

// callsOut are the ways out of a program: to another machine, or to another
// program of this one. Only tests may go them.
var callsOut = []string{"http.Get", "http.Post", "http.PostForm", "http.Head", "http.DefaultClient", "http.Client", "net.Dial", "net.DialTimeout", "net.Dialer", "tls.Dial"}

// callFaults finds code that could be made to ask another machine, or to run
// a program, by what somebody typed.
func callFaults(t *tree) []string {
	var faults []string
	for _, s := range t.sources {
		if s.test || s.pkg == "testdb" || strings.HasPrefix(s.pkg, "browsertest") || strings.HasPrefix(s.pkg, "bench") {
			continue
		}
		for _, banned := range []string{"os/exec", "plugin", "net/rpc", "encoding/gob", "net/smtp"} {
			if _, has := s.imports()[banned]; has {
				faults = append(faults, s.path+" imports "+banned)
			}
		}
		ast.Inspect(s.file, func(n ast.Node) bool {
			sel, ok := n.(*ast.SelectorExpr)
			if !ok {
				return true
			}
			if x, ok := sel.X.(*ast.Ident); ok && slices.Contains(callsOut, x.Name+"."+sel.Sel.Name) {
				faults = append(faults, s.path+" uses "+x.Name+"."+sel.Sel.Name)
			}
			return true
		})
	}
	return faults
}

func TestNothingCallsOut(t *testing.T) { inHouse(t, callFaults) }

func TestCallFaults(t *testing.T) {
	breaches(t, callFaults, []breach{
		{"a server", sketch{"internal/web/a.go": "import \"net/http\"\nvar s http.Server\n"}, ""},
		{"a test", sketch{"internal/web/a_test.go": "import \"os/exec\"\nvar c exec.Cmd\n"}, ""},
		{"a client", sketch{"internal/web/a.go": "import \"net/http\"\nvar c http.Client\n"}, "http.Client"},
		{"a call", sketch{"internal/app/a.go": "import \"net/http\"\nfunc f() { http.Get(\"x\") }\n"}, "http.Get"},
		{"a program", sketch{"internal/app/a.go": "import \"os/exec\"\nvar c exec.Cmd\n"}, "os/exec"},
	})
}
