package sqldb

import (
	"fmt"
	"strings"
	"testing"
)

// What was entered since a round began is found by when it was entered: a farm
// of years has a hundred thousand acts before that.
func TestWrittenIsFoundByWhen(t *testing.T) {
	db, err := Open(t.Context(), File(t.TempDir()))
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { db.Close() })
	text := "EXPLAIN QUERY PLAN " + fmt.Sprintf(writtenText, db.dialect.among("s.jar", "$1"))
	rows, err := db.reads.QueryContext(t.Context(), text, `["x"]`, "2026-03-04T05:06:07Z")
	if err != nil {
		t.Fatal(err)
	}
	defer rows.Close()
	var ways []string
	for rows.Next() {
		var id, parent, unused int
		var way string
		if err := rows.Scan(&id, &parent, &unused, &way); err != nil {
			t.Fatal(err)
		}
		if strings.Contains(way, " d ") {
			ways = append(ways, way)
		}
	}
	if err := rows.Err(); err != nil {
		t.Fatal(err)
	}
	if len(ways) != 2 {
		t.Fatalf("acts are read %d times: %q", len(ways), ways)
	}
	for _, way := range ways {
		if !strings.Contains(way, "deed_entered (entered>?)") {
			t.Errorf("acts are read by %s", way)
		}
	}
}
