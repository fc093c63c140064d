package app

import (
	"encoding/json"
	"fmt"
	"testing"
	"time"
)

// BenchmarkTell compares 5 000 entries with those that were told last, one of
// them changed, reading and writing what is kept.
func BenchmarkTell(b *testing.B) {
	at := time.Date(2026, 3, 9, 8, 0, 0, 0, time.UTC)
	f := &Farm{now: func() time.Time { return at }}
	var now []CalendarEntry
	for i := range 5000 {
		now = append(now, CalendarEntry{
			UID: fmt.Sprintf("cover-0198f6c2-7a10-7cc1-9d3e-%012d-20260309", i), Start: at.AddDate(0, 0, i%60), Days: 1,
			Title: fmt.Sprintf("B%d·1–24: full cover expected from today", i), Text: "Day 7 to 14, late from 31 March; source: common practice, no source.", Page: "batches/B1/rounds",
		})
	}
	told, _ := f.tell(nil, now)
	kept, err := json.Marshal(told)
	if err != nil {
		b.Fatal(err)
	}
	now[0].Title = "changed"
	for b.Loop() {
		var before []CalendarEntry
		if err := json.Unmarshal(kept, &before); err != nil {
			b.Fatal(err)
		}
		entries, changed := f.tell(before, now)
		if !changed || len(entries) != 5000 {
			b.Fatal("nothing changed")
		}
		if _, err := json.Marshal(entries); err != nil {
			b.Fatal(err)
		}
	}
}
