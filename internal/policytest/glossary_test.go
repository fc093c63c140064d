package policytest

import (
	"cmp"
	"fmt"
	"go/ast"
	"go/token"
	"path"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"
	"unicode"
)

// phrase is a word or several that GLOSSARY.md says to avoid.
type phrase struct {
	words   []string // in lower case
	instead string   // the word of the house
}

// rightHere are the places in which a word to avoid is the right one. A
// folder, a word, and why.
var rightHere = []struct{ folder, word, why string }{
	{"internal/calc/stats/", "observation", "statistics has its own words: one datum of a column, not a look at a jar"},
	{"internal/calc/trialstat/", "observation", "as in calc/stats"},
}

// avoided reads the words to avoid from the tables of a glossary.
func avoided(glossary string) ([]phrase, error) {
	var all []phrase
	for line := range strings.Lines(glossary) {
		line = strings.TrimSpace(line)
		if !strings.HasPrefix(line, "|") || strings.HasPrefix(line, "|--") || strings.HasPrefix(line, "| word |") {
			continue
		}
		cells := strings.Split(strings.Trim(line, "|"), "|")
		if len(cells) != 3 || strings.TrimSpace(cells[0]) == "" || strings.TrimSpace(cells[1]) == "" {
			return nil, fmt.Errorf("want word, meaning and words to avoid: %s", line)
		}
		for word := range strings.SplitSeq(cells[2], ",") {
			if words := strings.Fields(strings.ToLower(word)); len(words) > 0 {
				all = append(all, phrase{words, strings.TrimSpace(cells[0])})
			}
		}
	}
	return all, nil
}

// wordsOf takes a name or a text apart into lower-case words, where a small
// letter meets a capital one and at all that is no letter. What does not join
// words, such as a full stop, leaves an empty word between them.
func wordsOf(s string) []string {
	var words []string
	var word []rune
	end := func() {
		if len(word) > 0 {
			words = append(words, strings.ToLower(string(word)))
			word = word[:0]
		}
	}
	runes := []rune(s)
	for i, r := range runes {
		if !unicode.IsLetter(r) {
			end()
			if !strings.ContainsRune(" _-", r) {
				words = append(words, "")
			}
			continue
		}
		if i > 0 && unicode.IsUpper(r) {
			nextSmall := i+1 < len(runes) && unicode.IsLower(runes[i+1])
			if !unicode.IsUpper(runes[i-1]) || nextSmall {
				end()
			}
		}
		word = append(word, r)
	}
	end()
	return words
}

// in reports whether the phrase stands in the words, in the plural too.
func (p phrase) in(words []string) bool {
	n := len(p.words)
	for i := 0; i+n <= len(words); i++ {
		here := words[i : i+n]
		last := here[n-1]
		if slices.Equal(here[:n-1], p.words[:n-1]) &&
			(last == p.words[n-1] || last == p.words[n-1]+"s" || last == p.words[n-1]+"es") {
			return true
		}
	}
	return false
}

// wordFaults finds words to avoid in file names, declared names, struct tags
// and addresses of Go files, and in migrations and templates.
func wordFaults(t *tree) []string {
	phrases, err := avoided(string(t.text["GLOSSARY.md"]))
	if err != nil {
		return []string{"GLOSSARY.md: " + err.Error()}
	}
	var faults []string
	seen := map[string]bool{}
	look := func(file, at, text string) {
		words := wordsOf(text)
		for _, p := range phrases {
			word := strings.Join(p.words, " ")
			if p.in(words) && !isRightHere(file, word) && !seen[at+word] {
				seen[at+word] = true
				faults = append(faults, fmt.Sprintf("%s: %q: say %s", at, word, p.instead))
			}
		}
	}
	for _, s := range t.sources {
		look(s.path, s.path, path.Base(s.path))
		names(s.file, func(at token.Pos, text string) { look(s.path, t.set.Position(at).String(), text) })
	}
	for _, p := range slices.Concat(t.within("internal/", ".sql"), t.within("internal/web/", ".html", ".tmpl", ".js", ".css")) {
		if strings.Contains(p, "testdata/") {
			continue
		}
		for i, line := range strings.Split(string(t.text[p]), "\n") {
			look(p, fmt.Sprintf("%s:%d", p, i+1), line)
		}
	}
	return faults
}

func isRightHere(file, word string) bool {
	for _, r := range rightHere {
		if r.word == word && strings.HasPrefix(file, r.folder) {
			return true
		}
	}
	return false
}

// address is a text that is a path on our server, with or without a method.
var address = regexp.MustCompile(`^([A-Z]+ )?/[a-z{]`)

// names calls look with each name that a file declares, each struct tag, and
// each address in it.
func names(file *ast.File, look func(token.Pos, string)) {
	declare := func(ids ...*ast.Ident) {
		for _, id := range ids {
			look(id.Pos(), id.Name)
		}
	}
	ast.Inspect(file, func(n ast.Node) bool {
		switch n := n.(type) {
		case *ast.FuncDecl:
			declare(n.Name)
		case *ast.TypeSpec:
			declare(n.Name)
		case *ast.ValueSpec:
			declare(n.Names...)
		case *ast.AssignStmt:
			for _, left := range n.Lhs {
				if id, ok := left.(*ast.Ident); ok && n.Tok == token.DEFINE {
					declare(id)
				}
			}
		case *ast.Field:
			declare(n.Names...)
			if n.Tag != nil {
				look(n.Tag.Pos(), n.Tag.Value)
			}
		case *ast.BasicLit:
			if text, err := strconv.Unquote(n.Value); err == nil && n.Kind == token.STRING && address.MatchString(text) {
				look(n.Pos(), text)
			}
		}
		return true
	})
}

func TestWords(t *testing.T) {
	inHouse(t, wordFaults)
	for _, r := range rightHere {
		if r.why == "" {
			t.Errorf("%s in %s is excepted without a reason", r.word, r.folder)
		}
	}
}

func TestAvoided(t *testing.T) {
	got, err := avoided("# Words\n\n| word | meaning | words to avoid |\n|---|---|---|\n| arm | one of those compared | treatment group, Cohort |\n| mark | a sign on a jar | |\n")
	if err != nil || fmt.Sprint(got) != "[{[treatment group] arm} {[cohort] arm}]" {
		t.Errorf("avoided = %v, %v", got, err)
	}
	if _, err := avoided("| arm | one of those compared |\n"); err == nil {
		t.Error("a row of two cells is taken")
	}
}

func TestWordsOf(t *testing.T) {
	for name, want := range map[string]string{
		"newHTTPServer":     "new http server",
		"JarID":             "jar id",
		"treatment_group_2": "treatment group .",
		"/j/{code}/seen":    ". j . . code . . seen",
		"DB":                "db",
		"early-late":        "early late",
		"one jar. Type it":  "one jar . type it",
		"<p>Früh am Tag":    ". p . früh am tag",
	} {
		got := wordsOf(name)
		for i := range got {
			got[i] = cmp.Or(got[i], ".")
		}
		if s := strings.Join(got, " "); s != want {
			t.Errorf("wordsOf(%q) = %q, want %q", name, s, want)
		}
	}
}

func TestWordFaults(t *testing.T) {
	with := func(file, text string) sketch {
		return sketch{
			"GLOSSARY.md": "| pick | a weight | harvest |\n| arm | one compared | treatment group |\n| seen | a look | observation |\n",
			file:          text,
		}
	}
	breaches(t, wordFaults, []breach{
		{"clean", with("internal/lab/pick.go", "// Pick is no harvest.\ntype Pick struct{ Group, Treatment, ControlGroup string }\nvar s = \"a harvest\"\nvar n = len(s)"), ""},
		{"its own word", with("internal/calc/stats/a.go", "type Observation float64"), ""},
		{"another field's", with("internal/calc/steam/a.go", "type Observation float64"), "say seen"},
		{"type", with("internal/lab/a.go", "type HarvestID string"), "say pick"},
		{"field in the plural", with("internal/lab/a.go", "type t struct{ Harvests int }"), "say pick"},
		{"function", with("internal/lab/a.go", "func treatmentGroups() {}"), "say arm"},
		{"parameter", with("internal/lab/a.go", "func f(harvest int) {}"), "say pick"},
		{"variable", with("internal/lab/a.go", "func f() { harvest := 1; _ = harvest }"), "say pick"},
		{"constant", with("internal/lab/a.go", "const harvest = 1"), "say pick"},
		{"tag", with("internal/lab/a.go", "type t struct { A int `json:\"harvest_g\"` }"), "say pick"},
		{"address", with("internal/web/a.go", `var a = "POST /harvest/{id}"`), "say pick"},
		{"file", with("internal/lab/harvest.go", ""), "say pick"},
		{"migration", with("internal/store/sqldb/migrations/1.sql", "CREATE TABLE harvest (id text);"), "1.sql:1"},
		{"template", with("internal/web/pages/a.html", "<p>\nThe Treatment Group\n"), "a.html:2"},
		{"glossary", sketch{"GLOSSARY.md": "| pick | a weight |\n"}, "GLOSSARY.md"},
	})
}
