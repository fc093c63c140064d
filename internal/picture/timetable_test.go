package picture

import (
	"strings"
	"testing"
)

func timetable(days int) Timetable {
	t := Timetable{Name: "Cooks over the day", Cookers: []string{"tall", "the small one in the back"}, Begin: 8 * 60, DayMin: 600}
	for d := 1; d <= days; d++ {
		for r := range 4 {
			t.Bars = append(t.Bars,
				TimetableBar{Day: d, Cooker: 0, From: 150 * float64(r), Min: 150, Jars: 14, Places: 14, Says: "14 pint"},
				TimetableBar{Day: d, Cooker: 1, From: 150 * float64(r), Min: 150, Jars: 3, Places: 6, Says: "3 half-litre jar with a long name"})
		}
	}
	return t
}

// TestTimetable holds drawing and text together: a bar stands where its hours
// are, and all that is drawn stands in the table.
func TestTimetable(t *testing.T) {
	p := timetable(1).Draw(694)
	svg := string(p.SVG("t"))
	for _, want := range []string{"08:00", "14 pint", "Day 1", "tall"} {
		if !strings.Contains(svg, want) {
			t.Errorf("the picture does not say %q", want)
		}
	}
	if !strings.Contains(p.Desc, "8 cooks in 2 cookers; the last ends on day 1 at 18:00") {
		t.Errorf("the finding is %q", p.Desc)
	}
	if got := strings.Join(p.Table.Rows[3], "|"); got != "1|10:30|13:00|the small one in the back|3 half-litre jar with a long name|3|6" {
		t.Errorf("row 4 is %s", got)
	}
	if small := timetable(1).Draw(358); small.Height != p.Height || small.Width != 358 {
		t.Errorf("on a phone it is %g × %g", small.Width, small.Height)
	}
}

func TestTimetableOfManyDays(t *testing.T) {
	p := timetable(9).Draw(694)
	if !strings.Contains(p.Desc, "The first 7 days are drawn") || len(p.Table.Rows) != 72 {
		t.Errorf("%q with %d rows", p.Desc, len(p.Table.Rows))
	}
	if strings.Contains(string(p.SVG("t")), "Day 8") {
		t.Error("the eighth day is drawn")
	}
	if got := (Timetable{Name: "none", DayMin: 600}).Draw(358); got.Desc != "No cook." {
		t.Errorf("nothing to cook is %q", got.Desc)
	}
}
