// Package store says what use cases need of storage: readers and writers for
// the words of package lab, and transactions around them.
//
// Implementations keep no rules of the trade, only constraints. All of them
// pass storetest. Reads run side by side and see one state of the data;
// writes run one at a time, so a write transaction may read, decide and write
// without losing an update.
//
// Errors: a record that is not there is a lab.Problem of kind NotFound, a
// name, number or code that is taken is a Conflict, a file that can not be
// reached in time is Busy. Everything else is a fault of the machine.
package store

import (
	"context"
	"time"

	"pinset/internal/lab"
	"pinset/internal/units"
)

// Store keeps the records of one farm.
type Store interface {
	// Read runs f on one unchanging state of the data.
	Read(ctx context.Context, f func(Reader) error) error
	// Write runs f alone and keeps all that it wrote, or nothing if f
	// returns an error or panics. When Write returns nil the data have
	// reached the disk. f must not compute at length, print or use the
	// network.
	Write(ctx context.Context, f func(Writer) error) error
	// Close waits for what is running and releases the data.
	Close() error
}

// Reader reads all nouns.
type Reader interface {
	Settings
	Cultures
	Supplies
	Jars
	Photos
	Cooks
	Trials
	Guests
	Forecasts
	Deeds
	People
}

// Writer reads and writes all nouns.
type Writer interface {
	Reader
	SettingsWriter
	CulturesWriter
	SuppliesWriter
	JarsWriter
	PhotosWriter
	CooksWriter
	TrialsWriter
	GuestsWriter
	ForecastsWriter
	DeedsWriter
	PeopleWriter
}

// Settings reads the farm's settings.
type Settings interface {
	// Setting returns the value kept under name, "" if there is none.
	Setting(ctx context.Context, name string) (string, error)
}

// SettingsWriter writes the farm's settings.
type SettingsWriter interface {
	SetSetting(ctx context.Context, name, value string) error
}

// Cultures reads cultures.
type Cultures interface {
	// Cultures returns all cultures, newest first.
	Cultures(ctx context.Context) ([]lab.Culture, error)
	Culture(ctx context.Context, id lab.CultureID) (lab.Culture, error)
	// CultureByName finds by lab.NameKey.
	CultureByName(ctx context.Context, name string) (lab.Culture, error)
	// Keepings returns all entries on cultures, corrected ones included, in
	// the order of entry.
	Keepings(ctx context.Context) ([]lab.Keeping, error)
	// CultureUses counts the jars that carry each culture by what became of
	// them.
	CultureUses(ctx context.Context) ([]CultureUse, error)
	// CultureYields adds up, for each of the cultures and each batch, what the
	// jars gave that are done and were not lost, by culture and batch number.
	CultureYields(ctx context.Context, cultures []lab.CultureID) ([]CultureYield, error)
	// CultureDoses counts the inoculations that hold by culture and amount
	// as typed.
	CultureDoses(ctx context.Context) ([]CultureDose, error)
}

// CultureUse is jars of one culture with one fate, as stored.
type CultureUse struct {
	Culture lab.CultureID
	Fate    lab.Fate
	Reason  string
	Jars    int
	Grams   float64   // picked, fresh
	Last    time.Time // when the last of them came to it; zero if not said
}

// CultureYield is the jars of one batch that carry a culture, are done and
// were not lost.
type CultureYield struct {
	Culture lab.CultureID
	Batch   lab.BatchID
	Jars    int
	Grams   float64 // picked, fresh, of all of them
	Squares float64 // the sum of the squares of each jar's grams
}

// CultureDose is jars that got one amount of a culture.
type CultureDose struct {
	Culture lab.CultureID
	Amount  string // as typed
	Jars    int
}

// CulturesWriter writes cultures.
type CulturesWriter interface {
	// AddCulture stores c once: a second call with the same ID stores
	// nothing and is no error. A taken name is a Conflict. The same holds
	// for every Add below.
	AddCulture(ctx context.Context, c lab.Culture) error
	AddKeepings(ctx context.Context, k []lab.Keeping) error
}

// Supplies reads ingredients, recipes, containers and makings.
type Supplies interface {
	// Ingredients returns all ingredients by name.
	Ingredients(ctx context.Context) ([]lab.Ingredient, error)
	IngredientByName(ctx context.Context, name string) (lab.Ingredient, error)
	// IngredientFigures and IngredientLots return all entries, corrected
	// ones included, in the order of entry.
	IngredientFigures(ctx context.Context) ([]lab.IngredientFigures, error)
	IngredientLots(ctx context.Context) ([]lab.IngredientLot, error)
	// DrawnFromLots adds up what the makings that hold took from each lot.
	// A lot that nothing was taken from is left out.
	DrawnFromLots(ctx context.Context) (map[lab.IngredientLotID]units.Gram, error)
	// Containers returns all containers by name.
	Containers(ctx context.Context) ([]lab.Container, error)
	Container(ctx context.Context, id lab.ContainerID) (lab.Container, error)
	ContainerByName(ctx context.Context, name string) (lab.Container, error)
	// ContainerLids returns what was said of lids, corrected entries
	// included, in the order of entry.
	ContainerLids(ctx context.Context) ([]lab.ContainerLid, error)
	// Recipes returns the newest version of every recipe, by name.
	Recipes(ctx context.Context) ([]lab.Recipe, error)
	Recipe(ctx context.Context, id lab.RecipeVersionID) (lab.Recipe, error)
	// RecipesByID returns the versions named by name; those that are not there
	// are left out.
	RecipesByID(ctx context.Context, ids ...lab.RecipeVersionID) ([]lab.Recipe, error)
	// RecipeLines returns which recipe each version is of.
	RecipeLines(ctx context.Context) (map[lab.RecipeVersionID]lab.RecipeID, error)
	// RecipeByName returns the newest version.
	RecipeByName(ctx context.Context, name string) (lab.Recipe, error)
	// Makings returns the makings of batches, corrected ones included, in the
	// order of entry.
	Makings(ctx context.Context, batches ...lab.BatchID) ([]lab.Making, error)
}

// SuppliesWriter writes ingredients, recipes, containers and makings.
type SuppliesWriter interface {
	AddIngredient(ctx context.Context, i lab.Ingredient) error
	AddIngredientFigures(ctx context.Context, f []lab.IngredientFigures) error
	AddIngredientLots(ctx context.Context, l []lab.IngredientLot) error
	AddContainer(ctx context.Context, c lab.Container) error
	AddContainerLids(ctx context.Context, l []lab.ContainerLid) error
	// AddRecipe stores one version. A version number that is taken within
	// its line is a Conflict, and so is a name that another line bears.
	AddRecipe(ctx context.Context, r lab.Recipe) error
	AddMakings(ctx context.Context, m []lab.Making) error
}

// JarFilter chooses jars. Zero fields choose all.
type JarFilter struct {
	IDs     []lab.JarID
	Codes   []lab.Code
	Batch   lab.BatchID
	Batches []lab.BatchID // of these batches
	Numbers []int         // with Batch
	Cooks   []lab.CookID  // that stood in one of these
	Blanks  []lab.CookID  // only the blanks of these cooks
	Trials  []lab.TrialID // of these trials
	Carries lab.CultureID // what they were inoculated with
	Shelf   string
	Shelves []string // "" is that it was not said
	Open    bool     // only jars whose stored fate is growing or not yet settled, no blanks
	On      lab.Day  // with Open: none of batches whose closing day is before it
	Differs bool     // only jars on which two people wrote what can hardly both hold
	After   int      // with Batch: only numbers above it, for paging
	Limit   int      // 0 is no limit
}

// ShelfCount is how many jars are at work on one shelf.
type ShelfCount struct {
	Name string
	Jars int
}

// JarRow is a jar with its standing as stored.
type JarRow struct {
	lab.Jar
	lab.Standing
}

// Tally counts the jars of one batch by what became of them.
type Tally struct {
	Batch      lab.BatchID
	Jars       int // blanks not counted
	Blanks     int
	Inoculated int
	Growing    int // as stored: the closing day is not applied
	Picked     int // picked and spent
	Barren     int
	Lost       int
	Grams      float64           // picked, fresh
	DryGrams   float64           // dry substrate of the inoculated jars; 0 if not known for all of them
	ByStage    map[lab.Stage]int // growing jars by their furthest stage
}

// Jars reads batches, jars and what happened to them.
type Jars interface {
	// Batches returns batches, newest number first; limit 0 is all.
	Batches(ctx context.Context, limit int) ([]lab.Batch, error)
	// BatchesBelow returns those whose numbers are under one, as Batches does.
	BatchesBelow(ctx context.Context, number, limit int) ([]lab.Batch, error)
	// OpenBatches returns those that on a day are not closed and hold jars that
	// grow or wait, blanks apart, newest number first.
	OpenBatches(ctx context.Context, on lab.Day) ([]lab.Batch, error)
	// BatchesOfTrials returns the batches of trials, newest number first.
	BatchesOfTrials(ctx context.Context, trials ...lab.TrialID) ([]lab.Batch, error)
	Batch(ctx context.Context, id lab.BatchID) (lab.Batch, error)
	// BatchesByID returns the batches named by number; those that are not
	// there are left out.
	BatchesByID(ctx context.Context, ids ...lab.BatchID) ([]lab.Batch, error)
	// BatchByName finds by "B12" or by the batch's own name.
	BatchByName(ctx context.Context, name string) (lab.Batch, error)
	// LastBatchNumber returns the highest number in use, 0 if none.
	LastBatchNumber(ctx context.Context) (int, error)
	// Jars returns jars with their standings by batch number, then jar
	// number. Names that are not found are left out.
	Jars(ctx context.Context, f JarFilter) ([]JarRow, error)
	// JarByCode returns a NotFound Problem if no jar bears the code.
	JarByCode(ctx context.Context, code lab.Code) (JarRow, error)
	// Shelves counts by shelf the jars whose stored fate is growing or not yet
	// settled, blanks not counted, and none of batches whose closing day is
	// before on. Shelves are in the order of their names; "" is not said.
	Shelves(ctx context.Context, on lab.Day) ([]ShelfCount, error)
	// CodesTaken returns those of codes that a jar bears.
	CodesTaken(ctx context.Context, codes []lab.Code) ([]lab.Code, error)
	// Tallies counts jars for the batches named, or for all if none is.
	Tallies(ctx context.Context, batches ...lab.BatchID) (map[lab.BatchID]Tally, error)
	// Inoculations, Seen and Picks return the entries on the jars named,
	// corrected ones included, in the order of entry.
	Inoculations(ctx context.Context, jars []lab.JarID) ([]lab.Inoculation, error)
	Seen(ctx context.Context, jars []lab.JarID) ([]lab.Seen, error)
	Picks(ctx context.Context, jars []lab.JarID) ([]lab.Pick, error)
}

// JarsWriter writes batches, jars and what happened to them.
type JarsWriter interface {
	AddBatch(ctx context.Context, b lab.Batch) error
	// AddJars stores jars with an empty standing each.
	AddJars(ctx context.Context, jars []lab.Jar) error
	// PlaceJars changes where jars stood and stand: Cook, Layer, Shelf,
	// Filled, MixMade and DryGrams of each; nothing else of it.
	PlaceJars(ctx context.Context, jars []lab.Jar) error
	AddInoculations(ctx context.Context, in []lab.Inoculation) error
	AddSeen(ctx context.Context, s []lab.Seen) error
	AddPicks(ctx context.Context, p []lab.Pick) error
	// SetStandings replaces the stored standings of the jars named in them.
	SetStandings(ctx context.Context, s []lab.Standing) error
	// SetSights replaces the stored sights of the jars named in them.
	SetSights(ctx context.Context, s []lab.JarSights) error
}

// PhotoFilter chooses photos that hold. Zero fields choose all.
type PhotoFilter struct {
	IDs    []lab.EntryID
	Jars   []lab.JarID
	Batch  lab.BatchID
	Whole  []string    // hashes of whole pictures
	Before lab.EntryID // only those that stand behind this one, for paging
	After  lab.EntryID // only those that stand before this one, the nearest of them first
	Limit  int         // 0 is no limit
}

// Photos reads photos of jars.
type Photos interface {
	// Photos returns photos that hold, the latest event first.
	Photos(ctx context.Context, f PhotoFilter) ([]lab.Photo, error)
	CountPhotos(ctx context.Context, f PhotoFilter) (int, error)
	// PhotoEntries returns the entries on photos of the jars named, or of
	// all if none is, corrected ones included, in the order of entry.
	PhotoEntries(ctx context.Context, jars ...lab.JarID) ([]lab.Photo, error)
}

// PhotosWriter writes photos of jars. Their files are kept before.
type PhotosWriter interface {
	AddPhotos(ctx context.Context, p []lab.Photo) error
}

// Files keeps files under the hash of what is in them: SHA-256, as 64
// hexadecimal digits. It takes no part in transactions.
type Files interface {
	// Put keeps data and returns their name. When it returns they have
	// reached the disk. Data that are there already count as kept now.
	Put(ctx context.Context, data []byte) (name string, err error)
	// Get returns an error that is fs.ErrNotExist if there is no such file.
	Get(ctx context.Context, name string) ([]byte, error)
	// Remove removes a file. One that is not there is no error.
	Remove(ctx context.Context, name string) error
	// Each calls visit for each file with the time when it was last put,
	// until visit returns an error.
	Each(ctx context.Context, visit func(name string, kept time.Time) error) error
}

// Cooks reads cooks and their marks.
type Cooks interface {
	// Cooks returns cooks, newest number first; limit 0 is all.
	Cooks(ctx context.Context, limit int) ([]lab.Cook, error)
	// CooksBelow returns those whose numbers are under one, as Cooks does.
	CooksBelow(ctx context.Context, number, limit int) ([]lab.Cook, error)
	Cook(ctx context.Context, id lab.CookID) (lab.Cook, error)
	// CooksByID returns the cooks named by number; those that are not there are
	// left out.
	CooksByID(ctx context.Context, ids ...lab.CookID) ([]lab.Cook, error)
	// CookByName finds by number ("7", "cook 7") or by the cook's own name.
	CookByName(ctx context.Context, name string) (lab.Cook, error)
	LastCookNumber(ctx context.Context) (int, error)
	// CookMarks returns the marks of the cooks named, corrected ones
	// included, in the order of entry.
	CookMarks(ctx context.Context, cooks ...lab.CookID) ([]lab.CookMark, error)
	// Cookers, CookSteps, CookRecords and CookItems return all entries,
	// corrected ones included, in the order of entry; CookRecords without the
	// original text.
	Cookers(ctx context.Context) ([]lab.Cooker, error)
	CookSteps(ctx context.Context, cooks ...lab.CookID) ([]lab.CookStep, error)
	CookRecords(ctx context.Context, cooks ...lab.CookID) ([]lab.CookRecord, error)
	CookItems(ctx context.Context, cooks ...lab.CookID) ([]lab.CookItem, error)
	// Calibrations returns all entries as they were entered, corrected ones
	// included.
	Calibrations(ctx context.Context) ([]lab.Calibration, error)
	// CookRecordText returns the original text of a record.
	CookRecordText(ctx context.Context, id lab.EntryID) (string, error)
	// Loads counts the jars of each batch in each of the cooks named, by
	// cook number, then batch number.
	Loads(ctx context.Context, cooks ...lab.CookID) ([]Load, error)
}

// Load is the jars of one batch in one cook.
type Load struct {
	Cook   lab.CookID
	Batch  lab.BatchID
	Number int // of the batch
	Jars   int // blanks not counted
	Blanks int
}

// CooksWriter writes cooks and their marks.
type CooksWriter interface {
	AddCook(ctx context.Context, c lab.Cook) error
	AddCookMarks(ctx context.Context, m []lab.CookMark) error
	AddCookers(ctx context.Context, c []lab.Cooker) error
	AddCookSteps(ctx context.Context, s []lab.CookStep) error
	AddCookRecords(ctx context.Context, r []lab.CookRecord) error
	AddCalibrations(ctx context.Context, c []lab.Calibration) error
	AddCookItems(ctx context.Context, i []lab.CookItem) error
}

// Trials reads trials, allotments and analyses.
type Trials interface {
	// Trials returns trials, newest first.
	Trials(ctx context.Context) ([]lab.Trial, error)
	Trial(ctx context.Context, id lab.TrialID) (lab.Trial, error)
	// TrialsByID returns the trials named, newest first; those that are not
	// there are left out.
	TrialsByID(ctx context.Context, ids ...lab.TrialID) ([]lab.Trial, error)
	TrialByName(ctx context.Context, name string) (lab.Trial, error)
	// Allotments returns the allotments of trials, the newest last; none is
	// no error.
	Allotments(ctx context.Context, trials ...lab.TrialID) ([]lab.Allotment, error)
	// Analyses returns the analyses of a trial that were kept, the newest
	// last; none is no error.
	Analyses(ctx context.Context, trial lab.TrialID) ([]lab.Analysis, error)
	// Openings returns the keys of blind trials that were opened.
	Openings(ctx context.Context) ([]lab.Opening, error)
}

// TrialsWriter writes trials, allotments and analyses.
type TrialsWriter interface {
	AddTrial(ctx context.Context, t lab.Trial) error
	AddAllotment(ctx context.Context, a lab.Allotment) error
	AddAnalysis(ctx context.Context, a lab.Analysis) error
	// AddOpening opens the key of a trial. A second one for the same trial
	// is a Conflict.
	AddOpening(ctx context.Context, o lab.Opening) error
}

// Entries are the entries that one deed wrote, or that are to be taken back.
type Entries struct {
	Figures      []lab.IngredientFigures
	Lots         []lab.IngredientLot
	Lids         []lab.ContainerLid
	Keepings     []lab.Keeping
	Makings      []lab.Making
	Marks        []lab.CookMark
	Cookers      []lab.Cooker
	Steps        []lab.CookStep
	Records      []lab.CookRecord
	Calibrations []lab.Calibration
	Items        []lab.CookItem
	Inoculations []lab.Inoculation
	Seen         []lab.Seen
	Picks        []lab.Pick
	Photos       []lab.Photo
	Guests       []lab.Guest
}

// Deeds reads acts of entry.
type Deeds interface {
	// Deed returns a NotFound Problem if there is none.
	Deed(ctx context.Context, id lab.DeedID) (lab.Deed, error)
	// Deeds returns the newest first; limit 0 is all. batch "" is any.
	Deeds(ctx context.Context, batch lab.BatchID, limit int) ([]lab.Deed, error)
	// DeedEntries returns what the deed wrote.
	DeedEntries(ctx context.Context, id lab.DeedID) (Entries, error)
	// Written returns those of the jars named with something seen or picked by
	// an act that was entered at or after since and not taken back.
	Written(ctx context.Context, jars []lab.JarID, since time.Time) ([]lab.JarID, error)
	// Undoing returns the deed that took id back, a NotFound Problem if none did.
	Undoing(ctx context.Context, id lab.DeedID) (lab.Deed, error)
}

// DeedsWriter writes acts of entry.
type DeedsWriter interface {
	// AddDeed stores d and returns true, or returns false if a deed with
	// that ID is stored already: then its entries are too, and the caller
	// has nothing more to do.
	AddDeed(ctx context.Context, d lab.Deed) (bool, error)
}

// People reads who may come in, and from which devices. Keys are hashes: no
// secret is stored.
type People interface {
	// People returns all persons, those who left too, by name.
	People(ctx context.Context) ([]lab.Person, error)
	Person(ctx context.Context, id lab.PersonID) (lab.Person, error)
	// Devices returns all devices, the newest first.
	Devices(ctx context.Context) ([]lab.Device, error)
	Device(ctx context.Context, id lab.DeviceID) (lab.Device, error)
	// DeviceByKey and PairingByKey return a NotFound Problem if none has it.
	DeviceByKey(ctx context.Context, key string) (lab.Device, error)
	PairingByKey(ctx context.Context, key string) (lab.Pairing, error)
}

// PeopleWriter writes who may come in. Set methods change what is stored
// under the same ID.
type PeopleWriter interface {
	// AddPerson returns a Conflict if the name or the initials are taken.
	AddPerson(ctx context.Context, p lab.Person) error
	SetPerson(ctx context.Context, p lab.Person) error
	AddDevice(ctx context.Context, d lab.Device) error
	SetDevices(ctx context.Context, d []lab.Device) error
	AddPairing(ctx context.Context, p lab.Pairing) error
	SetPairing(ctx context.Context, p lab.Pairing) error
}
