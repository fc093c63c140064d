package browsertest

import (
	"encoding/json"
	"fmt"
	"io"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"testing"
)

// vnuVar names the jar of the Nu Html Checker. test/html.sh sets it.
const vnuVar = "PINSET_VNU"

// TestHTML has the Nu Html Checker read every page of the demo farm.
func TestHTML(t *testing.T) {
	jar := os.Getenv(vnuVar)
	if jar == "" {
		t.Skip("skipped: run test/html.sh, it brings the checker of HTML")
	}
	x := inDemo(t)
	dir := t.TempDir()
	pages := walk(t, x)
	for i, path := range pages {
		if err := save(x.url+path, filepath.Join(dir, fmt.Sprintf("%04d.html", i))); err != nil {
			t.Fatal(err)
		}
	}
	out, err := exec.Command("java", "-jar", jar, "--format", "json", "--stdout", "--exit-zero-always", dir).Output()
	if err != nil {
		t.Fatalf("java -jar %s: %v", jar, err)
	}
	var found struct {
		Messages []struct{ Type, URL, Message, Extract string }
	}
	if err := json.Unmarshal(out, &found); err != nil {
		t.Fatal(err)
	}
	for _, m := range found.Messages {
		if m.Type == "info" { // advice
			continue
		}
		var i int
		if _, err := fmt.Sscanf(filepath.Base(m.URL), "%d.html", &i); err != nil || i >= len(pages) {
			t.Fatalf("the checker speaks of %s: %s", m.URL, m.Message)
		}
		t.Errorf("%s: %s: %s", pages[i], m.Message, m.Extract)
	}
	t.Logf("%d pages, %d messages", len(pages), len(found.Messages))
}

func save(url, file string) error {
	r, err := http.Get(url)
	if err != nil {
		return err
	}
	defer r.Body.Close()
	body, err := io.ReadAll(r.Body)
	if err != nil {
		return err
	}
	return os.WriteFile(file, body, 0o600)
}
