package browsertest

import (
	"bufio"
	"context"
	"net/http"
	"net/http/httptest"
	"net/http/httputil"
	"net/url"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"sync"
	"testing"
	"time"

	"pinset/internal/app"
	"pinset/internal/store/sqldb"
)

// program builds pinset as it is run on a farm.
var program = sync.OnceValues(func() (string, error) {
	path := filepath.Join(sharedDir, "pinset")
	build := exec.Command("go", "build", "-o", path, "pinset/cmd/pinset")
	build.Stderr = os.Stderr
	return path, build.Run()
})

// mortal is a pinset that is killed and started again. The network before it
// keeps its address.
type mortal struct {
	t     *testing.T
	dir   string
	mu    sync.Mutex
	at    *url.URL // nil: dead
	cmd   *exec.Cmd
	kills time.Duration // after the next entry began to be sent; -1 is never
}

var spoken = regexp.MustCompile(`http://127\.0\.0\.1:\d+`)

// start starts the program, or ends the test.
func (m *mortal) start() {
	m.t.Helper()
	path, err := program()
	if err != nil {
		m.t.Fatal(err)
	}
	cmd := exec.Command(path, "serve", "--listen", "127.0.0.1:0", "--host", "farm.example", "--data", m.dir)
	out, err := cmd.StdoutPipe()
	if err != nil {
		m.t.Fatal(err)
	}
	if err := cmd.Start(); err != nil {
		m.t.Fatal(err)
	}
	line, err := bufio.NewReader(out).ReadString('\n')
	at, wrong := url.Parse(spoken.FindString(line))
	if err != nil || wrong != nil {
		m.t.Fatalf("%q, %v, %v", line, err, wrong)
	}
	m.mu.Lock()
	defer m.mu.Unlock()
	m.cmd, m.at, m.kills = cmd, at, -1
}

// kill ends the program as a power cut does.
func (m *mortal) kill() {
	m.mu.Lock()
	defer m.mu.Unlock()
	if m.at == nil {
		return
	}
	m.at = nil
	_ = m.cmd.Process.Kill()
	_ = m.cmd.Wait()
}

func (m *mortal) dead() bool { m.mu.Lock(); defer m.mu.Unlock(); return m.at == nil }

// dieIn lets the next entry be the last, so long after it began to be sent.
func (m *mortal) dieIn(d time.Duration) { m.mu.Lock(); defer m.mu.Unlock(); m.kills = d }

func (m *mortal) ServeHTTP(w http.ResponseWriter, r *http.Request) {
	m.mu.Lock()
	at, kills := m.at, m.kills
	m.mu.Unlock()
	if at == nil {
		panic(http.ErrAbortHandler)
	}
	if kills >= 0 && r.Method == http.MethodPost {
		time.AfterFunc(kills, m.kill)
	}
	proxy := httputil.ReverseProxy{
		Rewrite:      func(p *httputil.ProxyRequest) { p.SetURL(at); p.Out.Host = p.In.Host },
		ErrorHandler: func(http.ResponseWriter, *http.Request, error) { panic(http.ErrAbortHandler) },
	}
	proxy.ServeHTTP(w, r)
}

// newMortal serves a farm with a batch of inoculated jars from a program that
// can be killed, and opens it on a phone under a name in the house.
func newMortal(t *testing.T) (*mortal, *tab) {
	dir := t.TempDir()
	x, err := serve(dir, func(f *app.Farm, _ func(...app.Option) *app.Farm) error { return stock(f) })
	if err != nil {
		t.Fatal(err)
	}
	x.keep(t, trial("rice or millet", 6))
	x.cook(t, "1")
	x.inoculate(t, "B1")
	x.close()

	m := &mortal{t: t, dir: dir}
	m.start()
	t.Cleanup(m.kill)
	network := httptest.NewServer(m)
	t.Cleanup(network.Close)
	house := &site{clock: x.clock, log: x.log, url: strings.Replace(network.URL, "127.0.0.1", "farm.example", 1)}
	b := newTabIn(t, houseBrowser, house, phone)
	return m, b
}

// TestKilledWhileAnEntryIsSent kills the program at several moments after an
// entry began to be sent, and starts it again: each entry is there once.
func TestKilledWhileAnEntryIsSent(t *testing.T) {
	t.Parallel()
	m, b := newMortal(t)
	moments := []time.Duration{0, time.Millisecond, 2 * time.Millisecond, 4 * time.Millisecond, 8 * time.Millisecond, 16 * time.Millisecond, 40 * time.Millisecond}
	for i, moment := range moments {
		b.open("/batches/B1/rounds")
		if i == 0 && evaluated[bool](b, "isSecureContext") {
			t.Fatal("plain HTTP to a name in the house is a secure context here: the test tries nothing")
		}
		m.dieIn(moment)
		b.note("1", "killed after "+moment.String())
		b.until("the program is dead", m.dead)
		b.until("it waits, or was answered before", func() bool {
			return probed[bool](b, "has", ".waiting") || strings.Contains(b.text("body"), "B1·1: note") || !strings.Contains(b.text("body"), "Rounds")
		})
		m.start()
	}
	b.open("/batches/B1/rounds")
	b.until("nothing waits", func() bool { return b.waits() == 0 })
	m.kill()

	db, err := sqldb.Open(context.Background(), sqldb.File(m.dir))
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	jars := must[app.BatchView](t)(app.New(db).BatchView(context.Background(), "B1", 0)).Jars
	notes := make(map[string]int)
	for _, line := range must[app.JarView](t)(app.New(db).JarView(context.Background(), string(jars[0].Code))).History {
		if _, note, ok := strings.Cut(line.What, "killed after "); ok {
			notes[note]++
		}
	}
	for _, moment := range moments {
		if n := notes[moment.String()]; n != 1 {
			t.Errorf("the entry during which the program was killed after %v is there %d times", moment, n)
		}
	}
}
