package sqldb

import (
	"testing"

	"github.com/google/go-cmp/cmp"
)

// Which of two rows PostgreSQL takes for one target depends on its plan, so
// that no test on the database can be trusted to see it.
func TestLastOfEach(t *testing.T) {
	row := func(id, v string) []any { return []any{id, v} }
	set := rowSet{rows: [][]any{row("a", "1"), row("b", "1"), row("a", "2"), row("c", "1"), row("a", "3"), row("c", "2")}}
	want := [][]any{row("a", "3"), row("b", "1"), row("c", "2")}
	if diff := cmp.Diff(want, lastOfEach(set).rows); diff != "" {
		t.Errorf("rows differ (-want +got):\n%s", diff)
	}
	if len(set.rows) != 6 || set.rows[0][1] != "1" {
		t.Errorf("the rows passed in were changed: %v", set.rows)
	}
}
