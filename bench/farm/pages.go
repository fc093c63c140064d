package main

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"net"
	"net/http"
	"net/url"
	"os"
	"slices"
	"strings"
	"sync/atomic"
	"time"

	"pinset/internal/app"
	"pinset/internal/store/sqldb"
	"pinset/internal/web"
)

// page is one page that is measured.
type page struct{ name, path string }

// timing is what was measured of a page.
type timing struct {
	page
	took       []time.Duration // ascending
	plain      int             // bytes
	statements int64           // asked of the records
	busy       time.Duration   // of the processor for one answer, asking for it included; 0 if not known
}

// at returns the time within which so many of 100 answers came.
func (t timing) at(percent int) time.Duration { return t.took[(len(t.took)-1)*percent/100] }

// measure asks for each page in turn, one at a time.
func measure(ctx context.Context, db *sqldb.DB, o options) error {
	var asked atomic.Int64
	db.Watch(func(string) { asked.Add(1) })
	farm := app.New(db)
	sample, err := sampleOf(ctx, farm)
	if err != nil {
		return err
	}
	address, stop, err := serve(farm)
	if err != nil {
		return err
	}
	if o.format == "table" {
		fmt.Println("| page | p50, ms | p95 | p99 | CPU, ms | kB | statements |\n|--|--:|--:|--:|--:|--:|--:|")
	}
	for _, p := range sample.pages() {
		if o.only != "" && o.only != p.name {
			continue
		}
		t, err := ask(ctx, address, p, o.asked, &asked)
		if err != nil {
			return err
		}
		t.write(os.Stdout, o.format)
	}
	return stop()
}

// write writes one row of the table, or a line for each answer as the testing
// package does, which benchstat compares.
func (t timing) write(out io.Writer, format string) {
	if format == "bench" {
		for _, took := range t.took {
			fmt.Fprintf(out, "BenchmarkFarm/%s 1 %d ns/op %d B/page %d statements/op\n", strings.ReplaceAll(t.name, " ", "-"), took.Nanoseconds(), t.plain, t.statements)
		}
		return
	}
	ms := func(percent int) float64 { return t.at(percent).Seconds() * 1000 }
	fmt.Fprintf(out, "| %s | %.1f | %.1f | %.1f | %.1f | %.0f | %d |\n", t.name, ms(50), ms(95), ms(99), t.busy.Seconds()*1000, float64(t.plain)/1000, t.statements)
}

// serve serves the farm on a free port of this machine.
func serve(farm *app.Farm) (address string, stop func() error, err error) {
	listener, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		return "", nil, err
	}
	handler, err := web.New(farm, web.Options{Listen: listener.Addr().String(), Log: slog.New(slog.NewTextHandler(os.Stderr, &slog.HandlerOptions{Level: slog.LevelWarn}))})
	if err != nil {
		return "", nil, errors.Join(err, listener.Close())
	}
	server := web.NewServer(listener.Addr().String(), handler)
	done := make(chan error, 1)
	go func() { done <- server.Serve(listener) }()
	return "http://" + listener.Addr().String(), func() error {
		err := server.Close()
		if served := <-done; !errors.Is(served, http.ErrServerClosed) {
			err = errors.Join(err, served)
		}
		return err
	}, nil
}

// ask asks for a page so many times after twice for nothing. Pages come
// uncompressed, so that their size is what is drawn.
func ask(ctx context.Context, address string, p page, times int, asked *atomic.Int64) (timing, error) {
	t := timing{page: p}
	var busy time.Duration
	for i := range times + 2 {
		if i == 2 {
			busy = processorTime()
		}
		before, began := asked.Load(), time.Now()
		size, err := get(ctx, address+p.path)
		if err != nil {
			return t, err
		}
		if i < 2 {
			continue
		}
		t.took = append(t.took, time.Since(began))
		t.plain, t.statements = size, asked.Load()-before
	}
	t.busy = (processorTime() - busy) / time.Duration(times)
	slices.Sort(t.took)
	return t, nil
}

func get(ctx context.Context, address string) (size int, err error) {
	r, err := http.NewRequestWithContext(ctx, http.MethodGet, address, nil)
	if err != nil {
		return 0, err
	}
	r.Header.Set("Accept-Encoding", "identity")
	r.Header.Set("User-Agent", "Mozilla/5.0 (Linux; Android 10; K) Mobile") // as browsers of phones say it
	answer, err := http.DefaultClient.Do(r)
	if err != nil {
		return 0, err
	}
	defer func() { err = errors.Join(err, answer.Body.Close()) }()
	n, err := io.Copy(io.Discard, answer.Body)
	if answer.StatusCode != http.StatusOK {
		err = cmp.Or(err, fmt.Errorf("%s: %s", address, answer.Status))
	}
	return int(n), err
}

// sample is what pages are asked for.
type sample struct {
	grows, over, trial, labels app.BatchRow
	jar                        app.JarRow // of grows
	cook                       int
	key                        string // of the calendar feed
}

// sampleOf chooses by what the farm holds: the oldest batch that grows, one
// that is over, a trial that is over, and the batch whose labels are printed.
func sampleOf(ctx context.Context, farm *app.Farm) (s sample, err error) {
	batches, err := farm.Batches(ctx)
	if err != nil {
		return s, err
	}
	for _, b := range slices.Backward(batches) {
		switch {
		case b.Name == labelled:
			s.labels = b
		case b.Trial != "" && b.Tally.Growing == 0:
			s.trial = b
		case b.Tally.Growing == 0:
			s.over = b
		case s.grows.ID == "" && b.Trial == "":
			s.grows = b
		}
	}
	if s.over.ID == "" || s.trial.ID == "" || s.grows.ID == "" {
		return s, fmt.Errorf("the farm is too young: make it with -days 90 at least")
	}
	view, err := farm.BatchView(ctx, s.grows.String(), 0)
	if err != nil {
		return s, err
	}
	s.jar, s.cook = view.Jars[0], view.Cooks[0].Number
	s.key, err = farm.NewCalendarKey(ctx, false)
	return s, err
}

// pages returns what is measured.
func (s sample) pages() []page {
	grows, over, labels := "/batches/"+s.grows.String(), "/batches/"+s.over.String(), "/batches/"+s.labels.String()
	trial, code := "/trials/"+url.PathEscape(s.trial.Trial), string(s.jar.Code)
	return []page{
		{"today", "/"},
		{"shelf", "/shelf"},
		{"plan", "/plan"},
		{"batches", "/batches"},
		{"batch growing", grows},
		{"batch over", over},
		{"jar", "/j/" + code},
		{"rounds", "/rounds"},
		{"rounds of shelf", "/shelves/" + url.PathEscape(s.jar.Shelf) + "/rounds"},
		{"rounds of batch", grows + "/rounds"},
		{"weigh", grows + "/weigh"},
		{"photos", grows + "/photos"},
		{"trials", "/trials"},
		{"trial", trial},
		{"report", trial + "/report"},
		{"trial days", trial + "/days"},
		{"fouled", "/fouled"},
		{"fouled batch", "/fouled?batch=" + s.over.String()},
		{"cooks", "/cooks"},
		{"cook", fmt.Sprintf("/cooks/%d", s.cook)},
		{"cookers", "/cookers"},
		{"standard", "/standard"},
		{"cultures", "/cultures"},
		{"culture", "/cultures/" + cultureOf(0)},
		{"supplies", "/supplies"},
		{"ingredient", "/ingredients/" + url.PathEscape(grains[0])},
		{"recipe", "/recipes/" + url.PathEscape(recipes[0])},
		{"crop", "/crop"},
		{"find", "/find?q=" + code},
		{"undo", "/undo"},
		{"settings", "/settings"},
		{"labels", "/labels?batch=" + s.labels.String()},
		{"1000 labels PDF", "/labels.pdf?batch=" + s.labels.String()},
		{"bench sheet", labels + "/bench"},
		{"calendar feed", "/calendar/" + s.key},
		{"alarms", "/alarms.json"},
		{"API today", "/api/v1/today"},
		{"API batches", "/api/v1/batches"},
		{"API jars", "/api/v1" + grows + "/jars"},
		{"API jar", "/api/v1/jars/" + code},
		{"API forecast", "/api/v1" + grows + "/forecast"},
		{"API cooks", "/api/v1/cooks"},
	}
}
