package ingest

import "pinset/internal/lab"

// Words of the trade that growers head their columns with. Common practice,
// no source. Whatever stands here is also listed in doc/guide/import.md.

// sameWord turns spellings and neighbours of a word into one.
var sameWord = spellings(otherSpellings)

var otherSpellings = map[string][]string{
	"number":     {"#", "no", "nr", "num", "nbr", "nº", "n°", "numbers"},
	"jar":        {"jars", "bottle", "bottles", "bag", "bags", "tub", "tubs", "vessel", "vessels"},
	"weight":     {"weights", "wt", "wgt", "weighed", "mass"},
	"inoculated": {"inoc", "noc", "inoculation", "inoculate", "innoculated", "innoculation", "noced", "nocced"},
	"cover":      {"covered", "coverage", "colonised", "colonized", "colonisation", "colonization", "colonise", "colonize"},
	"full":       {"fully", "complete", "completely"},
	"percent":    {"%", "pct", "percentage"},
	"colour":     {"color", "coloured", "colored", "colouring", "coloring", "coloration", "colouration"},
	"pins":       {"pin", "pinned", "pinning", "pinheads", "primordia"},
	"pick":       {"picks", "picked", "picking", "harvest", "harvests", "harvested", "harvesting"},
	"flush":      {"flushes"},
	"fresh":      {"wet"},
	"fruit":      {"fruits", "fruiting"},
	"1":          {"1st", "first", "one", "initial"},
	"2":          {"2nd", "second", "two"},
	"3":          {"3rd", "third", "three"},
	"total":      {"totals", "sum", "overall", "all"},
	"discarded":  {"discard", "discards", "binned", "dumped", "tossed", "trashed", "thrown", "threw", "culled"},
	"contam":     {"contams", "contaminated", "contamination", "contaminant", "fouled", "spoiled", "spoilt", "mould", "mold", "mouldy", "moldy", "trich"},
	"lost":       {"loss", "losses", "dead"},
	"reason":     {"reasons", "why", "cause"},
	"note":       {"notes", "remark", "remarks", "comment", "comments"},
	"grain":      {"grains", "rice", "oats", "oat", "rye", "millet", "wheat", "barley", "sorghum"},
	"substrate":  {"substrates", "matter"},
	"amount":     {"dose", "dosage", "dosed", "doses"},
	"recipe":     {"recipes", "mix", "mixes", "mixture", "broth", "formula"},
	"culture":    {"cultures", "strain", "lc", "isolate", "spawn", "syringe"},
	"source":     {"inoculum", "inoculant"},
	"level":      {"levels", "layer", "layers", "tier"},
	"shelf":      {"shelves", "rack", "racks"},
	"day":        {"days"},
	"date":       {"dates", "dated"},
	"made":       {"make", "prepared", "prep"},
	"filled":     {"filling", "loaded", "packed"},
}

// passed are words that change nothing.
var passed = wordSet("the", "of", "on", "at", "in", "into", "to", "was", "is", "were", "when", "for", "or", "and", "&",
	"st", "nd", "rd", "th", "my", "put", "time", "dd", "mm", "yyyy", "yy", "mmm", "d", "m", "y", "ddmmyyyy", "mmddyyyy", "yyyymmdd")

// headings are the sets of words that mean a column, after sameWord and
// without the words passed; their order does not count.
var headings = phrases(headingPhrases)

var headingPhrases = map[meaning][]string{
	isNote:       {"note", "other note", "general note", "observations"},
	isJar:        {"jar", "number", "jar number", "jar id", "id", "jar name"},
	isMark:       {"mark", "jar mark", "label", "jar label", "tape", "tape mark", "tape label", "tag", "jar tag", "sticker", "lid mark"},
	isCode:       {"code", "jar code", "label code"},
	isBatch:      {"batch", "set", "batch number", "set number", "batch name", "batch id", "series", "trial", "trial name", "jar set", "jar batch"},
	isArm:        {"arm", "group", "variant", "what", "treatment", "arm name", "group name", "condition", "variation", "version", "a b", "recipe a b", "recipe a", "test group"},
	isRecipe:     {"recipe", "recipe name", "recipe number", "substrate", "medium", "media", "grain", "recipe used"},
	isCulture:    {"culture", "culture name", "culture number", "inoculated from", "inoculated with", "source", "culture source", "culture used", "from culture", "culture jar", "liquid culture"},
	isCook:       {"cook", "run", "load", "cooker load", "cooker run", "cook number", "run number", "load number", "cook load", "cook run", "cooker cook", "pressure cook", "pressure cooker load", "pressure cooker run", "pc", "pc run", "pc load", "pc number"},
	isLayer:      {"level", "cooker level", "level number", "cook level", "pressure cooker level", "pc level"},
	isShelf:      {"shelf", "shelf number", "place", "shelf place"},
	isContainer:  {"container", "container size", "jar size", "size", "jar kind", "jar type", "jar volume", "container kind", "container type", "container volume"},
	isMixMade:    {"making", "recipe making", "recipe made", "pot", "recipe pot"},
	isFilled:     {"made", "filled", "jar made", "jar filled", "fill"},
	isInoculated: {"inoculated", "jar inoculated"},
	isAmount:     {"amount", "inoculated amount", "culture amount", "volume", "culture volume", "inoculated volume", "source amount", "source volume", "inoculated culture amount"},
	isShare:      {"percent", "cover percent"},
	isReason:     {"reason", "reason discarded", "reason contam", "reason lost", "reason out discarded", "contam type", "contam kind", "what contam", "reason discarded lost", "contam reason discarded"},
	isFate:       {"fate", "outcome", "result", "results", "status", "jar fate", "jar outcome", "end", "became"},
	isBlank:      {"blank", "blank jar", "uninoculated", "control uninoculated", "blank control", "not inoculated", "blank uninoculated", "control blank uninoculated", "sterility blank"},
	isDry:        {"dry substrate", "dry substrate weight", "dry grain", "dry grain weight", "dry substrate jar", "dry grain jar", "dry fill", "dry substrate grain"},
}

// stageHeadings are the headings of stages.
var stageHeadings = map[lab.Stage][]string{
	lab.Growth: {"1 growth", "growth", "growth seen", "1 growth seen", "recovery", "1 sign growth", "1 mycelium"},
	lab.Cover:  {"cover", "cover full", "full", "100 percent", "100 percent cover", "surface cover", "cover full surface"},
	lab.Light:  {"light", "light moved", "lights", "light under", "light from", "light start", "light put"},
	lab.Colour: {"colour", "orange", "1 colour", "1 orange", "colour orange", "orange turned", "1 colour orange"},
	lab.Pins:   {"pins", "1 pins", "pins seen", "pins started", "1 pins seen"},
	lab.Ready:  {"ready", "pick ready", "mature"},
}

// lossWords may stand in any number in the heading of a column that says
// whether a jar was lost; beside says what may stand with them.
var (
	lossWords  = wordSet("discarded", "contam", "lost", "bad")
	besideLoss = wordSet("out", "jar", "away")
)

// Words of the headings of weights and of days of picking: one of pickWords
// is needed, besidePick may stand with them.
var (
	pickWords   = wordSet("flush", "pick", "fresh", "weight", "yield")
	weightWords = wordSet("fresh", "weight", "yield")
	besidePick  = wordSet("fruit", "total")
)

// headerUnits are units that may stand in a heading without brackets.
var headerUnits = map[string]string{
	"g": "g", "gr": "g", "gm": "g", "gms": "g", "gram": "g", "grams": "g", "gramme": "g", "grammes": "g",
	"kg": "kg", "kgs": "kg", "mg": "mg", "oz": "oz", "ozs": "oz", "ounce": "oz", "ounces": "oz", "lb": "lb", "lbs": "lb", "pounds": "lb",
	"ml": "mL", "mls": "mL", "cc": "mL", "ccs": "mL", "millilitre": "mL", "millilitres": "mL", "milliliter": "mL", "milliliters": "mL",
	"pt": "pt", "pint": "pt", "pints": "pt", "qt": "qt", "quart": "qt", "quarts": "qt", "litre": "L", "litres": "L", "liter": "L", "liters": "L",
}

// volumeUnits are those of headerUnits that measure a volume.
var volumeUnits = wordSet("mL", "pt", "qt", "L")

func wordSet(words ...string) map[string]bool {
	set := make(map[string]bool, len(words))
	for _, w := range words {
		set[w] = true
	}
	return set
}

func spellings(table map[string][]string) map[string]string {
	out := make(map[string]string)
	for word, others := range table {
		for _, o := range others {
			out[o] = word
		}
	}
	return out
}
