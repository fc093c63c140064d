package main

import (
	"errors"
	"flag"
	"os"
	"os/exec"
	"regexp"
	"slices"
	"strings"
	"testing"
)

var update = flag.Bool("update", false, "write what the examples of the guide print into it")

const guide = "../../doc/guide/commands.md"

// TestGuide runs every command that the guide of commands shows, one after the
// other in an empty folder, and compares what it prints with what is written
// there. An ellipsis stands for anything, on a line of its own for any lines.
func TestGuide(t *testing.T) {
	raw, err := os.ReadFile(guide)
	if err != nil {
		t.Fatal(err)
	}
	lines := strings.Split(string(raw), "\n")
	shown := examplesIn(lines)
	if len(shown) < 20 {
		t.Fatalf("the guide shows %d commands, want at least 20: are the blocks marked as console?", len(shown))
	}
	dir := t.TempDir()
	var printed []string
	for _, x := range shown {
		command := exec.CommandContext(t.Context(), "sh", "-c", x.command)
		command.Dir = dir
		command.Env = append(os.Environ(), "TEST_NOW="+springNoon, "TZ=UTC", "HOME="+dir, "PINSET_DATA="+dir+"/records", "PINSET_BY=", "PINSET_PASSPHRASE=")
		out, err := command.CombinedOutput()
		if exited := new(exec.ExitError); err != nil && !errors.As(err, &exited) {
			t.Fatalf("%s: %v", x.command, err)
		}
		got := strings.TrimRight(strings.ReplaceAll(string(out), dir, "/loft"), "\n")
		printed = append(printed, got)
		if !x.matches(got) && !*update {
			t.Errorf("line %d of the guide: %s\nprints\n%s\nwant\n%s", x.from, x.command, got, strings.Join(lines[x.from:x.to], "\n"))
		}
	}
	if *update {
		for i, x := range slices.Backward(shown) {
			if !x.matches(printed[i]) {
				lines = slices.Replace(lines, x.from, x.to, strings.Split(printed[i], "\n")...)
			}
		}
		if err := os.WriteFile(guide, []byte(strings.Join(lines, "\n")), 0o644); err != nil {
			t.Fatal(err)
		}
	}
}

// shownCommand is a command that the guide shows, and the lines with what it prints.
type shownCommand struct {
	command  string
	from, to int // lines of the guide
	want     string
}

// matches reports whether got is what the guide shows.
func (x shownCommand) matches(got string) bool {
	pattern := regexp.QuoteMeta(x.want)
	pattern = strings.ReplaceAll(pattern, "\n…\n", "\n(?s:.*\n)?")
	pattern = strings.TrimSuffix(strings.ReplaceAll(pattern, "…", "[^\n]*"), "\n[^\n]*")
	if strings.HasSuffix(x.want, "\n…") {
		pattern += "(?s:\n.*)?"
	}
	return regexp.MustCompile("^" + pattern + "$").MatchString(got)
}

// examplesIn returns the commands in the console blocks of a page: a line that
// begins with "$ ", and those below it while one ends with a backslash.
func examplesIn(lines []string) []shownCommand {
	var all []shownCommand
	inBlock, more := false, false
	for i, line := range lines {
		command, begins := strings.CutPrefix(line, "$ ")
		switch {
		case line == "```console":
			inBlock = true
		case strings.HasPrefix(line, "```"):
			inBlock = false
		case !inBlock:
		case begins:
			all = append(all, shownCommand{command: command, from: i + 1, to: i + 1})
			more = strings.HasSuffix(command, `\`)
		case more:
			x := &all[len(all)-1]
			x.command += "\n" + line
			x.from, x.to = i+1, i+1
			more = strings.HasSuffix(line, `\`)
		default:
			all[len(all)-1].to = i + 1
		}
	}
	for i, x := range all {
		all[i].want = strings.TrimRight(strings.Join(lines[x.from:x.to], "\n"), "\n")
	}
	return all
}
