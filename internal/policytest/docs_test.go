package policytest

import (
	"fmt"
	"path"
	"strings"
	"testing"
)

// docFaults finds packages without a package comment, or with more than one,
// and comments that do not begin as Go's do.
func docFaults(t *tree) []string {
	var faults []string
	docs := map[string][]string{} // package: the files that hold a comment
	for _, s := range t.sources {
		if s.file.Doc == nil {
			continue
		}
		docs[s.pkg] = append(docs[s.pkg], s.path)
		begins := "Package " + path.Base(s.pkg) + " "
		if s.file.Name.Name == "main" {
			begins = "Command " + path.Base(s.pkg) + " "
		}
		if !strings.HasPrefix(s.file.Doc.Text(), begins) {
			faults = append(faults, fmt.Sprintf("%s: the package comment does not begin with %q", s.path, begins))
		}
	}
	for _, p := range t.packages() {
		if n := len(docs[p]); n != 1 {
			faults = append(faults, fmt.Sprintf("package %s has %d package comments, want one: %v", p, n, docs[p]))
		}
	}
	return faults
}

func TestPackageDocs(t *testing.T) { inHouse(t, docFaults) }

func TestDocFaults(t *testing.T) {
	breaches(t, docFaults, []breach{
		{"one", sketch{
			"internal/lab/a.go":      "// Package lab holds words.\npackage lab\n",
			"internal/lab/b.go":      "// A remark.\n\npackage lab\n",
			"cmd/pinset/main.go":     "// Command pinset runs.\npackage main\n",
			"internal/lab/c_test.go": "package lab_test\n",
		}, ""},
		{"none", sketch{"internal/lab/a.go": "package lab\n"}, "lab has 0"},
		{"two", sketch{
			"internal/lab/a.go": "// Package lab holds words.\npackage lab\n",
			"internal/lab/b.go": "// Package lab has rules.\npackage lab\n",
		}, "lab has 2"},
		{"another name", sketch{"internal/lab/a.go": "// Package labs holds words.\npackage lab\n"}, `"Package lab "`},
		{"command", sketch{"cmd/pinset/main.go": "// Package main runs.\npackage main\n"}, `"Command pinset "`},
	})
}
