package ingest

import (
	"strconv"

	"pinset/internal/lab"
)

// meaning is what a column of a sheet holds.
type meaning int

const (
	forNote meaning = iota // not understood: goes to the note
	isNote
	isJar // number, or the grower's own name of a jar
	isMark
	isCode
	isBatch
	isArm
	isRecipe
	isCulture
	isCook
	isLayer
	isShelf
	isContainer
	isMixMade
	isFilled
	isInoculated
	isAmount
	isStage
	isShare // per cent covered
	isWeight
	isPickDay
	isPick   // a weight or a day: its cells tell
	isFlush  // a weight, or the number of the flush: the other columns tell
	isAnyDay // a day that does not say of what
	isDry
	isLost
	isReason
	isFate
	isBlank
)

// column is one column of a sheet and what its heading says.
type column struct {
	header   string // as in the file, or "column F"
	unnamed  bool   // the file has no heading for it
	empty    bool   // and nothing below it
	means    meaning
	stage    lab.Stage // of isStage
	flush    int       // of weights and days of picking, 0 if not said
	unit     string    // of bare numbers, as units prints it; "" if not said
	units    bool      // more than one unit is named, so that a bare number has none
	total    bool      // a weight of all flushes together
	days     bool      // bare numbers are days from inoculation
	slashes  dayOrder  // of 3/4/2026
	dots     dayOrder  // of 4.3.2026
	ranges   bool      // 3-7 names several jars
	top      int       // the layer called top
	as       string    // what it was told to be, "" if its words say it
	whyNoted string    // for forNote: why it is not read, "" if its words are not known
}

// plainMeans says in words what a column of each meaning is taken for.
var plainMeans = map[meaning]string{
	isNote: "note", isJar: "number or name of the jar", isMark: "mark on the jar", isCode: "code on the jar", isBatch: "batch",
	isArm: "arm of the trial", isRecipe: "recipe", isCulture: "culture", isCook: "cook", isShelf: "shelf", isContainer: "container",
	isMixMade: "making of the mix", isFilled: "day filled", isInoculated: "day inoculated", isShare: "share covered: 100 % is full cover",
	isFlush: "number of the flush", isLost: "lost: day, yes, or the reason", isReason: "why it was lost", isFate: "what became of it",
	isBlank: "blank, never inoculated", isPick: "weight or day of picking", isAnyDay: "a day",
}

// says returns what the column is taken for, in words.
func (c *column) says() string {
	if c.as != "" {
		return c.saysMeaning() + ", as you said"
	}
	return c.saysMeaning()
}

func (c *column) saysMeaning() string {
	switch c.means {
	case forNote:
		if c.whyNoted != "" {
			return "goes to the note: " + c.whyNoted
		}
		return "goes to the note: its words are not known"
	case isLayer:
		return "layer in the cooker, 1 is the bottom"
	case isStage:
		return "day: " + c.stage.Label() + c.saysOrder()
	case isFilled, isInoculated:
		return plainMeans[c.means] + c.saysOrder()
	case isPickDay:
		return "day of picking" + c.saysFlush() + c.saysOrder()
	case isWeight:
		return "fresh weight" + c.saysFlush() + c.saysUnit("g")
	case isDry:
		return "dry substrate in the jar" + c.saysUnit("g")
	case isAmount:
		return "amount of culture" + c.saysUnit("")
	}
	return plainMeans[c.means]
}

func (c *column) saysFlush() string {
	switch {
	case c.total:
		return ", all flushes"
	case c.flush > 0:
		return ", flush " + strconv.Itoa(c.flush)
	}
	return ""
}

func (c *column) saysUnit(otherwise string) string {
	switch {
	case c.units:
		return ", unit in each cell"
	case c.unit != "":
		return ", in " + c.unit
	case otherwise != "":
		return ", in " + otherwise + " where no unit is written"
	}
	return ""
}

func (c *column) saysOrder() string {
	switch c.slashes {
	case dayFirst:
		return ", 3/4 is 3 April"
	case monthFirst:
		return ", 3/4 is 4 March"
	}
	return ""
}

// dated reports whether the cells of the column are days.
func (c *column) dated() bool {
	switch c.means {
	case isFilled, isInoculated, isStage, isPickDay, isLost, isPick, isFlush, isAnyDay:
		return true
	}
	return false
}
