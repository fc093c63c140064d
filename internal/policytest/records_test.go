package policytest

import (
	"fmt"
	"path"
	"regexp"
	"strings"
	"testing"
)

var (
	recordName   = regexp.MustCompile(`^(\d{4})-[a-z0-9-]+\.md$`)
	recordStatus = regexp.MustCompile(`(?m)^Status: (proposed|accepted|rejected|superseded by \d{4})$`)
	recordDate   = regexp.MustCompile(`(?m)^Date: \d{4}-\d{2}-\d{2}$`)
)

// recordFaults finds decision records that can not be found, dated or
// followed: each has the next number, a title with it, a status, a date and
// the three parts.
func recordFaults(t *tree) []string {
	var faults []string
	number := 0
	for _, p := range t.within("doc/adr/", ".md") {
		number++
		text := string(t.text[p])
		name := recordName.FindStringSubmatch(path.Base(p))
		switch want := fmt.Sprintf("%04d", number); {
		case name == nil:
			faults = append(faults, p+": the name is not of the form 0001-words-with-dashes.md")
		case name[1] != want:
			faults = append(faults, p+": the next number is "+want)
		case !strings.HasPrefix(text, "# "+want+" "):
			faults = append(faults, p+": the title does not begin with # "+want)
		case !recordStatus.MatchString(text):
			faults = append(faults, p+": no line Status: proposed, accepted, rejected or superseded by …")
		case !recordDate.MatchString(text):
			faults = append(faults, p+": no line Date: year-month-day")
		}
		for _, part := range []string{"## Context", "## Decision", "## Consequences"} {
			if !strings.Contains(text, "\n"+part+"\n") {
				faults = append(faults, p+": no part "+part)
			}
		}
	}
	return faults
}

var changeName = regexp.MustCompile(`^\d{4}-[a-z0-9-]+\.md$`)

// changeFaults finds changelog files that do not follow changelog/TEMPLATE: a
// kind and what is now in one line, then what was.
func changeFaults(t *tree) []string {
	var faults []string
	for _, p := range t.within("changelog/", ".md") {
		first, rest, _ := strings.Cut(string(t.text[p]), "\n")
		kind, now, _ := strings.Cut(first, ": ")
		switch {
		case !changeName.MatchString(path.Base(p)):
			faults = append(faults, p+": the name is not of the form 0001-words-with-dashes.md")
		case kind != "New" && kind != "Changed" && kind != "Mended" && kind != "Gone":
			faults = append(faults, p+": the first line does not begin with New, Changed, Mended or Gone")
		case now == "" || !strings.HasSuffix(now, "."):
			faults = append(faults, p+": the first line says no sentence")
		case strings.TrimSpace(rest) == "":
			faults = append(faults, p+": it does not say what was before")
		}
	}
	return faults
}

func TestRecords(t *testing.T) {
	inHouse(t, recordFaults)
	inHouse(t, changeFaults)
}

func TestRecordFaults(t *testing.T) {
	const whole = "# 0001 Layers\n\nStatus: accepted\nDate: 2026-11-25\n\n## Context\n\nx\n\n## Decision\n\nx\n\n## Consequences\n\nx\n"
	but := func(old, new string) sketch {
		return sketch{"doc/adr/0001-layers.md": strings.Replace(whole, old, new, 1)}
	}
	breaches(t, recordFaults, []breach{
		{"whole", but("", ""), ""},
		{"superseded", but("accepted", "superseded by 0007"), ""},
		{"name", sketch{"doc/adr/layers.md": whole}, "of the form"},
		{"number", sketch{"doc/adr/0002-layers.md": whole}, "next number is 0001"},
		{"title", but("# 0001", "# Layers"), "title"},
		{"status", but("accepted", "perhaps"), "Status"},
		{"date", but("2026-11-25", "today"), "Date"},
		{"part", but("## Consequences", "## So"), "## Consequences"},
	})
	breaches(t, changeFaults, []breach{
		{"whole", sketch{"changelog/unreleased/0001-x.md": "New: Jars can be filled.\n\nThere were none.\n"}, ""},
		{"name", sketch{"changelog/unreleased/x.md": "New: Jars.\n\nx\n"}, "of the form"},
		{"kind", sketch{"changelog/unreleased/0001-x.md": "Jars can be filled.\n\nx\n"}, "New, Changed"},
		{"sentence", sketch{"changelog/unreleased/0001-x.md": "New: jars\n\nx\n"}, "no sentence"},
		{"before", sketch{"changelog/unreleased/0001-x.md": "New: Jars.\n"}, "before"},
	})
}
