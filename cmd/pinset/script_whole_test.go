package main

import (
	"encoding/json"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"
)

// No command is left out of the scripts, and none of those that print is left
// out with --json.
func TestScriptsTryEveryCommandWithJSON(t *testing.T) {
	scripts, err := filepath.Glob("testdata/script/*.txtar")
	if err != nil {
		t.Fatal(err)
	}
	var lines []string
	for _, name := range scripts {
		text, err := os.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		lines = append(lines, strings.Split(string(text), "\n")...)
	}
	if slices.Contains(lines, "stop") {
		t.Error("stop ends a script before its end and passes it; to end a server say interrupt")
	}
	list, err := exec.Command("pinset", "--json").Output()
	if err != nil {
		t.Fatal(err)
	}
	var commands []struct{ Command string }
	if err := json.Unmarshal(list, &commands); err != nil || len(commands) < 30 {
		t.Fatalf("%d commands, %v: want at least 30", len(commands), err)
	}
	for _, c := range commands {
		tried := false
		for _, line := range lines {
			words := strings.TrimPrefix(strings.TrimPrefix(line, "exec "), "serve ")
			words = strings.TrimPrefix(words, "pinset ") + " "
			tried = tried || strings.HasPrefix(words, strings.TrimPrefix(c.Command, "pinset ")+" ") && strings.Contains(words, " --json ")
		}
		if !tried {
			t.Errorf("no script runs %s with --json", c.Command)
		}
	}
}
