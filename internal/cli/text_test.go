package cli

import (
	"strings"
	"testing"
)

func TestNumbersForPeople(t *testing.T) {
	for x, want := range map[float64]string{
		0: "0", 65: "65", 168.88333: "168.88", 101325.4: "101325", 12345.6: "12346", 0.000123456: "0.00012346",
		1.5e-9: "1.5e-09", -0.85: "−0.85", -3: "−3", 2e15: "2e+15",
	} {
		if got := showNumber(x); got != want {
			t.Errorf("showNumber(%g) = %q, want %q", x, got, want)
		}
	}
}

// shown is a JSON value as people read it.
func shown(t testing.TB, raw string) string {
	t.Helper()
	n, err := readNode([]byte(raw))
	if err != nil {
		t.Fatalf("readNode(%s): %v", raw, err)
	}
	var b strings.Builder
	n.print(&b, "", "")
	return b.String()
}

func TestFiguresForPeople(t *testing.T) {
	for raw, want := range map[string]string{
		`{"longest_min": 65}`:                                               "longest  65 min\n",
		`{"longest_min": null}`:                                             "longest  not known\n",
		`{"a": null, "b": null, "c_ml": null, "d": 1}`:                      "d  1\nnot known: a, b, c\n",
		`{"stretches_min": [47, 76]}`:                                       "stretches  47, 76 min\n",
		`{"refused": []}`:                                                   "refused  none\n",
		`{"salts": {}}`:                                                     "salts  none\n",
		`{"core_min": {"low": 3, "best": 4.5, "high": 7}}`:                  "core  4.5 min (3 to 7)\n",
		`{"percent": {"value": 12, "low": null, "high": null}}`:             "in per cent  12 %\n",
		`{"percent": {"value": null, "low": null, "high": null}}`:           "in per cent  not known\n",
		`{"volume_ml": {"broth": 48}}`:                                      "volume\n  broth  48 mL\n",
		`{"ending": "not_told_apart", "valid": true}`:                       "ending  not told apart\nvalid   yes\n",
		`{"arms": [{"name": "A", "dry_g": 3}, {"name": "B", "dry_g": 12}]}`: "arms\n  name  dry g\n  A         3\n  B        12\n",
		`{"load": [{"of": [{"x": 1}], "deep": {"y": {"z": 1}}}]}`:           "load\n  1\n    of\n      x\n      1\n    deep\n      y\n        z  1\n",
	} {
		if got := shown(t, raw); got != want {
			t.Errorf("%s is shown as\n%s\nwant\n%s", raw, got, want)
		}
	}
}

// Long lists show their ends, long tables some of their rows, and say so.
func TestLongListsAreCut(t *testing.T) {
	list := shown(t, `{"cumulative_min": [`+strings.Repeat("1, ", 99)+`2]}`)
	if !strings.Contains(list, "1, 1, 1, …, 1, 1, 2 min (the ends of 100;") {
		t.Errorf("a list of 100 is shown as %s", list)
	}
	table := shown(t, `{"trace": [`+strings.Repeat(`{"min": 1, "core_c": 20}, `, 99)+`{"min": 2, "core_c": 30}]}`)
	if n := strings.Count(table, "\n"); n != 15 || !strings.HasSuffix(table, "    2       30\n  (12 of 100 rows; --json has all)\n") {
		t.Errorf("a table of 100 rows is shown in %d lines:\n%s", n, table)
	}
}

// A table that is too wide is laid on its side, or its rows one by one.
func TestWideTables(t *testing.T) {
	wide := `{"name": "A", "first_long_figure_of_an_arm_g": 1, "second_long_figure_of_an_arm_g": 2, "third_long_figure_of_an_arm_g": 3}`
	got := shown(t, `{"arms": [`+wide+`, `+strings.Replace(wide, "A", "B", 1)+`]}`)
	if !strings.HasPrefix(got, "arms\n  name                            A  B\n  first long figure of an arm g   1  1\n") {
		t.Errorf("two arms with long words are shown as\n%s", got)
	}
}

func TestTablesStandNumbersToTheRight(t *testing.T) {
	table := newTable("jar", "code", "g")
	table.row(9, "K73QF", "9.5")
	table.row(10, "M2XAC", unknown)
	table.row(11, "TD6WW", "−12.25")
	var b strings.Builder
	table.write(&b)
	want := "jar  code        g\n  9  K73QF     9.5\n 10  M2XAC       –\n 11  TD6WW  −12.25\n"
	if b.String() != want {
		t.Errorf("the table is\n%s\nwant\n%s", b.String(), want)
	}
}

func TestWrap(t *testing.T) {
	var b strings.Builder
	wrap(&b, "care  ", strings.Repeat("twelve wörds ", 14))
	for i, line := range strings.Split(strings.TrimSuffix(b.String(), "\n"), "\n") {
		if letters(line) > width || i > 0 && !strings.HasPrefix(line, "      t") && !strings.HasPrefix(line, "      w") {
			t.Errorf("line %d of %d columns: %q", i, letters(line), line)
		}
	}
	b.Reset()
	wrap(&b, "", strings.Repeat("x", 100)+" y")
	if b.String() != strings.Repeat("x", 100)+"\ny\n" {
		t.Errorf("a word that does not fit is torn: %q", b.String())
	}
	b.Reset()
	wrap(&b, "note", "")
	if b.String() != "note\n" {
		t.Errorf("nothing is wrapped as %q", b.String())
	}
}

func FuzzPrintNode(f *testing.F) {
	for _, s := range []string{`{"a_min": [1, 2]}`, `[]`, `[{"a": {"low": 1, "high": 2, "value": null}}]`, `{"": {"": [[]]}}`, `"x"`, `null`, `{"a": 1e999}`, `[{}, {"a": []}]`} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, raw string) {
		n, err := readNode([]byte(raw))
		if err != nil {
			return
		}
		var b strings.Builder
		n.print(&b, "", "")
		printResult(&b, n)
	})
}
