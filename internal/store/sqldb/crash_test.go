package sqldb

import (
	"math/rand/v2"
	"testing"
	"time"

	"pinset/internal/testdb"
)

// Killing a process proves that nothing rests on what it would still have
// done. It does not prove what a disk keeps when the power fails: for that
// the commits are synced, see TestPragmasOnEveryConnection.

func TestKillKeepsWhatWasAcknowledgedSQLite(t *testing.T) {
	path := File(t.TempDir())
	killRounds(t, path, func() {
		if err := checkIntegrity(t.Context(), path); err != nil {
			t.Error(err)
		}
	})
}

func TestKillKeepsWhatWasAcknowledgedPostgres(t *testing.T) {
	killRounds(t, testdb.PostgresURL(t), func() {})
}

// killRounds kills a writer at random moments and looks at what it left.
func killRounds(t *testing.T, where string, check func()) {
	seed := uint64(time.Now().UnixNano())
	t.Logf("seed %d", seed)
	chance := rand.New(rand.NewPCG(seed, 1))
	var acknowledged []string
	for round := range 8 {
		c := start(t, "write", where)
		acknowledged = append(acknowledged, c.line(t)) // it is at work
		stop := time.AfterFunc(time.Duration(chance.IntN(120))*time.Millisecond, func() { _ = c.Process.Kill() })
		for {
			line, err := c.out.ReadString('\n')
			if err != nil { // the last line may be cut: then it was not heard
				break
			}
			acknowledged = append(acknowledged, line[:len(line)-1])
		}
		stop.Stop()
		c.kill()
		db, err := Open(t.Context(), where)
		if err != nil {
			t.Fatalf("round %d: %v", round, err)
		}
		n := checkActs(t, db, acknowledged)
		if err := db.Close(); err != nil {
			t.Fatal(err)
		}
		check()
		t.Logf("round %d: %d acknowledged, %d stored", round, len(acknowledged), n)
	}
}

func TestKillInsideKeepsNothingSQLite(t *testing.T) { killInside(t, File(t.TempDir())) }

func TestKillInsideKeepsNothingPostgres(t *testing.T) { killInside(t, testdb.PostgresURL(t)) }

// killInside kills a writer in the middle of a transaction.
func killInside(t *testing.T, where string) {
	db := open(t, where)
	if _, err := writeAct(t.Context(), db, nil); err != nil {
		t.Fatal(err)
	}
	c := start(t, "hold", where)
	c.line(t)
	if n := checkActs(t, db, nil); n != 1 {
		t.Errorf("%d acts are seen while the second is not committed, want 1", n)
	}
	c.kill()
	last, err := writeAct(t.Context(), db, nil) // no lock is left behind
	if err != nil {
		t.Fatal(err)
	}
	if n := checkActs(t, db, []string{string(last)}); n != 2 {
		t.Errorf("%d acts are stored, want 2", n)
	}
}
