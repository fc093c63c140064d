package ingest

import (
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"pinset/internal/lab"
)

func TestReadHeader(t *testing.T) {
	for _, c := range []struct {
		means    meaning
		headings string // parted by ;
	}{
		{isJar, "Jar;jar no.;JAR_NO;No;Nr;#;Jar #;number;Jar number;number of the jar;bottle no;Bag;tub #;ID;jar id"},
		{isMark, "Mark;label;Tape;jar label;tape label"},
		{isCode, "Code;jar code"},
		{isBatch, "Batch;SET;batch no;Batch-Name;set #;trial"},
		{isArm, "Arm;group;Variant;What;treatment;A/B;Recipe A/B;recipe A or B"},
		{isRecipe, "Recipe;mix;Broth;recipe name;substrate;grain;Rice"},
		{isCulture, "Culture;strain;LC;inoculated from;Noc'd with;LC jar;culture name;spawn"},
		{isCook, "Cook;Run;run #;cooker load;load;PC run;cook no"},
		{isLayer, "Layer;level;Layer in the cooker;cooker layer;Layer (1 = bottom)"},
		{isShelf, "Shelf;rack;shelf no;place"},
		{isContainer, "Container;jar size;Size;container (mL);jar mL;Jar type"},
		{isMixMade, "mix made;making"},
		{isFilled, "Made;filled;date made;Day filled;FILLED ON;prepared"},
		{isInoculated, "Inoculated;Inoc;noc date;Inoc. date;date inoculated;DateInoculated;inoculation day;inoculated on (date)"},
		{isAmount, "Amount;dose;mL;cc;mL/cc;LC mL;LC (cc);amount of LC;mL per jar;cc/jar;dose (mL)"},
		{isShare, "% covered;percent colonised;% colonized"},
		{isLost, "Discarded;thrown out;Contam;lost;contaminated;discarded (date);Contam?;contam y/n;contam (yes/no);date discarded;tossed;Contam / discarded;Fouled"},
		{isReason, "Reason;why;cause;why discarded;reason thrown out;contam type"},
		{isFate, "Fate;outcome;RESULT;status"},
		{isBlank, "Blank;control (uninoculated);uninoculated;uninoculated control;blank?;blank jar"},
		{isNote, "Note;Notes;remarks;comments;Remark:"},
		{isDry, "Dry substrate g;dry substrate (g);dry rice g;g dry substrate per jar;dry grain (oz);substrate, dry"},
		{isPickDay, "Harvest date;date picked;picked on (date);flush 1 date;date of 2nd flush;harvest date 2"},
		{isPick, "Harvest;picked;harvested;harvest 1;flush 1;Flush 2;pick 3;1st flush;first harvest"},
		{isFlush, "Flush"},
		{isWeight, "Weight;weight g;fresh g;Fresh weight;1st flush g;flush 2 (oz);Flush 1 [g];pick 1 g;harvest (g);Harvest weight;yield;g;Wet weight;fresh yield (lb);total g;2nd flush weight;FLUSH1_G;g fresh"},
		{isAnyDay, "Date;day"},
		{forNote, "control;dry g;dried weight g;jar weight;jar weight g;pH;humidity;initials;inoculated by;lid colour;fresh date;flush 1 (dry g);weight (dry);20;hello world;harvest mL;culture date;grain g;cover mL;;  ;-"},
	} {
		for _, h := range strings.Split(c.headings, ";") {
			if got := readHeader(h); got.means != c.means {
				t.Errorf("%q is taken for %s, want %s", h, got.says(), (&column{means: c.means}).says())
			}
		}
	}
}

func TestReadHeaderStages(t *testing.T) {
	for stage, headings := range map[lab.Stage]string{
		lab.Growth: "1st growth;First growth;growth;growth seen;recovery",
		lab.Cover:  "Covered;full cover;fully colonised;colonized;100 %;100% colonised;fully covered (date);cover;Day colonised",
		lab.Light:  "Light;to light;moved to light;Light on;into the light",
		lab.Colour: "Colour;color;orange;first colour;turned orange",
		lab.Pins:   "Pins;pinning;first pins;PINNED;days to pins",
		lab.Ready:  "ready;ready to pick",
	} {
		for _, h := range strings.Split(headings, ";") {
			if got := readHeader(h); got.means != isStage || got.stage != stage {
				t.Errorf("%q is taken for %s %q, want %q", h, got.says(), got.stage, stage)
			}
		}
	}
}

func TestReadHeaderDetails(t *testing.T) {
	for _, c := range []struct {
		heading string
		flush   int
		unit    string
		days    bool
		slashes dayOrder
	}{
		{"1st flush g", 1, "g", false, orderOpen},
		{"flush 2 (oz)", 2, "oz", false, orderOpen},
		{"third flush, ounces", 3, "oz", false, orderOpen},
		{"Flush 12 lb", 12, "lb", false, orderOpen},
		{"flush 1 of 2", 0, "", false, orderOpen},
		{"weight kg", 0, "kg", false, orderOpen},
		{"days to pins", 0, "", true, orderOpen},
		{"inoculated dd/mm/yyyy", 0, "", false, dayFirst},
		{"inoculated (M/D/Y)", 0, "", false, monthFirst},
		{"LC (cc)", 0, "mL", false, orderOpen},
	} {
		got := readHeader(c.heading)
		if got.flush != c.flush || got.unit != c.unit || got.days != c.days || got.slashes != c.slashes {
			t.Errorf("%q: flush %d, unit %q, days %t, order %d; want %+v", c.heading, got.flush, got.unit, got.days, got.slashes, c)
		}
	}
	if c := readHeader("flush 1 (g / oz)"); !c.units {
		t.Error("a heading with two units has none for bare numbers")
	}
}

// Case, punctuation, underscores and the order of words do not count: every
// heading that is known is known in any of these dresses.
func TestHeadingsInAnyDress(t *testing.T) {
	const seed = 11
	r := rand.New(rand.NewPCG(seed, seed))
	check := func(phrase string, want column) {
		for range 20 {
			words := strings.Fields(phrase)
			r.Shuffle(len(words), func(i, j int) { words[i], words[j] = words[j], words[i] })
			dressed := strings.Join(words, []string{" ", "_", "-", ". ", "  ", " & "}[r.IntN(6)])
			if r.IntN(2) == 0 {
				dressed = strings.ToUpper(dressed)
			}
			dressed = []string{"", " ", "the ", "*"}[r.IntN(4)] + dressed + []string{"", ":", " .", "?"}[r.IntN(4)]
			if got := readHeader(dressed); got.means != want.means || got.stage != want.stage {
				t.Fatalf("seed %d: %q is taken for %s, want %s", seed, dressed, got.says(), want.says())
			}
		}
	}
	for phrase, m := range headings {
		check(phrase, column{means: m})
	}
	for phrase, s := range stageOf {
		check(phrase, column{means: isStage, stage: s})
	}
}

// A phrase with two meanings would be read by chance.
func TestVocabularyIsOfOneMind(t *testing.T) {
	for phrase := range headings {
		if _, both := stageOf[phrase]; both {
			t.Errorf("%q is a stage and something else", phrase)
		}
		for _, w := range strings.Fields(phrase) {
			if passed[w] || sameWord[w] != "" || headerUnits[w] != "" {
				t.Errorf("%q can not be found: %q is passed over or stands for another word", phrase, w)
			}
		}
	}
	for other, word := range sameWord {
		if s := sameWord[word]; s != "" && s != word {
			t.Errorf("%q stands for %q, which stands for %q", other, word, s)
		}
	}
	phrases := 0
	for _, all := range headingPhrases {
		phrases += len(all)
	}
	if phrases != len(headings) {
		t.Errorf("%d phrases make %d headings: one stands twice", phrases, len(headings))
	}
	spellings := 0
	for _, all := range otherSpellings {
		spellings += len(all)
	}
	if spellings != len(sameWord) {
		t.Errorf("%d spellings of %d words: one stands for two", spellings, len(sameWord))
	}
	for m := forNote; m <= isBlank; m++ {
		if c := (column{means: m, stage: lab.Cover}); c.says() == "" {
			t.Errorf("meaning %d has no words", m)
		}
	}
}

// Within a table a phrase stands once, whatever the order of its words.
func TestNoPhraseTwice(t *testing.T) {
	var all []string
	for _, phrases := range stageHeadings {
		for _, p := range phrases {
			all = append(all, sortWords(p))
		}
	}
	slices.Sort(all)
	for i := 1; i < len(all); i++ {
		if all[i] == all[i-1] {
			t.Errorf("%q heads two stages", all[i])
		}
	}
}
