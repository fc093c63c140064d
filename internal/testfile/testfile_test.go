package testfile

import (
	"context"
	"testing"
	"time"

	"pinset/internal/lab"
	"pinset/internal/store"
	"pinset/internal/store/sqldb"
)

func TestNew(t *testing.T) {
	ctx := context.Background()
	// deeds adds a deed to a new file and counts what is in it.
	deeds := func(id lab.DeedID) (n int) {
		db, err := sqldb.Open(ctx, New(t))
		if err != nil {
			t.Fatal(err)
		}
		err = db.Write(ctx, func(w store.Writer) error {
			if _, err := w.AddDeed(ctx, lab.Deed{ID: id, What: "act", Entered: time.Now()}); err != nil {
				return err
			}
			all, err := w.Deeds(ctx, "", 0)
			n = len(all)
			return err
		})
		if err != nil {
			t.Fatal(err)
		}
		if err := db.Close(); err != nil {
			t.Error(err)
		}
		return n
	}
	if one, two := deeds("0198f000-0000-7000-8000-000000000001"), deeds("0198f000-0000-7000-8000-000000000002"); one != 1 || two != 1 {
		t.Errorf("files that are new hold %d and %d deeds after one was added to each", one, two)
	}
}
