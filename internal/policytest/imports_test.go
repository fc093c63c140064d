package policytest

import (
	"cmp"
	"fmt"
	"go/ast"
	"maps"
	"path"
	"slices"
	"strings"
	"testing"
)

// importFaults holds the packages of a tree to a table of layers.
func importFaults(t *tree, table map[string]row) []string {
	faults := tableFaults(t, table)
	for _, s := range t.sources {
		r, known := table[s.pkg]
		if !known {
			continue // said once by tableFaults
		}
		for _, imported := range slices.Sorted(maps.Keys(s.imports())) {
			if why := refusal(s, r, imported, table); why != "" {
				faults = append(faults, fmt.Sprintf("%s imports %s: %s", s.path, imported, why))
			}
		}
		if r.pure && !s.test {
			faults = append(faults, impureCalls(t, s)...)
		}
	}
	return faults
}

// tableFaults compares which packages there are with which the table names.
func tableFaults(t *tree, table map[string]row) []string {
	var faults []string
	there := t.packages()
	for _, p := range there {
		if r, known := table[p]; !known {
			faults = append(faults, "package "+p+" is not in the import table: give it a row and say why in an ADR")
		} else if r.planned {
			faults = append(faults, "package "+p+" exists: its row is no longer planned")
		}
	}
	for _, p := range slices.Sorted(maps.Keys(table)) {
		if !table[p].planned && !slices.Contains(there, p) {
			faults = append(faults, "package "+p+" is in the import table, but does not exist")
		}
	}
	return faults
}

// refusal says why a file of a package with row r may not import a package,
// "" if it may.
func refusal(s source, r row, imported string, table map[string]row) string {
	if ours, ok := strings.CutPrefix(imported, module+"/"); ok {
		return refusalOfOurs(s, r, packageOf(ours), table)
	}
	if s.test {
		return ""
	}
	for _, b := range r.never {
		if slices.ContainsFunc(b.paths, func(p string) bool { return below(imported, p) }) {
			return b.why
		}
	}
	return ""
}

func refusalOfOurs(s source, r row, imported string, table map[string]row) string {
	allowed := r.allowed(table)
	may := strings.Join(allowed, ", ")
	if s.test {
		allowed = append(allowed, s.pkg) // a test from outside
		if !r.pure {
			allowed = append(allowed, testHelpers...)
		}
	}
	switch {
	case table[imported].helper && !s.test && !r.helper:
		return "it is for tests only"
	case slices.Contains(allowed, imported):
		return ""
	case slices.Contains(allowed, path.Dir(imported)+"/*"):
		return ""
	}
	return fmt.Sprintf("%s may import only these of ours: %s", s.pkg, may)
}

// allowed returns what a package with row r may import of ours.
func (r row) allowed(table map[string]row) []string {
	if r.leaf {
		return nil
	}
	all := slices.Clone(r.may)
	for _, name := range slices.Sorted(maps.Keys(table)) {
		if table[name].leaf {
			all = append(all, name)
		}
	}
	return all
}

// below reports whether an import path is p or lies below it. A later major
// version is a package of its own: math/rand/v2 is not below math/rand.
func below(imported, p string) bool {
	return imported == p || strings.HasPrefix(imported, p+"/") && imported != p+"/v2"
}

// timeReads are the functions of package time that read or follow the clock.
var timeReads = []string{
	"Now", "Since", "Until", "Sleep", "After", "AfterFunc", "Tick", "NewTimer", "NewTicker", "Local",
}

// seeded are the names of math/rand/v2 that do not draw from a seed of its own.
var seeded = []string{"New", "NewPCG", "NewChaCha8", "NewZipf", "Rand", "PCG", "ChaCha8", "Source", "Zipf"}

// impureCalls finds what a pure package must not use of packages that it may
// import: the clock, and chance without a seed.
func impureCalls(t *tree, s source) []string {
	names := map[string]string{} // as the file calls the package: its import path
	for imported, name := range s.imports() {
		if imported == "time" || imported == "math/rand/v2" {
			names[cmp.Or(name, path.Base(strings.TrimSuffix(imported, "/v2")))] = imported
		}
	}
	var faults []string
	ast.Inspect(s.file, func(n ast.Node) bool {
		selector, ok := n.(*ast.SelectorExpr)
		if !ok {
			return true
		}
		left, ok := selector.X.(*ast.Ident)
		if !ok {
			return true
		}
		used, why := selector.Sel.Name, ""
		switch names[left.Name] {
		case "time":
			if slices.Contains(timeReads, used) {
				why = "a pure package is told the time"
			}
		case "math/rand/v2":
			if !slices.Contains(seeded, used) {
				why = "chance comes from a seed"
			}
		}
		if why != "" {
			faults = append(faults, fmt.Sprintf("%s uses %s.%s: %s", t.set.Position(n.Pos()), left.Name, used, why))
		}
		return true
	})
	return faults
}

func TestImports(t *testing.T) {
	inHouse(t, func(t *tree) []string { return importFaults(t, importTable) })
}

func TestImportTableIsWhole(t *testing.T) {
	for name, r := range importTable {
		for _, p := range r.may {
			if _, known := importTable[p]; !known && p != "calc/*" {
				t.Errorf("%s may import %s, which has no row", name, p)
			}
		}
		for _, b := range r.never {
			if b.why == "" {
				t.Errorf("%s: a ban of %s without a reason", name, b.paths)
			}
		}
	}
}

func TestImportFaults(t *testing.T) {
	table := map[string]row{
		"figure":    {leaf: true},
		"nearest":   {leaf: true},
		"units":     {pure: true, never: []ban{inOut, chance}},
		"calc/heat": {pure: true, never: []ban{inOut, chance}, may: []string{"units"}},
		"app":       {may: []string{"calc/*", "units"}, never: []ban{http}},
		"testdb":    {helper: true},
		"blob":      {planned: true},
	}
	whole := func(files sketch) sketch {
		all := sketch{}
		for name, r := range table {
			if !r.planned {
				all["internal/"+name+"/doc.go"] = ""
			}
		}
		maps.Copy(all, files)
		return all
	}
	breaches(t, func(t *tree) []string { return importFaults(t, table) }, []breach{
		{"allowed", whole(sketch{
			"internal/app/a.go":            `import ("pinset/internal/calc/heat"; "pinset/internal/figure"; "os")`,
			"internal/app/a_test.go":       "package app_test\n" + `import ("pinset/internal/testdb"; "pinset/internal/app"; "net/http")`,
			"internal/calc/heat/h.go":      `import ("time"; r "math/rand/v2"); func f(s r.Source) time.Time { return time.Unix(int64(r.New(s).Int()), 0) }`,
			"internal/units/u_test.go":     `import "os"`,
			"internal/units/testdata/x.go": `import "nothing"`,
		}), ""},
		{"layer above", whole(sketch{"internal/units/u.go": `import "pinset/internal/app"`}), "units may import only these of ours: figure, nearest"},
		{"leaf", whole(sketch{"internal/figure/f.go": `import "pinset/internal/units"`}), "figure may import only"},
		{"leaf of a leaf", whole(sketch{"internal/figure/f.go": `import "pinset/internal/nearest"`}), "figure may import only"},
		{"sibling", whole(sketch{"internal/calc/heat/h.go": `import "pinset/internal/calc/other"`}), "only these of ours: units, figure, nearest"},
		{"standard library", whole(sketch{"internal/app/a.go": `import "net/http"`}), "HTTP is spoken in web only"},
		{"below a ban", whole(sketch{"internal/units/u.go": `import "os/exec"`}), "what it is given"},
		{"old chance", whole(sketch{"internal/units/u.go": `import "math/rand"`}), "from a seed"},
		{"clock", whole(sketch{"internal/units/u.go": `import t "time"; var now = t.Now`}), "u.go:2:28 uses t.Now"},
		{"unseeded", whole(sketch{"internal/units/u.go": `import "math/rand/v2"; var n = rand.IntN(2)`}), "uses rand.IntN"},
		{"pure test with storage", whole(sketch{"internal/units/u_test.go": `import "pinset/internal/testdb"`}), "units may import only"},
		{"helper in the program", whole(sketch{"internal/app/a.go": `import "pinset/internal/testdb"`}), "for tests only"},
		{"no row", whole(sketch{"internal/util/u.go": ""}), "package util is not in the import table"},
		{"planned but there", whole(sketch{"internal/blob/b.go": ""}), "no longer planned"},
		{"row without package", func() sketch {
			files := whole(nil)
			delete(files, "internal/app/doc.go")
			return files
		}(), "package app is in the import table, but does not exist"},
	})
}
