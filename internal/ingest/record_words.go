package ingest

import (
	"maps"
	"slices"
	"strings"
	"unicode"
)

// recordField is a column of a sheet of other records than jars. Words are
// headings for it, parted by semicolons, the one that is taken out first.
type recordField struct {
	key   string // as the use case calls it
	words string
	unit  string // of bare numbers, "" if they have none
	day   bool
}

// recordFields are the columns of each noun. Common practice, no source;
// doc/guide/import.md lists them.
var recordFields = map[string][]recordField{
	"cultures": {
		{key: "name", words: "culture;name;culture name;id;label"},
		{key: "form", words: "form;kind;type"},
		{key: "strain", words: "strain;strain name"},
		{key: "species", words: "species;mushroom"},
		{key: "parent", words: "parent;from;taken from;mother"},
		{key: "generation", words: "transfers;transfer;generation"},
		{key: "source", words: "source;got from;bought from;supplier"},
		{key: "medium", words: "grows on;medium;agar;recipe"},
		{key: "made", words: "made;made on;date made;date;day", day: true},
		{key: "volume", words: "volume;holds;held", unit: "mL"},
		{key: "tested", words: "tested;test;test result"},
		{key: "tested_on", words: "tested on;test date;date tested", day: true},
		{key: "stored", words: "stored;storage;put away;kept"},
		{key: "since", words: "since;stored since;stored on", day: true},
		{key: "ended", words: "ended;ended on;used up;thrown away", day: true},
		{key: "note", words: "note;notes;remarks;comments"},
	},
	"lots": {
		{key: "lot", words: "lot;lot no;our lot;number"},
		{key: "ingredient", words: "ingredient;what;item;product;name"},
		{key: "supplier", words: "supplier;from;bought from;shop;vendor"},
		{key: "supplier_code", words: "supplier code;supplier lot;lot code;their lot;code"},
		{key: "received", words: "received;received on;delivered;bought on;date;day", day: true},
		{key: "best_before", words: "best before;bb;expires;use by", day: true},
		{key: "moisture", words: "moisture;water;humidity", unit: "%"},
		{key: "cup", words: "cup;cup weighs", unit: "g"},
		{key: "bought", words: "bought;amount;quantity;weight;size", unit: "g"},
		{key: "price", words: "price;cost;paid"},
		{key: "note", words: "note;notes;remarks;comments"},
	},
	"ingredients": {
		{key: "ingredient", words: "ingredient;name;item;product"},
		{key: "stands_for", words: "stands for;is like;book"},
		{key: "moisture", words: "moisture;water", unit: "%"},
		{key: "nitrogen", words: "nitrogen;n", unit: "%"},
		{key: "carbon", words: "carbon;c", unit: "%"},
		{key: "protein", words: "protein", unit: "%"},
		{key: "fat", words: "fat", unit: "%"},
		{key: "carbs", words: "carbohydrate;carbohydrates;carbs", unit: "%"},
		{key: "sugars", words: "sugars;sugar", unit: "%"},
		{key: "fibre", words: "fibre;fiber", unit: "%"},
		{key: "ash", words: "ash", unit: "%"},
		{key: "factor", words: "protein factor;factor;protein over nitrogen"},
		{key: "cup", words: "cup;cup weighs", unit: "g"},
		{key: "allergens", words: "allergens;allergen"},
	},
	"containers": {
		{key: "name", words: "container;name;vessel"},
		{key: "kind", words: "kind;form;type"},
		{key: "volume", words: "volume;holds;size", unit: "mL"},
		{key: "bore", words: "bore;inner diameter;diameter;inside", unit: "mm"},
		{key: "height", words: "height;inner height", unit: "mm"},
		{key: "lid", words: "lid;lids;vents"},
		{key: "note", words: "note;notes;remarks;comments"},
	},
	"recipes": {
		{key: "recipe", words: "recipe;name;recipe name"},
		{key: "mix", words: "mix;part;broth"},
		{key: "make_up_to", words: "made up to;make up to;fill up to"},
		{key: "ingredient", words: "ingredient;what;item"},
		{key: "amount", words: "amount;quantity;weight", unit: "g"},
		{key: "fill", words: "fill;per jar;in each jar;each jar"},
		{key: "note", words: "note;notes;remarks;comments"},
	},
	"seen": {
		{key: "batch", words: "batch;set"},
		{key: "jar", words: "jar;number;jar no;no;bag;bottle"},
		{key: "code", words: "code;jar code;label"},
		{key: "at", words: "seen at;seen;seen on;when;date;day;time", day: true},
		{key: "stage", words: "stage;reached"},
		{key: "sign", words: "sign;looks;looked;smell"},
		{key: "fate", words: "fate;outcome;became"},
		{key: "reason", words: "reason;why"},
		{key: "count", words: "count;how many"},
		{key: "covered", words: "cover;covered", unit: "%"},
		{key: "note", words: "note;notes;remarks;comments"},
		{key: "by", words: "by;who;initials"},
	},
	"picks": {
		{key: "batch", words: "batch;set"},
		{key: "jar", words: "jar;number;jar no;no;bag;bottle"},
		{key: "code", words: "code;jar code;label"},
		{key: "at", words: "picked at;picked;picked on;harvested;harvest date;when;date;day;time", day: true},
		{key: "flush", words: "flush;pick"},
		{key: "grams", words: "grams;weight;fresh;fresh weight;wet weight;yield", unit: "g"},
		{key: "by", words: "by;who;initials"},
	},
}

// RecordNouns are what ReadRecords reads, sorted.
var RecordNouns = slices.Sorted(maps.Keys(recordFields))

// recordHeadings finds the field of a heading, by noun.
var recordHeadings = func() map[string]map[string]*recordField {
	out := make(map[string]map[string]*recordField)
	for noun, fields := range recordFields {
		out[noun] = make(map[string]*recordField)
		for i := range fields {
			for _, w := range strings.Split(fields[i].words, ";") {
				out[noun][w] = &fields[i]
			}
		}
	}
	return out
}()

// recordHeading takes a heading apart into words, joined by spaces, and the
// unit in it. A heading that is a unit alone is left as it is.
func recordHeading(text string) (words, unit string) {
	var kept []string
	for _, w := range strings.FieldsFunc(strings.ToLower(text), func(r rune) bool { return !unicode.IsLetter(r) && !unicode.IsDigit(r) && r != '%' }) {
		switch u := headerUnits[w]; {
		case u != "":
			unit = u
		case w == "%", w == "mm", w == "cm":
			unit = w
		case w == "l":
			unit = "L"
		default:
			kept = append(kept, w)
		}
	}
	if len(kept) == 0 {
		return strings.ToLower(strings.TrimSpace(text)), unit
	}
	return strings.Join(kept, " "), unit
}
