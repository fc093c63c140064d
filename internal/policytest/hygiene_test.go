package policytest

import (
	"bytes"
	"fmt"
	"regexp"
	"slices"
	"strings"
	"testing"
)

// unwanted is a text that files must not hold. The patterns are put together
// from parts, so that this file does not hold them either.
type unwanted struct {
	pattern *regexp.Regexp
	why     string
	but     []string // folders, files or endings in which it may stand
}

// path returns a pattern of a folder at the root of a machine.
func folderAtRoot(name string) *regexp.Regexp {
	return regexp.MustCompile(`(?m)(^|[^\w./-])/` + name + `(/|\b[^\w-]|$)`)
}

var allUnwanted = []unwanted{
	{folderAtRoot("work"), "a path of one machine", nil},
	{folderAtRoot("root"), "a path of one machine", nil},
	{folderAtRoot("home"), "a path of one machine", nil},
	{folderAtRoot("tmp"), "a path of one machine: ask for a temporary folder", []string{"_test.go", "test/with-postgres.sh"}},
	{
		regexp.MustCompile(`proxy\.golang` + `\.org|deb\.debian` + `\.org|registry\.npmjs` + `\.org`),
		"where packages come from is for the machine to say", nil,
	},
	{regexp.MustCompile(`\bTO` + `DO\b|\bFIX` + `ME\b`), "an open end: close it, or write an issue", nil},
	{regexp.MustCompile(`(?i)coming` + ` soon`), "a promise: show what there is", nil},
}

// hygieneFaults finds lines with an unwanted text.
func hygieneFaults(t *tree, all []unwanted) []string {
	var faults []string
	for _, p := range t.paths {
		for _, u := range all {
			if slices.ContainsFunc(u.but, func(b string) bool { return strings.HasPrefix(p, b) || strings.HasSuffix(p, b) }) {
				continue
			}
			text := t.text[p]
			for _, at := range u.pattern.FindAllIndex(text, -1) {
				found := strings.TrimSpace(string(text[at[0]:at[1]]))
				line := 1 + bytes.Count(text[:at[0]+1], []byte("\n"))
				fault := fmt.Sprintf("%s:%d: %q is %s", p, line, found, u.why)
				if !slices.Contains(faults, fault) {
					faults = append(faults, fault)
				}
			}
		}
	}
	return faults
}

func TestHygiene(t *testing.T) {
	inHouse(t, func(t *tree) []string { return hygieneFaults(t, allUnwanted) })
}

func TestHygieneFaults(t *testing.T) {
	const name = "doc/overview.md"
	breaches(t, func(t *tree) []string { return hygieneFaults(t, allUnwanted) }, []breach{
		{"clean", sketch{
			name:                   "the /working of a figure, /workshop, a/work/b, ../root, /roots, https://example.org/home/x\n",
			"internal/a/a_test.go": "// /" + "tmp/x\n",
		}, ""},
		{"work", sketch{name: "see /" + "work/main\n"}, "doc/overview.md:1"},
		{"work at the end", sketch{name: "\nsee `/" + "work`\n"}, "doc/overview.md:2"},
		{"root", sketch{name: "(/" + "root/x)\n"}, "path of one machine"},
		{"home", sketch{name: "/" + "home/someone\n"}, "path of one machine"},
		{"tmp", sketch{name: "cd /" + "tmp/x /" + "tmp/y\n"}, "temporary folder"},
		{"modules", sketch{name: "https://proxy.golang" + ".org\n"}, "where packages come from"},
		{"packages", sketch{name: "http://deb.debian" + ".org/x\n"}, "where packages come from"},
		{"npm", sketch{name: "registry.npmjs" + ".org\n"}, "where packages come from"},
		{"open end", sketch{name: "TO" + "DO: more\n"}, "an open end"},
		{"promise", sketch{name: "Coming" + " soon\n"}, "a promise"},
	})
}
