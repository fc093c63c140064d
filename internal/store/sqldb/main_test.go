package sqldb

import (
	"bufio"
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"os/exec"
	"strings"
	"testing"
	"time"

	"github.com/google/uuid"

	"pinset/internal/lab"
	"pinset/internal/store"
)

// The tests start this test binary again as a second process: childVar says
// what it does, whereVar on which data.
const (
	childVar = "PINSET_TEST_CHILD"
	whereVar = "PINSET_TEST_WHERE"
)

func TestMain(m *testing.M) {
	if does := os.Getenv(childVar); does != "" {
		if err := beChild(does, os.Getenv(whereVar)); err != nil {
			fmt.Fprintln(os.Stderr, err)
			os.Exit(1)
		}
		os.Exit(0)
	}
	os.Exit(m.Run())
}

// beChild writes acts one after the other and prints the identifier of each
// when it is acknowledged ("write"), or writes one, says so and holds it open
// until it is killed or its input ends ("hold").
func beChild(does, where string) error {
	ctx := context.Background()
	db, err := Open(ctx, where)
	if err != nil {
		return err
	}
	switch does {
	case "write":
		for {
			id, err := writeAct(ctx, db, nil)
			if err != nil {
				return err
			}
			fmt.Println(id)
		}
	case "hold":
		_, err := writeAct(ctx, db, func() {
			fmt.Println("inside")
			_, _ = io.Copy(io.Discard, os.Stdin)
		})
		return errors.Join(err, db.Close())
	}
	return fmt.Errorf("%q is nothing that a child does", does)
}

// perAct is how many entries are part of one act.
const perAct = 12

// writeAct stores a deed with entries on jars of a new batch in one
// transaction; before it ends, inside is called.
func writeAct(ctx context.Context, db *DB, inside func()) (lab.DeedID, error) {
	d := lab.Deed{ID: id[lab.DeedID](), What: "act", Entered: time.Now()}
	err := db.Write(ctx, func(w store.Writer) error {
		last, err := w.LastBatchNumber(ctx)
		if err != nil {
			return err
		}
		b := lab.Batch{ID: id[lab.BatchID](), Number: last + 1}
		jars := make([]lab.Jar, perAct)
		saw := make([]lab.Seen, perAct)
		for i := range jars {
			jars[i] = lab.Jar{ID: id[lab.JarID](), Code: lab.CodeOf(uint64(perAct*last + i)), Batch: b.ID, Number: i + 1}
			e := lab.Entry{ID: id[lab.EntryID](), Deed: d.ID, At: lab.At(d.Entered), Entered: d.Entered}
			saw[i] = lab.Seen{Entry: e, Jar: jars[i].ID, Stage: lab.Growth}
		}
		if _, err := w.AddDeed(ctx, d); err != nil {
			return err
		}
		if err := errors.Join(w.AddBatch(ctx, b), w.AddJars(ctx, jars), w.AddSeen(ctx, saw)); err != nil {
			return err
		}
		if inside != nil {
			inside()
		}
		return nil
	})
	return d.ID, err
}

// checkActs fails t if an act is there in part, or if one of those that were
// acknowledged is not. It returns how many there are.
func checkActs(t *testing.T, db *DB, acknowledged []string) int {
	t.Helper()
	there := make(map[string]bool)
	err := db.Read(t.Context(), func(r store.Reader) error {
		deeds, err := r.Deeds(t.Context(), "", 0)
		if err != nil {
			return err
		}
		batches, err := r.Batches(t.Context(), 0)
		if err != nil {
			return err
		}
		jars, err := r.Jars(t.Context(), store.JarFilter{})
		if err != nil {
			return err
		}
		if len(batches) != len(deeds) || len(jars) != perAct*len(deeds) {
			t.Errorf("%d deeds came with %d batches and %d jars", len(deeds), len(batches), len(jars))
		}
		for _, d := range deeds {
			there[string(d.ID)] = true
			entries, err := r.DeedEntries(t.Context(), d.ID)
			if err != nil {
				return err
			}
			if len(entries.Seen) != perAct {
				t.Errorf("deed %s has %d entries, want %d: a part was stored", d.ID, len(entries.Seen), perAct)
			}
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	for _, id := range acknowledged {
		if !there[id] {
			t.Errorf("deed %s was acknowledged and is lost", id)
		}
	}
	return len(there)
}

// child is a second process.
type child struct {
	*exec.Cmd
	out  *bufio.Reader
	hold io.Closer // its input
}

// start starts a second process that does something with the data at where.
// It is killed when t ends at the latest.
func start(t *testing.T, does, where string) *child {
	t.Helper()
	self, err := os.Executable()
	if err != nil {
		t.Fatal(err)
	}
	c := &child{Cmd: exec.Command(self)}
	c.Env = append(os.Environ(), childVar+"="+does, whereVar+"="+where)
	c.Stderr = os.Stderr
	out, err := c.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	c.out = bufio.NewReader(out)
	if c.hold, err = c.StdinPipe(); err != nil {
		t.Fatal(err)
	}
	if err := c.Start(); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { c.kill() })
	return c
}

// kill ends the process as a loss of power would: it can do nothing about it.
func (c *child) kill() {
	_ = c.Process.Kill()
	_ = c.Wait()
}

// line waits for the next line that the process prints.
func (c *child) line(t *testing.T) string {
	t.Helper()
	line, err := c.out.ReadString('\n')
	if err != nil {
		t.Fatalf("the second process ended: %v", err)
	}
	return strings.TrimSpace(line)
}

func id[T ~string]() T { return T(uuid.Must(uuid.NewV7()).String()) }

func open(t *testing.T, where string) *DB {
	t.Helper()
	db, err := Open(t.Context(), where)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := db.Close(); err != nil {
			t.Errorf("Close: %v", err)
		}
	})
	return db
}

// plain fails t unless err is a Problem of kind k that says one of words and
// what to do, in words that are not the driver's.
func plain(t *testing.T, err error, k lab.Kind, words ...string) {
	t.Helper()
	p, ok := lab.AsProblem(err)
	if !ok {
		t.Fatalf("error %v is no Problem", err)
	}
	if p.Kind != k || p.Mend == "" {
		t.Errorf("Problem is %+v, want kind %s and what to do", *p, k)
	}
	for _, word := range words {
		if !strings.Contains(p.Error(), word) {
			t.Errorf("Problem says %q, without %q", p.Error(), word)
		}
	}
	for _, jargon := range []string{"SQLITE", "SQLSTATE", "sqldb", "constraint", "errno", "failed"} {
		if strings.Contains(p.Error(), jargon) {
			t.Errorf("Problem says %q to a grower", p.Error())
		}
	}
}
