package browsertest

import (
	"context"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/chromedp/chromedp"
)

// What the environment says about the tests.
const (
	requireVar = "PINSET_REQUIRE_ALL" // not empty: what can not run fails
	ciVar      = "CI"                 // likewise
	shotsVar   = "PINSET_SHOTS"       // folder for pictures of the pages
)

// patience bounds one test. It only ends what hangs: nothing is timed here.
const patience = 4 * time.Minute

var errNoBrowser = errors.New("there is no Chromium here: apt-get install chromium, or run test/with-chromium.sh")

// browser is a running Chromium, or says why there is none.
type browser struct {
	ctx context.Context
	err error
}

// The browsers of the package: one for all tests, one whose user set the
// letters to twice the size, and one that reaches this machine by a name, as
// phones do: plain HTTP to it is no secure context.
var (
	theBrowser   = sync.OnceValue(func() browser { return startBrowser(16) })
	houseBrowser = sync.OnceValue(func() browser { return startBrowser(16, "host-resolver-rules=MAP farm.example 127.0.0.1") })
	largeLetters = sync.OnceValue(func() browser { return startBrowser(32) })
)

// ends are what is to be done when all tests are over.
var ends struct {
	sync.Mutex
	all []func()
}

func atEnd(do func()) {
	ends.Lock()
	defer ends.Unlock()
	ends.all = append(ends.all, do)
}

// sharedDir is a folder for what all tests share.
var sharedDir string

func TestMain(m *testing.M) { os.Exit(run(m)) }

func run(m *testing.M) int {
	var err error
	if sharedDir, err = os.MkdirTemp("", "pinset-browsertest-"); err != nil {
		fmt.Fprintln(os.Stderr, err)
		return 1
	}
	defer os.RemoveAll(sharedDir)
	code := m.Run()
	for _, end := range ends.all {
		end()
	}
	return code
}

func findBrowser() (string, error) {
	for _, name := range []string{"chromium", "chromium-browser", "google-chrome"} {
		if path, err := exec.LookPath(name); err == nil {
			return path, nil
		}
	}
	return "", errNoBrowser
}

// startBrowser starts Chromium with a new profile, in which letters are so
// many pixels high. It asks nobody on the network for anything but what the
// pages ask for.
func startBrowser(letters int, flags ...string) browser {
	profile, err := newProfile(letters)
	if err != nil {
		return browser{err: err}
	}
	b, end := startIn(profile, flags...)
	atEnd(func() {
		end()
		os.RemoveAll(profile)
	})
	return b
}

// startIn starts Chromium with a profile that is there, until end.
func startIn(profile string, flags ...string) (b browser, end func()) {
	path, err := findBrowser()
	if err != nil {
		return browser{err: err}, func() {}
	}
	options := []chromedp.ExecAllocatorOption{chromedp.ExecPath(path), chromedp.UserDataDir(profile)}
	for name, value := range map[string]any{
		"headless": true, "no-sandbox": true, "disable-gpu": true, "disable-quic": true, "no-first-run": true,
		"disable-background-networking": true, "disable-component-update": true, "disable-sync": true,
		"disable-dev-shm-usage": true, "disable-extensions": true, "hide-scrollbars": true, "mute-audio": true,
		"force-color-profile": "srgb", "lang": "en-GB", "disable-background-timer-throttling": true,
		"disable-renderer-backgrounding": true, "disable-backgrounding-occluded-windows": true,
	} {
		options = append(options, chromedp.Flag(name, value))
	}
	for _, f := range flags {
		name, value, _ := strings.Cut(f, "=")
		options = append(options, chromedp.Flag(name, value))
	}
	allocator, free := chromedp.NewExecAllocator(context.Background(), options...)
	ctx, cancel := chromedp.NewContext(allocator)
	return browser{ctx, chromedp.Do(ctx)}, func() {
		cancel()
		free()
	}
}

// newProfile makes a profile of a user who chose a size of letters.
func newProfile(letters int) (dir string, err error) {
	if dir, err = os.MkdirTemp(sharedDir, "chromium-"); err != nil {
		return "", err
	}
	if err := os.Mkdir(filepath.Join(dir, "Default"), 0o700); err != nil {
		return "", err
	}
	chosen := fmt.Sprintf(`{"webkit":{"webprefs":{"default_font_size":%d}}}`, letters)
	return dir, os.WriteFile(filepath.Join(dir, "Default", "Preferences"), []byte(chosen), 0o600)
}

// in returns the context of a browser, or ends the test if there is none.
func in(t testing.TB, start func() browser) context.Context {
	t.Helper()
	if testing.Short() {
		t.Skip("skipped: tests in a browser are long")
	}
	b := start()
	switch {
	case b.err == nil:
		return b.ctx
	case errors.Is(b.err, errNoBrowser) && os.Getenv(ciVar)+os.Getenv(requireVar) == "":
		t.Skipf("skipped: %v", b.err)
	default:
		t.Fatalf("the browser does not start: %v", b.err)
	}
	return nil
}
