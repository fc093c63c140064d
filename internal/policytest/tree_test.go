package policytest

import (
	"bytes"
	"go/ast"
	"go/parser"
	"go/token"
	"io/fs"
	"os"
	"path"
	"slices"
	"strings"
	"sync"
	"testing"
	"testing/fstest"
)

// module is the path of our own module.
const module = "pinset"

// source is one Go file.
type source struct {
	path      string // from the root, with slashes
	pkg       string // as packageOf says it
	test      bool   // compiled for tests only
	generated bool
	file      *ast.File
}

// tree is the repository as the rules see it: text files by path, and the Go
// files among them parsed, both in the order of their paths.
type tree struct {
	set     *token.FileSet
	paths   []string
	text    map[string][]byte
	sources []source
}

// packageOf names the package in folder dir as the tables do: "calc/steam",
// "cmd/pinset".
func packageOf(dir string) string { return strings.TrimPrefix(dir, "internal/") }

// load reads all text files of a repository. Folders that hold no part of it
// are left out, and so are files with a NUL byte.
func load(fsys fs.FS) (*tree, error) {
	t := &tree{set: token.NewFileSet(), text: map[string][]byte{}}
	err := fs.WalkDir(fsys, ".", func(p string, d fs.DirEntry, err error) error {
		switch {
		case err != nil:
			return err
		case d.IsDir() && strayFolder(p):
			return fs.SkipDir
		case d.IsDir() || !d.Type().IsRegular():
			return nil
		}
		text, err := fs.ReadFile(fsys, p)
		if err != nil || bytes.IndexByte(text, 0) >= 0 {
			return err
		}
		t.paths = append(t.paths, p)
		t.text[p] = text
		if strings.HasSuffix(p, ".go") && !strings.Contains(p, "testdata/") {
			return t.parse(p)
		}
		return nil
	})
	return t, err
}

// strayFolder reports whether folder p is no part of the repository: hidden
// ones but .ci, and what .gitignore names.
func strayFolder(p string) bool {
	base := path.Base(p)
	return p == "shots" || base != "." && base != ".ci" && strings.HasPrefix(base, ".")
}

func (t *tree) parse(p string) error {
	file, err := parser.ParseFile(t.set, p, t.text[p], parser.ParseComments|parser.SkipObjectResolution)
	if err != nil {
		return err
	}
	t.sources = append(t.sources, source{
		path:      p,
		pkg:       packageOf(path.Dir(p)),
		test:      strings.HasSuffix(p, "_test.go"),
		generated: ast.IsGenerated(file),
		file:      file,
	})
	return nil
}

// packages returns the names of all packages that have a Go file, in order.
func (t *tree) packages() []string {
	var all []string
	for _, s := range t.sources {
		all = append(all, s.pkg)
	}
	slices.Sort(all)
	return slices.Compact(all)
}

// within returns the paths under folder that end in one of the suffixes.
func (t *tree) within(folder string, suffixes ...string) []string {
	var found []string
	for _, p := range t.paths {
		ends := func(suffix string) bool { return strings.HasSuffix(p, suffix) }
		if strings.HasPrefix(p, folder) && slices.ContainsFunc(suffixes, ends) {
			found = append(found, p)
		}
	}
	return found
}

// house is this repository.
var house = sync.OnceValues(func() (*tree, error) { return load(os.DirFS("../..")) })

// inHouse fails t for each fault that the rule finds in this repository.
func inHouse(t *testing.T, rule func(*tree) []string) {
	t.Helper()
	repository, err := house()
	if err != nil {
		t.Fatal(err)
	}
	for _, fault := range rule(repository) {
		t.Error(fault)
	}
}

// sketch is a small repository: paths and what stands in the files. A Go file
// may be given without its package clause.
type sketch map[string]string

// breach is a small repository that breaks a rule, and a part of the fault
// that must be found in it; "" says that it breaks nothing.
type breach struct {
	name  string
	files sketch
	want  string
}

// breaches shows each of the cases to the rule.
func breaches(t *testing.T, rule func(*tree) []string, cases []breach) {
	t.Helper()
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			small, err := load(c.files.fs())
			if err != nil {
				t.Fatal(err)
			}
			faults := rule(small)
			switch {
			case c.want == "" && len(faults) > 0:
				t.Errorf("found %q, want nothing", faults)
			case c.want != "" && (len(faults) != 1 || !strings.Contains(faults[0], c.want)):
				t.Errorf("found %q, want one fault with %q", faults, c.want)
			}
		})
	}
}

func (s sketch) fs() fs.FS {
	files := fstest.MapFS{}
	for p, text := range s {
		if strings.HasSuffix(p, ".go") && !strings.Contains(text, "package ") {
			text = "package " + path.Base(path.Dir(p)) + "\n" + text
		}
		files[p] = &fstest.MapFile{Data: []byte(text)}
	}
	return files
}

// imports returns the import paths of s with the names that the file gives
// them, "" if it gives none.
func (s source) imports() map[string]string {
	found := map[string]string{}
	for _, spec := range s.file.Imports {
		name := ""
		if spec.Name != nil {
			name = spec.Name.Name
		}
		found[strings.Trim(spec.Path.Value, `"`)] = name
	}
	return found
}

func TestLoadLeavesOutWhatIsNotOurs(t *testing.T) {
	small, err := load(sketch{
		".git/config":              "x",
		".ci/run":                  "x",
		"shots/seen.txt":           "x",
		"image.png":                "\x00",
		"internal/a/a.go":          "",
		"internal/a/a_test.go":     "",
		"internal/a/testdata/b.go": "not Go at all",
	}.fs())
	if err != nil {
		t.Fatal(err)
	}
	want := []string{".ci/run", "internal/a/a.go", "internal/a/a_test.go", "internal/a/testdata/b.go"}
	if !slices.Equal(small.paths, want) {
		t.Errorf("paths are %q, want %q", small.paths, want)
	}
	if len(small.sources) != 2 || small.sources[0].test || !small.sources[1].test {
		t.Errorf("sources are %+v, want a.go and then its test", small.sources)
	}
}
