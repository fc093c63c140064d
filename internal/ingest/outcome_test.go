package ingest

import (
	"fmt"
	"strings"
	"testing"

	"pinset/internal/lab"
)

// outcome reads one row under the given headings and prints what became of
// the jar.
func outcome(t *testing.T, headings, row string) string {
	t.Helper()
	s := read(t, headings+"\n"+row+"\n", asUsual)
	if len(s.Refused) > 0 {
		return "refused: " + s.Refused[0].What
	}
	return strings.Join(shownRow(s.Rows[0])[1:], " | ")
}

func TestLostBarrenSpent(t *testing.T) {
	const headings = "jar;discarded;why;outcome;fresh g"
	for _, c := range []struct{ row, want string }{
		{"1;;;;", ""},
		{"1;no;;;20", "flush 1 20 g (20 g) ?"},
		{"1;-;n/a;?;", ""},
		{"1;0;;;", ""},
		{"1;clean;;;", ""},
		{"1;not contaminated;;;", ""},
		{"1;no mould;;;", ""},
		{"1;yes;;;", "LOST ? not said"},
		{"1;x;;;", "LOST ? not said"},
		{"1;✓;;;", "LOST ? not said"},
		{"1;1;;;", "LOST ? not said"},
		{"1;yes;green mould;;", "LOST ? green mould"},
		{"1;2026-04-12;Contam;;", "LOST 2026-04-12 Contam"},
		{"1;contam green;;;", "LOST ? contam green"},
		{"1;2026-04-12 green;;;", "LOST 2026-04-12 green"},
		{"1;green, 12 Apr 2026;;;", "LOST 2026-04-12 green"},
		{"1;12 Apr 2026 - smells odd;;;", "LOST 2026-04-12 smells odd"},
		{"1;thrown out 12 Apr 2026;;;", "LOST 2026-04-12 not said"},
		{"1;;trich;;", "LOST ? trich"},
		{"1;;slow;;", "note reason: slow"},
		{"1;no;trich on the next jar;;", "note reason: trich on the next jar"},
		{"1;;;lost;", "LOST ? not said"},
		{"1;;;Contaminated, green;", "LOST ? Contaminated, green"},
		{"1;;;thrown out;", "LOST ? not said"},
		{"1;;;broken;", "LOST ? broken"},
		{"1;;dropped it;thrown out;", "LOST ? dropped it"},
		{"1;yes;;;22", "flush 1 22 g (22 g) ? | LOST ? not said"},
		// A jar that is thrown out because it bore nothing is barren, not lost.
		{"1;;;no fruit;", "BARREN"},
		{"1;;;Barren;0", "BARREN | note fresh g: 0 g"},
		{"1;;;never pinned;", "BARREN"},
		{"1;;;did not fruit;", "BARREN | note outcome: did not fruit"},
		{"1;yes;no fruit;;", "BARREN | note reason: no fruit"},
		{"1;2026-04-12;no pins after 60 days;;", "BARREN | note thrown out: 12 Apr 2026; reason: no pins after 60 days"},
		{"1;;;thrown out, no fruit;", "BARREN | note outcome: thrown out, no fruit"},
		{"1;;;no fruit, contam;", "LOST ? no fruit, contam"},
		{"1;;;no fruit because of contam;", "LOST ? no fruit because of contam"},
		{"1;;no fruit;;", "BARREN | note reason: no fruit"},
		// One that is thrown out at its end is spent.
		{"1;;;spent;22", "flush 1 22 g (22 g) ? | SPENT"},
		{"1;2026-04-12;spent;;22", "flush 1 22 g (22 g) ? | SPENT | note thrown out: 12 Apr 2026; reason: spent"},
		{"1;;;finished, discarded;22", "flush 1 22 g (22 g) ? | SPENT"},
		{"1;;;not finished;22", "flush 1 22 g (22 g) ? | note outcome: not finished"},
		{"1;;;growing;", ""},
		{"1;;;picked;22", "flush 1 22 g (22 g) ?"},
		{"1;;;picked;", "SPENT | note outcome: picked"},
		{"1;;;nice and big;22", "flush 1 22 g (22 g) ? | note outcome: nice and big"},
		{"1;;;ok;", ""},
		// Zeros are real, blanks are not zeros.
		{"1;;;;0", "BARREN | note fresh g: 0 g"},
		{"1;;;;0.0 g", "BARREN | note fresh g: 0.0 g"},
		{"1;yes;;;0", "LOST ? not said | note fresh g: 0 g"},
		{"1;;;growing;0", "note fresh g: 0 g"},
		{"1;;;spent;0", "BARREN | note fresh g: 0 g"},
		{"1;;;;-", ""},
		{"1;;;;n/a", ""},
		{"1;;;;?", ""},
		// Words in the place of a weight.
		{"1;;;;contam", "LOST ? contam"},
		{"1;;;;no fruit", "BARREN"},
		{"1;;;;broken jar", "LOST ? broken jar"},
		// Contradictions and riddles.
		{"1;;;no fruit;22", "refused: the row says that the jar bore no fruit, and that 22 g were picked"},
		{"1;maybe;;;", "refused: “maybe” does not say whether the jar was lost"},
		{"1;not contam?;;;", ""},
		{"1;;;fine, I think;", "note outcome: fine, I think"},
		{"1;;;who knows;", "refused: “who knows” does not say what became of the jar"},
		{"1;;;;none", "refused: “none” does not begin with a number"},
		{"1;;;;20-22", "refused: “20-22” holds more than one number"},
	} {
		if got := outcome(t, headings, c.row); strings.TrimSpace(got) != c.want {
			t.Errorf("%q: %s, want %s", c.row, got, c.want)
		}
	}
}

func TestBlanks(t *testing.T) {
	const headings = "jar,arm,blank,inoculated,fresh g,discarded"
	for _, c := range []struct{ row, want string }{
		{"1,A,no,2026-03-01,20,", "arm A | inoculated 2026-03-01 | flush 1 20 g (20 g) ?"},
		{"1,,yes,,,", "BLANK"},
		{"1,,x,,,", "BLANK"},
		{"1,,blank,,,", "BLANK"},
		{"1,blank,,,,", "BLANK"},
		{"1,,yes,no,0,", "BLANK | note fresh g: 0 g"},
		{"1,,yes,,,cloudy", "refused: “cloudy” does not say whether the jar was lost"},
		{"1,,yes,,,fouled", "BLANK | LOST ? fouled"},
		{"1,,yes,2026-03-01,,", "refused: the row says that the jar is a blank, and that it was inoculated (1 Mar 2026)"},
		{"1,,yes,,20,", "refused: the row says that the jar is a blank, and that it was picked"},
		{"1,,yes,,picked,", "refused: “picked” does not begin with a number"},
		{"1,,perhaps,,,", "refused: “perhaps” does not say whether the jar is a blank"},
	} {
		if got := outcome(t, headings, c.row); strings.TrimSpace(strings.ReplaceAll(got, "  ", " ")) != c.want {
			t.Errorf("%q: %s, want %s", c.row, got, c.want)
		}
	}
}

func TestPicks(t *testing.T) {
	for _, c := range []struct{ headings, row, want string }{
		{"jar,flush 1 g,flush 2 g,harvest", "1,20,8,2026-04-20", "flush 1 20 g (20 g) 2026-04-20 | flush 2 8 g (8 g) ?"},
		{"jar,flush 1 g,harvest 1 date,flush 2 g,harvest 2 date", "1,20,2026-04-20,8,2026-05-02", "flush 1 20 g (20 g) 2026-04-20 | flush 2 8 g (8 g) 2026-05-02"},
		{"jar,flush 1 g,date,flush 2 g,date", "1,20,2026-04-20,8,2026-05-02", "flush 1 20 g (20 g) 2026-04-20 | flush 2 8 g (8 g) 2026-05-02"},
		{"jar,flush 2 g,flush 1 g", "1,8,20", "flush 1 20 g (20 g) ? | flush 2 8 g (8 g) ?"},
		{"jar,flush 1 g,flush 2 g", "1,,8", "flush 2 8 g (8 g) ?"},
		{"jar,flush 1 g,flush 2 g", "1,20,0", "flush 1 20 g (20 g) ? | flush 2 0 g (0 g) ?"},
		{"jar,flush,weight g", "1,2,8", "flush 2 8 g (8 g) ?"},
		{"jar,flush", "1,8.5", "flush 1 8.5 g (8.5 g) ?"},
		{"jar,harvest", "1,34.5 g", "flush 1 34.5 g (34.5 g) ?"},
		{"jar,harvest", "1,2026-04-20", "SPENT | note harvest: 20 Apr 2026"},
		{"jar,harvest", "1,yes", "SPENT | note harvest: time unknown"},
		{"jar,flush 1 g,flush 1 date,flush 2 g,harvest date", "1,20,2026-04-20,8,2026-05-02", "flush 1 20 g (20 g) 2026-04-20 | flush 2 8 g (8 g) ? | note harvest date: 2 May 2026"},
		{"jar,dry substrate g", "1,0", "refused: a jar can not hold 0 g of dry substrate"},
		{"jar,dry substrate (oz)", "1,2", "dry 56.7 g"},
		{"jar,% covered", "1,100", "cover ?"},
		{"jar,% covered", "1,100 %", "cover ?"},
		{"jar,% covered", "1,99", "note % covered: 99"},
		{"jar,% covered,covered", "1,100,2026-04-01", "cover 2026-04-01"},
		{"jar,covered", "1,80%", "note covered: 80%"},
		{"jar,flush 21 g", "1,20", "note flush 21 g: 20"},
		{"jar,flush 1 g,flush 2 date", "1,20,2026-05-02", "flush 1 20 g (20 g) ? | note flush 2 date: 2 May 2026"},
		{"jar,harvest date,fresh g", "1,2026-04-20,0", "BARREN | note fresh g: 0 g on 20 Apr 2026"},
		{"jar,total g", "1,34", "flush 1 34 g (34 g) ?"},
		{"jar,flush 1 g,total g", "1,20,34", "flush 1 20 g (20 g) ? | note total g: 34"},
		{"jar,fresh oz", "1,1.2", "flush 1 34.02 g (1.2 oz) ?"},
		{"jar,fresh oz", "1,34 g", "flush 1 34 g (34 g) ?"},
		{"jar,fresh g", "1,1 lb 2 oz", "flush 1 510.3 g (1 lb 2 oz) ?"},
		{"jar,fresh (g / oz)", "1,12.4", "refused: “12.4” has no unit, and “fresh (g / oz)” names more than one"},
		{"jar,fresh (g / oz)", "1,12.4 g", "flush 1 12.4 g (12.4 g) ?"},
		{"jar,flush,weight g", "1,0,8", "refused: “0” is not the number of a flush"},
		{"jar,flush,weight g", "1,18.5,8", "flush 1 8 g (8 g) ? | note flush: 18.5"},
		{"jar,flush 1 g,flush", "1,8,2", "flush 1 8 g (8 g) ? | note flush: 2"},
	} {
		got := strings.TrimSpace(outcome(t, c.headings, c.row))
		if got != c.want {
			t.Errorf("%s / %q: %s, want %s", c.headings, c.row, got, c.want)
		}
	}
}

func TestJarNames(t *testing.T) {
	for _, c := range []struct{ headings, row, want string }{
		{"jar", "13", "·13"},
		{"jar", "013", "·13"},
		{"jar", "13.0", "·13"},
		{"jar", "#13", "·13"},
		{"jar", "Jar 13", "·13"},
		{"jar", "no. 13", "·13"},
		{"jar", "J13", "·13 | mark J13"},
		{"jar", "K-07", "| mark K-07"},
		{"jar", "B12·13", "B12·13 | mark B12·13"},
		{"batch,jar", "B12,B12-13", "B12·13 | mark B12-13"},
		{"batch,jar", "B11,B12-13", "refused: the jar is called “B12-13”, but its batch is “B11”"},
		{"jar", "0", "refused: the jar has the number 0"},
		{"jar", "1-12", "refused: “1-12” names several jars in one row"},
		{"jar", "1 to 12", "refused: “1 to 12” names several jars in one row"},
		{"jar,label", "13,blue lid", "·13 | mark blue lid"},
		{"jar,label", "A7,blue lid", "| mark A7 | note label: blue lid"},
		{"jar,label,code", "13,blue lid,K73QF", "·13 | mark blue lid | note code: K73QF"},
		{"jar,fresh g", ",20", "refused: this row names no jar"},
	} {
		another := "9\n"
		if strings.HasPrefix(c.headings, "batch") {
			another = "B11,9\n"
		}
		s := read(t, c.headings+"\n"+c.row+"\n"+another, asUsual)
		var got string
		if len(s.Refused) > 0 {
			got = "refused: " + s.Refused[0].What
		} else {
			r := s.Rows[0]
			got = fmt.Sprintf("%s·%d", r.Batch, r.Number)
			if r.Number == 0 {
				got = ""
			}
			if r.Mark != "" {
				got += " | mark " + r.Mark
			}
			if r.Note != "" {
				got += " | note " + r.Note
			}
		}
		if strings.TrimSpace(got) != c.want {
			t.Errorf("%s / %q: %s, want %s", c.headings, c.row, got, c.want)
		}
	}
	// Where every jar is called like 3-7, that is a name.
	if s := read(t, "jar\n1-1\n1-2\n1-3\n", asUsual); len(s.Rows) != 3 || s.Rows[1].Mark != "1-2" {
		t.Errorf("%v %v", s.Rows, s.Refused)
	}
}

func TestSameJarTwice(t *testing.T) {
	for _, c := range []struct {
		sheet   string
		refused []int
		what    string
	}{
		{"batch,jar\nA,1\nA,2\na , 1\nB,1\n", []int{4}, "row 2 holds jar 1 of batch a already"},
		{"mark\nK1\nk1\n", []int{3}, "row 2 holds jar k1 already"},
		{"jar,fresh g\n1,20\n01,8\n", []int{3}, "row 2 holds jar 1 already"},
		{"jar,tape\n1,red\n2,red\n", nil, ""},
		{"tape,arm\nred,a\nred,b\n", []int{3}, "row 2 holds jar red already"},
	} {
		s := read(t, c.sheet, asUsual)
		var got []int
		for _, r := range s.Refused {
			got = append(got, r.Row)
			if r.What != c.what {
				t.Errorf("%q: %s, want %s", c.sheet, r.What, c.what)
			}
		}
		if fmt.Sprint(got) != fmt.Sprint(c.refused) {
			t.Errorf("%q: rows %v refused, want %v", c.sheet, got, c.refused)
		}
	}
	// Marks need only differ within a batch.
	s := read(t, "batch,jar,tape\nA,1,red\nB,1,red\n", asUsual)
	if len(s.Rows) != 2 || s.Rows[1].Mark != "red" {
		t.Errorf("%+v %v", s.Rows, s.Refused)
	}
	// A tape that many jars bear does not tell them apart, and is kept.
	s = read(t, "jar,tape\n1,red\n2,red\n", asUsual)
	if r := s.Rows[1]; r.Mark != "" || r.Note != "tape: red" || !strings.Contains(s.Columns[1].Means, "several jars bear the same") {
		t.Errorf("%+v %v", r, s.Columns)
	}
}

func TestLayers(t *testing.T) {
	layers := func(cells string) string {
		var got []string
		s := read(t, "jar,layer\n"+cells, asUsual)
		for _, r := range s.Rows {
			got = append(got, number(r.Layer))
		}
		for _, r := range s.Refused {
			got = append(got, "x"+number(r.Row))
		}
		return strings.Join(got, " ")
	}
	for cells, want := range map[string]string{
		"1,bottom\n2,top\n":               "1 2",
		"1,Bottom\n2,middle\n3,Top\n":     "1 2 3",
		"1,lower\n2,upper\n":              "1 2",
		"1,1\n2,2\n3,3\n":                 "1 2 3",
		"1,L1\n2,layer 2\n3,3rd\n4,2.0\n": "1 2 3 2",
		"1,1\n2,4\n3,top\n4,middle\n":     "1 4 4 x5",
		"1,0\n2,21\n3,side\n4,?\n":        "0 x2 x3 x4",
	} {
		if got := layers(cells); got != want {
			t.Errorf("%q: %s, want %s", cells, got, want)
		}
	}
}

// What a jar went through can not run backwards; what growers do in either
// order is left to them.
func TestOrderOfDays(t *testing.T) {
	for _, c := range []struct{ headings, row, want string }{
		{"jar,made,inoculated", "1,2026-03-02,2026-03-01", "“inoculated” on 1 Mar 2026 is before “made” on 2 Mar 2026"},
		{"jar,made,inoculated", "1,2026-03-01,2026-03-01", ""},
		{"jar,inoculated,covered", "1,2026-03-02,2026-03-01", "“covered” on 1 Mar 2026 is before “inoculated” on 2 Mar 2026"},
		{"jar,covered,1st growth", "1,2026-03-01,2026-03-02", "“covered” on 1 Mar 2026 is before “1st growth” on 2 Mar 2026"},
		{"jar,covered,light", "1,2026-03-02,2026-03-01", ""},
		{"jar,pins,orange", "1,2026-03-01,2026-03-02", ""},
		{"jar,pins,harvest date,fresh g", "1,2026-03-02,2026-03-01,20", "“harvest date” on 1 Mar 2026 is before “pins” on 2 Mar 2026"},
		{"jar,flush 1 date,flush 2 date", "1,2026-03-02,2026-03-01", "“flush 2 date” on 1 Mar 2026 is before “flush 1 date” on 2 Mar 2026"},
		{"jar,ready,pins", "1,2026-03-01,2026-03-02", "“ready” on 1 Mar 2026 is before “pins” on 2 Mar 2026"},
		{"jar,lost,pins", "1,2026-03-01,2026-03-02", "“lost” on 1 Mar 2026 is before “pins” on 2 Mar 2026"},
		{"jar,made,lost", "1,2026-03-02,2026-03-01", "“lost” on 1 Mar 2026 is before “made” on 2 Mar 2026"},
		{"jar,inoculated,covered", "1,2026-03-02 10:00,2026-03-02", ""},
	} {
		got := outcome(t, c.headings, c.row)
		if got = strings.TrimPrefix(got, "refused: "); c.want == "" && strings.Contains(got, "is before") || c.want != "" && got != c.want {
			t.Errorf("%s / %q: %s, want %s", c.headings, c.row, got, c.want)
		}
	}
}

func TestReadFate(t *testing.T) {
	for f, cells := range map[lab.Fate]string{
		lab.Lost:    "contam;Contaminated;green mould;TRICH;bacterial;wet spot;black mold;broke in the cooker;cracked;dropped;sampled;tossed;lost;thrown away;dead;dried out;lid off;sour smell;cobweb;leaked",
		lab.Barren:  "barren;no fruit;no fruits;no pins;blind;never pinned;did not fruit;didn't fruit;no growth;nothing grew;no yield",
		lab.Spent:   "spent;finished;composted;exhausted",
		lab.Picked:  "picked;harvested;fruited",
		lab.Growing: "growing;still going;running;incubating;waiting for pins;in progress",
		clean:       "clean;ok;no contam;not contaminated;contam-free;no green;never lost",
		"":          "hm;?;;42;purple;not sure;none;broccoli x",
	} {
		for _, cell := range strings.Split(cells, ";") {
			if got := readFate(cell); got != f {
				t.Errorf("%q is %q, want %q", cell, got, f)
			}
		}
	}
}
