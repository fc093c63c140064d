package main

import (
	"math/rand/v2"
	"os"
	"path/filepath"
	"sync"
	"testing"
	"time"

	"github.com/rogpeppe/go-internal/testscript"
)

// TestMain lets this binary be pinset itself when it is called by that name.
// It is the program as it is, but for the clock and for chance: the scripts
// stand in spring 2026 and draw the same codes each time.
func TestMain(m *testing.M) {
	testscript.Main(m, map[string]func(){"pinset": func() {
		if now, err := time.Parse(time.RFC3339, os.Getenv("TEST_NOW")); err == nil {
			clock = func() time.Time { return now }
		}
		chance = &seeded{r: rand.NewChaCha8([32]byte{1})}
		main()
	}})
}

// seeded is chance that is the same each time.
type seeded struct {
	mu sync.Mutex
	r  *rand.ChaCha8
}

// Read fills b and never fails.
func (s *seeded) Read(b []byte) (int, error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.r.Read(b)
}

// springNoon is when scripts run unless they say otherwise.
const springNoon = "2026-04-10T12:00:00Z"

// TestScripts runs the scripts in testdata/script. Besides the commands of
// testscript they know those of scriptCommands.
func TestScripts(t *testing.T) {
	testscript.Run(t, testscript.Params{
		Dir: "testdata/script",
		Setup: func(e *testscript.Env) error {
			e.Setenv("TEST_NOW", springNoon)
			e.Setenv("TZ", "UTC")
			e.Setenv("PINSET_DATA", e.WorkDir+"/records")
			loggers, err := filepath.Abs("../../internal/ingest/testdata/loggers")
			e.Setenv("LOGGERS", loggers)
			return err
		},
		Condition:          func(string) (bool, error) { return os.Geteuid() == 0, nil }, // [root]
		Cmds:               scriptCommands,
		RequireUniqueNames: true,
	})
}
