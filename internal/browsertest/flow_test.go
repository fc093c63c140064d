package browsertest

import (
	"fmt"
	"strings"
	"testing"
	"time"
)

// TestMainLine goes once around: plan, make, cook, inoculate, watch, weigh,
// judge, by thumb on a phone.
func TestMainLine(t *testing.T) {
	t.Parallel()
	b := newTab(t, newSite(t), phone)
	b.planTrial(true)
	b.throughTheLab(true)
	b.toTheVerdict(true)
	b.keepAndRepeat(true)
	b.quiet("the main line")
}

// TestMainLineWithoutScripts is the same for a browser that runs no scripts.
func TestMainLineWithoutScripts(t *testing.T) {
	t.Parallel()
	b := newTab(t, newSite(t), phone)
	b.withoutScripts()
	b.planTrial(false)
	b.throughTheLab(false)
	b.toTheVerdict(false)
	b.keepAndRepeat(false)
	b.quiet("the main line without scripts")
}

// planTrial plans a trial of two recipes and allots its jars.
func (b *tab) planTrial(scripts bool) {
	b.Helper()
	b.open("/")
	b.follow("Plan", 200)
	b.tick("Recipe")
	b.tick("2")
	b.shot(fmt.Sprintf("flow-01-plan-scripts-%v", scripts))
	b.follow("Plan a trial", 200)

	b.fill("Name", "rice or millet")
	b.choose("Container", "pint jar")
	b.choose("Culture", "LC-3")
	b.fillArm(1, "brown rice")
	b.fillArm(2, "millet")
	b.fill("Jars an arm", "6")
	b.fill("Cooks", "1")
	b.fill("Jars that each layer takes", "7, 7")
	b.fill("Hold", "90 min")
	b.fill("Target on the gauge", "15 psi")
	if scripts {
		b.await("#allot", "Allot 12 jars") // the draft follows what is typed
	} else {
		b.follow("Work it out", 200)
	}
	b.says("%")
	b.shot(fmt.Sprintf("flow-02-draft-scripts-%v", scripts))
	b.follow("Allot 12 jars", 200)
	if got := b.path(); got != "/batches/B1/bench" {
		b.Fatalf("after the allotment the page is %s, want the bench sheet", got)
	}
	b.shot(fmt.Sprintf("flow-03-bench-scripts-%v", scripts))
}

// fillArm says what one arm of the plan gets.
func (b *tab) fillArm(n int, grain string) {
	b.Helper()
	probed[bool](b, "chooseIn", fmt.Sprintf("arm%d_recipe", n), grain+" cake")
	probed[string](b, "reachIn", fmt.Sprintf("arm%d_name", n))
	b.insert(grain)
}

// throughTheLab weighs out, cooks and inoculates B1, jar 3 left out.
func (b *tab) throughTheLab(scripts bool) {
	b.Helper()
	b.says("90 min")
	b.press("Grain, brown rice")
	b.fill("brown rice", "251")
	b.fill("gypsum", "6.2 g")
	b.follow("Keep the weights", 200)
	b.says("written 1 time")

	b.open("/cooks/1")
	b.follow("Target reached", 200)
	b.shot(fmt.Sprintf("flow-04-cook-scripts-%v", scripts))
	b.clock.add(95 * time.Minute)
	b.follow("Heat off", 200)
	b.clock.add(2 * time.Hour)
	b.follow("Opened", 200)
	b.says("95 min")

	b.open("/batches/B1")
	b.follow("Inoculate", 200)
	b.fill("For each jar", "2 mL")
	b.fill("Leave out", "3")
	b.follow("Count again", 200)
	b.says("11 of 12")
	b.shot(fmt.Sprintf("flow-05-inoculate-scripts-%v", scripts))
	b.follow("Done, 11 jars", 200)
	b.says("2 mL")
}

// toTheVerdict walks the rounds, takes one entry back, weighs by keyboard and
// reads the verdict.
func (b *tab) toTheVerdict(scripts bool) {
	b.Helper()
	b.clock.add(20 * 24 * time.Hour)
	b.open("/batches/B1/rounds")
	b.fill("Or write numbers", "1-2, 4–6")
	b.follow("pins", 200)
	b.says("B1·1–2, 4–6")
	b.shot(fmt.Sprintf("flow-06-rounds-scripts-%v", scripts))

	b.tick("8")
	b.follow("Lost: broken", 200)
	b.says("B1·8")
	b.follow("Undo", 200) // it was another jar
	b.open("/batches/B1/rounds")
	if cell := b.text(`label.cell:has(input[value="8"])`); strings.Contains(cell, "lost") {
		b.Errorf("jar 8 is %q after the entry was taken back", cell)
	}

	b.clock.add(25 * 24 * time.Hour)
	b.open("/batches/B1/weigh")
	fields := probed[[]string](b, "names", "[data-next]")
	if len(fields) != 11 {
		b.Fatalf("%d jars can be weighed, want 11", len(fields))
	}
	b.weighByKeyboard(fields, scripts)
	b.says("11")
	b.follow("rice or millet", 200)
	say := b.text(".verdict .say")
	if !strings.Contains(say, "millet") {
		b.Errorf("the verdict says %q, and no arm", say)
	}
	b.shot(fmt.Sprintf("flow-07-verdict-scripts-%v", scripts))
}

// keepAndRepeat keeps the reading, reads the report and plans the repeat.
func (b *tab) keepAndRepeat(scripts bool) {
	b.Helper()
	b.follow("Keep this reading", 200)
	b.says("First reading")
	b.follow("Report", 200)
	b.says("SHA-256")
	b.shot(fmt.Sprintf("flow-08-report-scripts-%v", scripts))
	b.follow("Back to the trial", 200)
	b.follow("Plan the repeat", 200)
	b.says("Carried over from rice or millet")
	b.shot(fmt.Sprintf("flow-09-repeat-scripts-%v", scripts))
	b.follow("Allot 12 jars", 200)
	if got := b.path(); got != "/batches/B2/bench" {
		b.Errorf("after the repeat the page is %s, want the bench sheet of B2", got)
	}
}

// weighByKeyboard types a weight for each jar. With scripts Enter goes on to
// the next, and sends after the last; without them Tab goes on.
func (b *tab) weighByKeyboard(fields []string, scripts bool) {
	b.Helper()
	probed[string](b, "reachIn", fields[0])
	for i, field := range fields {
		if got := probed[focused](b, "focus"); got.Field != field {
			b.Fatalf("%s: after %d weights %+v is focused, want %s: %s", b.path(), i, got, field, b.text("main"))
		}
		b.keys(fmt.Sprintf("%.1f", 12+0.4*float64(i)))
		switch last := i == len(fields)-1; {
		case last:
			b.shot(fmt.Sprintf("flow-08-weigh-scripts-%v", scripts))
			b.arrive("Enter in the last weight", 200, enter)
		case scripts:
			b.do("press Enter", enter)
		default:
			b.keys("\t")
		}
	}
}
