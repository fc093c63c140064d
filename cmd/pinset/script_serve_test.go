package main

import (
	"bufio"
	"io"
	"net/http"
	"os"
	"os/exec"
	"regexp"
	"strings"
	"sync"
	"time"

	"github.com/rogpeppe/go-internal/testscript"
)

// patience bounds how long a server may take to begin or to end.
const patience = 30 * time.Second

// served is the server of one script.
type served struct {
	cmd    *exec.Cmd
	done   chan error
	errors strings.Builder // what it wrote on standard error; read it after done
}

// servers holds the server of each script that runs.
var (
	serversMu sync.Mutex
	servers   = make(map[*testscript.TestScript]*served)
)

var addressLine = regexp.MustCompile(`https?://[0-9.:\[\]]+`)

// cmdServe starts pinset with args in the background and puts the address that
// it prints into $address.
func cmdServe(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) == 0 {
		ts.Fatalf("usage: serve ARGS...")
	}
	cmd := exec.Command("pinset", args...)
	cmd.Dir = ts.MkAbs(".")
	cmd.Env = append(os.Environ(), "TZ=UTC", "TEST_NOW="+ts.Getenv("TEST_NOW"), "PINSET_DATA="+ts.Getenv("PINSET_DATA"), "TMPDIR="+ts.Getenv("TMPDIR"),
		"PINSET_PASSPHRASE="+ts.Getenv("PINSET_PASSPHRASE"))
	s := &served{cmd: cmd, done: make(chan error, 1)}
	cmd.Stderr = &s.errors
	out, err := cmd.StdoutPipe()
	ts.Check(err)
	ts.Check(cmd.Start())
	ts.Defer(func() { _ = cmd.Process.Kill() })
	serversMu.Lock()
	servers[ts] = s
	serversMu.Unlock()
	address := make(chan string, 1)
	go func() {
		lines := bufio.NewScanner(out)
		for lines.Scan() {
			if a := addressLine.FindString(lines.Text()); a != "" {
				address <- a
				break
			}
		}
		_, _ = io.Copy(io.Discard, out)
		s.done <- cmd.Wait()
	}()
	select {
	case a := <-address:
		ts.Setenv("address", strings.Replace(a, "https://", "http://", 1)) // both are spoken on one port
	case err := <-s.done:
		ts.Fatalf("pinset %s ended: %v: %s", strings.Join(args, " "), err, s.errors.String())
	case <-time.After(patience):
		ts.Fatalf("pinset %s says no address", strings.Join(args, " "))
	}
}

// cmdGet asks the server for a page, by the name $HOST if that is set. Its
// body is compared with a pattern.
func cmdGet(ts *testscript.TestScript, neg bool, args []string) {
	if len(args) == 0 || len(args) > 2 {
		ts.Fatalf("usage: get PATH [WANT]")
	}
	client := http.Client{Timeout: patience}
	request, err := http.NewRequest(http.MethodGet, ts.Getenv("address")+args[0], nil)
	ts.Check(err)
	request.Host = ts.Getenv("HOST")
	response, err := client.Do(request)
	if err != nil {
		if neg {
			return
		}
		ts.Fatalf("get %s: %v", args[0], err)
	}
	defer response.Body.Close()
	body, err := io.ReadAll(response.Body)
	ts.Check(err)
	if neg && response.StatusCode >= 400 {
		return
	}
	if neg || response.StatusCode != http.StatusOK {
		ts.Fatalf("get %s: %s", args[0], response.Status)
	}
	if len(args) == 2 && !regexp.MustCompile(args[1]).Match(body) {
		ts.Fatalf("get %s: no %q in it:\n%s", args[0], args[1], body)
	}
}

// cmdInterrupt interrupts the server, which must end with exit code 0.
func cmdInterrupt(ts *testscript.TestScript, _ bool, _ []string) {
	serversMu.Lock()
	s := servers[ts]
	serversMu.Unlock()
	if s == nil {
		ts.Fatalf("nothing is served")
	}
	ts.Check(s.cmd.Process.Signal(os.Interrupt))
	select {
	case err := <-s.done:
		ts.Check(err)
	case <-time.After(patience):
		ts.Fatalf("an interrupt does not end pinset")
	}
}

// cmdLogged compares what the server wrote on standard error with a pattern.
// The server must have ended.
func cmdLogged(ts *testscript.TestScript, neg bool, args []string) {
	serversMu.Lock()
	s := servers[ts]
	serversMu.Unlock()
	if s == nil || len(args) != 1 {
		ts.Fatalf("usage: logged WANT, after interrupt")
	}
	if log := s.errors.String(); regexp.MustCompile(args[0]).MatchString(log) == neg {
		ts.Fatalf("%q in the log is %v:\n%s", args[0], neg, log)
	}
}
