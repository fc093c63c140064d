package browsertest

import (
	"fmt"
	"strings"
	"testing"
)

// TestSupplies goes from a sack to a bench sheet by thumb on a phone: a lot,
// a recipe with what is asked about it, a sheet, a ladder, a recipe found
// elsewhere.
func TestSupplies(t *testing.T) {
	t.Parallel()
	b := newTab(t, newSite(t), phone)
	b.fromSackToSheet(true)
	b.ladderAndAudit(true)
	b.quiet("supplies")
}

// TestSuppliesWithoutScripts is the same for a browser that runs no scripts.
func TestSuppliesWithoutScripts(t *testing.T) {
	t.Parallel()
	b := newTab(t, newSite(t), phone)
	b.withoutScripts()
	b.fromSackToSheet(false)
	b.ladderAndAudit(false)
	b.quiet("supplies without scripts")
}

// into types into the field of that name, where several bear one label.
func (b *tab) into(field, text string) {
	b.Helper()
	probed[string](b, "reachIn", field)
	b.insert(text)
}

// fromSackToSheet receives a lot, writes a recipe, and weighs it out.
func (b *tab) fromSackToSheet(scripts bool) {
	b.Helper()
	look := func(page string) {
		b.Helper()
		b.fits("phone " + page)
		if scripts { // the scanner waits for promises, which a page without scripts may drop
			b.scan("phone "+page, false)
		}
		b.shot(fmt.Sprintf("supplies-%s-scripts-%v", page, scripts))
	}
	b.open("/supplies")
	b.press("Write an ingredient down")
	b.fill("Name", "brown rice")
	b.follow("Keep the ingredient", 200)
	look("list")
	b.follow("brown rice", 200)
	b.fill("How much came", "2 x 5 kg")
	b.fill("Price", "20 EUR")
	b.fill("Measured water", "130 %")
	b.follow("Keep the lot", 422)
	b.holds("with a lot too wet", typed{"How much came": "2 x 5 kg", "Price": "20 EUR", "Measured water": "130 %"})
	b.fill("Measured water", "12 %")
	b.follow("Keep the lot", 200)
	b.says("2.00 EUR a kg")
	look("lot")

	b.open("/supplies")
	b.follow("Write a recipe", 200)
	b.fill("Name", "moon cake")
	b.into("mix1", "dry")
	b.into("fill1", "100 g")
	b.into("ing1.1", "brown rice")
	b.into("amt1.1", "1 kg")
	b.into("ing1.2", "moon grain")
	b.into("amt1.2", "a pinch")
	b.into("mix2", "broth")
	b.into("fill2", "90 mL")
	b.into("upto2", "1 L")
	b.into("ing2.1", "dextrose")
	b.into("amt2.1", "20 g")
	b.into("ing2.2", "ammonium citrate")
	b.into("amt2.2", "0.5 g")
	b.follow("Keep the recipe", 422)
	b.says("“a pinch” has neither a number nor a unit of fixed size")
	look("pinch")
	b.into("amt1.2", "1/2 cup")
	b.follow("Keep the recipe", 422) // nobody has weighed a cup of moon grain
	b.holds("with a cup that nobody weighed", typed{"Mix 1, amount 2": "1/2 cup", "Mix 2, amount 2": "0.5 g"})
	look("asked")
	b.fill("A level cup of moon grain weighs", "160 g")
	b.choose("ammonium citrate is", "triammonium citrate")
	b.follow("Keep the recipe", 200)
	b.says("One jar holds")
	b.says("Which dextrose is it?")
	b.follow("dextrose monohydrate", 200)
	if text := b.text("main"); strings.Contains(text, "Which ammonium citrate") || strings.Contains(text, "Which dextrose") {
		b.Errorf("what was answered is asked again: %s", text)
	}
	b.fill("Jars", "6")
	b.choose("In", "pint jar")
	b.fill("Water to come to", "60 %")
	b.follow("Count again", 200)
	b.says("mm in a pint jar")
	if text := b.text("main"); strings.Contains(text, "_pct") {
		b.Errorf("the page speaks in keys: %s", text)
	}
	look("recipe")

	b.open("/plan/batch")
	b.fill("Name", "first")
	b.choose("Recipe", "moon cake")
	b.choose("Culture", "LC-3")
	b.choose("Container", "pint jar")
	b.fill("Jars", "6")
	b.fill("Jars that each layer takes", "7")
	b.fill("Hold", "90 min")
	b.fill("Target on the gauge", "15 psi")
	b.follow("Work it out", 200)
	b.follow("Allot 6 jars", 200)
	b.open("/batches/B1/bench")
	b.says("brown rice I1")
	b.says("Too little for the scale")
	look("bench")
	b.press("Dry, moon cake")
	b.fill("brown rice", "600")
	b.fill("moon grain", "plenty")
	b.follow("Keep the weights", 422)
	b.holds("with a weight that is none", typed{"brown rice": "600", "moon grain": "plenty"})
	b.fill("moon grain", "48 g")
	b.follow("Keep the weights", 200)
	b.says("written 1 time")
	b.open("/ingredients/brown%20rice")
	b.says("9.4 kg")
}

// ladderAndAudit steps the broth of the recipe, and looks into another.
func (b *tab) ladderAndAudit(scripts bool) {
	b.Helper()
	b.open("/recipes/moon%20cake")
	b.follow("Step one amount", 200)
	b.choose("What is stepped", "broth")
	b.fill("From", "80 mL")
	b.fill("To", "100 mL")
	b.fill("In steps of", "7 mL")
	b.follow("Show the steps", 422)
	b.holds("with an uneven ladder", typed{"From": "80 mL", "To": "100 mL", "In steps of": "7 mL"})
	b.fill("In steps of", "10 mL")
	b.follow("Show the steps", 200)
	b.says("I1 brown rice")
	b.fits("phone ladder")
	b.shot(fmt.Sprintf("supplies-ladder-scripts-%v", scripts))
	b.follow("Keep recipes and trial", 200)
	if got := b.path(); got != "/batches/B2" {
		b.Errorf("after the ladder the page is %s, want the batch", got)
	}

	b.open("/supplies")
	b.follow("Look into one you found", 200)
	b.fill("The recipe", "a pinch of salt")
	b.follow("Look into it", 422)
	b.holds("with nothing to read", typed{"The recipe": "a pinch of salt"})
	b.fill("The recipe", "50 g brown rice, 50 g water, 60 % moisture")
	b.follow("Look into it", 200)
	b.says("60 % moisture is not met")
	b.fits("phone found")
	b.shot(fmt.Sprintf("supplies-found-scripts-%v", scripts))
}
