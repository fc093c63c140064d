package main

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"io"
	"net/http"
	"net/url"
	"os"
	"slices"
	"strings"
	"sync"
	"time"

	"pinset/internal/app"
	"pinset/internal/lab"
	"pinset/internal/store"
	"pinset/internal/store/sqldb"
)

// entry is one act that a phone sent.
type entry struct {
	act  lab.DeedID
	took time.Duration
	err  error // nil: it was acknowledged
}

// load lets phones log what they see, each on its own jars, while reports run,
// and then looks for every entry that was acknowledged.
func load(ctx context.Context, db *sqldb.DB, o options) error {
	farm := app.New(db)
	s, err := sampleOf(ctx, farm)
	if err != nil {
		return err
	}
	view, err := farm.BatchView(ctx, s.grows.String(), 0)
	if err != nil {
		return err
	}
	address, stop, err := serve(farm)
	if err != nil {
		return err
	}
	until, cancel := context.WithTimeout(ctx, time.Duration(o.seconds)*time.Second)
	defer cancel()
	var work sync.WaitGroup
	sent := make([][]entry, o.phones)
	for phone := range sent {
		work.Go(func() {
			for n := phone; until.Err() == nil; n += o.phones {
				sent[phone] = append(sent[phone], logs(ctx, address, string(view.Jars[n%len(view.Jars)].Code)))
			}
		})
	}
	reports := 0
	work.Go(func() {
		for until.Err() == nil {
			for _, path := range []string{"/trials/" + url.PathEscape(s.trial.Trial), "/export/jars.csv"} {
				if _, failed := get(ctx, address+path); failed != nil {
					err = cmp.Or(err, failed)
					return
				}
				reports++
			}
		}
	})
	work.Wait()
	if err != nil {
		return errors.Join(err, stop())
	}
	return errors.Join(tellLoad(ctx, db, slices.Concat(sent...), reports), stop())
}

// logs sends one thing seen on one jar, as the page of the jar does.
func logs(ctx context.Context, address, code string) (e entry) {
	e.act = app.NewActID()
	form := url.Values{"act": {string(e.act)}, "see": {"sign:clean"}}
	began := time.Now()
	defer func() { e.took = time.Since(began) }()
	r, err := http.NewRequestWithContext(ctx, http.MethodPost, address+"/j/"+code+"/seen", strings.NewReader(form.Encode()))
	if err != nil {
		e.err = err
		return e
	}
	r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	answer, err := http.DefaultTransport.RoundTrip(r) // a redirect is the answer, and not followed
	if err != nil {
		e.err = err
		return e
	}
	_, err = io.Copy(io.Discard, answer.Body)
	e.err = errors.Join(err, answer.Body.Close())
	if answer.StatusCode != http.StatusSeeOther {
		e.err = errors.Join(e.err, fmt.Errorf("%s: %s", code, answer.Status))
	}
	return e
}

// tellLoad counts what was acknowledged and what of it is kept.
func tellLoad(ctx context.Context, db *sqldb.DB, sent []entry, reports int) error {
	var took []time.Duration
	failed, lost := 0, 0
	err := db.Read(ctx, func(r store.Reader) error {
		for _, e := range sent {
			took = append(took, e.took)
			if e.err != nil {
				failed++
				fmt.Fprintln(os.Stderr, e.err)
				continue
			}
			kept, err := r.DeedEntries(ctx, e.act)
			if err != nil {
				return err
			}
			if len(kept.Seen) != 1 {
				lost++
			}
		}
		return nil
	})
	if err != nil || len(took) == 0 {
		return err
	}
	slices.Sort(took)
	t := timing{took: took}
	fmt.Printf("%d entries, %d reports beside them; p50 %s, p99 %s, longest %s; %d failed, %d lost; resident at most %s\n",
		len(sent), reports, t.at(50).Round(time.Millisecond), t.at(99).Round(time.Millisecond), took[len(took)-1].Round(time.Millisecond), failed, lost, mostResident())
	if failed+lost > 0 {
		return fmt.Errorf("%d entries failed and %d were lost", failed, lost)
	}
	return nil
}
