// Command farm makes a big invented farm and measures Pinset on it: how long
// its pages take, how large they are and how many statements each asks of the
// records; and whether twenty phones that log at once lose an entry while
// reports run.
//
//	go run ./bench/farm make  -at FILE
//	go run ./bench/farm pages -at FILE
//	go run ./bench/farm load  -at FILE
//
// FILE is a SQLite file or a postgres:// address. Nothing on the farm
// was grown.
package main

import (
	"context"
	"flag"
	"fmt"
	"log"
	"os"
	"os/signal"
	"runtime/pprof"

	"pinset/internal/store/sqldb"
)

// verbs are what can be done with the farm.
var verbs = map[string]func(context.Context, *sqldb.DB, options) error{
	"make": plant, "pages": measure, "load": load,
}

// options say how large the farm is, and how it is measured.
type options struct {
	at      string
	days    int    // that the farm has been growing
	seed    uint64 // of its jars
	asked   int    // how often each page is asked for
	only    string // one page, "" all
	phones  int    // that log at once
	seconds int    // for how long
	format  string // "table", or "bench" for benchstat
	profile string // file for a profile of the processor, "" for none
}

func main() {
	log.SetFlags(0)
	if len(os.Args) < 2 || verbs[os.Args[1]] == nil {
		log.Fatal("farm make, farm pages or farm load, with -at FILE")
	}
	var o options
	flags := flag.NewFlagSet(os.Args[1], flag.ExitOnError)
	flags.StringVar(&o.at, "at", "", "SQLite file or postgres:// address of the farm")
	flags.IntVar(&o.days, "days", 780, "make: days that the farm has been growing, 128 jars a day")
	flags.Uint64Var(&o.seed, "seed", 7, "make: seed of its jars")
	flags.IntVar(&o.asked, "asked", 200, "pages: how often each is asked for")
	flags.StringVar(&o.only, "only", "", "pages: the name of one alone")
	flags.StringVar(&o.format, "format", "table", "pages: table, or bench for benchstat")
	flags.StringVar(&o.profile, "profile", "", "pages, load: file for a profile of the processor, for: go tool pprof")
	flags.IntVar(&o.phones, "phones", 20, "load: phones that log at once")
	flags.IntVar(&o.seconds, "seconds", 60, "load: for how long")
	if err := flags.Parse(os.Args[2:]); err != nil {
		log.Fatal(err)
	}
	if err := run(verbs[os.Args[1]], o); err != nil {
		log.Fatal(err)
	}
}

// run opens the records and does f with them.
func run(f func(context.Context, *sqldb.DB, options) error, o options) error {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt)
	defer stop()
	db, err := sqldb.Open(ctx, o.at)
	if err != nil {
		return fmt.Errorf("open %s: %w", o.at, err)
	}
	if o.profile != "" {
		file, err := os.Create(o.profile)
		if err != nil {
			return err
		}
		if err := pprof.StartCPUProfile(file); err != nil {
			return err
		}
		defer pprof.StopCPUProfile()
	}
	if err := f(ctx, db, o); err != nil {
		return err
	}
	return db.Close()
}
