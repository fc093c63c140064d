package policytest

// row says what one package may import.
type row struct {
	may     []string // packages of ours; "calc/*" stands for all below calc
	never   []ban    // of the standard library
	pure    bool     // no clock, no unseeded chance; tests without storage
	leaf    bool     // imports nothing of ours; everybody may import it
	helper  bool     // only tests and other helpers import it
	planned bool     // named here before it exists
}

// ban keeps a part of the standard library out of a package. "net" stands for
// all below net too.
type ban struct {
	paths []string
	why   string
}

var (
	inOut = ban{
		[]string{"database/sql", "net", "os", "log", "syscall", "io/ioutil", "plugin"},
		"what it says must follow from what it is given",
	}
	chance  = ban{[]string{"math/rand", "crypto/rand"}, "chance comes from a seed, by math/rand/v2"}
	sql     = ban{[]string{"database/sql"}, "SQL is written in store/sqldb only"}
	http    = ban{[]string{"net/http"}, "HTTP is spoken in web only"}
	disk    = ban{[]string{"os"}, "files and the environment are for the edges"}
	trouble = ban{[]string{"log"}, "an error is returned or handled, never logged and passed over"}
)

// testHelpers may be imported by the tests of every package that is not pure,
// besides what the package itself may import.
var testHelpers = []string{"testdb", "testfile", "store/storetest", "store/sqldb", "store", "demo", "photo/phototest"}

// pure returns the row of a package that only computes.
func pure(may ...string) row {
	return row{may: may, never: []ban{inOut, chance}, pure: true}
}

// later returns r for a package that does not exist yet.
func (r row) later() row {
	r.planned = true
	return r
}

// importTable is the law of layers: doc/adr/0001-layers-and-packages.md says
// why. A package that is not here may not exist.
var importTable = map[string]row{
	"figure":  {leaf: true, never: []ban{inOut, chance}, pure: true},
	"nearest": {leaf: true, never: []ban{inOut, chance}, pure: true},

	"units": pure(),
	"lab":   pure("units"),

	"calc/stats":     pure(),
	"calc/steam":     pure("units"),
	"calc/substrate": pure("units"),
	"calc/thermal":   pure("units", "calc/steam", "calc/stats"),
	"calc/trialstat": pure("calc/stats", "calc/mixed"),
	"calc/gasx":      pure("units", "calc/steam", "calc/stats").later(),
	"calc/air":       pure("units", "calc/steam", "calc/stats").later(),
	"calc/drying":    pure("units", "calc/steam", "calc/stats").later(),
	"calc/forecast":  pure("calc/stats"),
	"calc/planning":  pure("calc/stats"),
	"calc/survive":   pure("calc/stats"),
	"calc/growth":    pure("calc/stats"),
	"calc/mixed":     pure("calc/stats"),
	"calc/pool":      pure("calc/stats"),
	"calc/vision":    pure("calc/stats").later(),

	"store":           {may: []string{"lab", "units"}, never: []ban{sql, http, disk, trouble}},
	"store/storetest": {may: []string{"store", "lab", "units"}, never: []ban{sql, http}, helper: true},
	"store/sqldb":     {may: []string{"store", "lab", "units"}, never: []ban{http, trouble}},
	"testdb":          {never: []ban{http}, helper: true},
	"testfile":        {may: []string{"store/sqldb", "store", "lab"}, never: []ban{http}, helper: true},
	"photo/phototest": {helper: true},

	"reckoner":    {may: []string{"lab", "units", "calc/*"}, never: []ban{sql, http, disk, trouble}},
	"app":         {may: []string{"store", "lab", "units", "calc/*", "reckoner", "photo", "datapackage"}, never: []ban{sql, http, disk, trouble}},
	"demo":        {may: []string{"app", "lab", "units"}, never: []ban{sql, http, disk}},
	"workbook":    {may: []string{"app", "lab"}, never: []ban{sql, http, disk, trouble}},
	"ingest":      {may: []string{"app", "workbook", "lab", "units"}, never: []ban{sql, http, disk, trouble}},
	"picture":     {may: []string{"units"}, never: []ban{inOut}},
	"report":      {may: []string{"app", "picture", "lab", "units"}, never: []ban{sql, http, disk, trouble}},
	"label":       {may: []string{"app", "picture", "lab", "units"}, never: []ban{sql, http, disk, trouble}},
	"calendar":    {may: []string{"app"}, never: []ban{sql, http, disk, trouble}},
	"datapackage": {may: []string{"lab"}, never: []ban{sql, http, disk, trouble}},
	"scan":        {may: []string{"photo"}, never: []ban{sql, http, disk, trouble}},
	"blob":        {never: []ban{sql, http, trouble}},
	"photo":       {never: []ban{sql, http, disk, trouble}},
	"trust":       {never: []ban{sql, http, trouble}},

	"api": {may: []string{"app", "reckoner", "ingest", "lab", "units"}, never: []ban{sql, disk, trouble}},
	"web": {
		may:   []string{"api", "app", "datapackage", "reckoner", "report", "label", "calendar", "scan", "picture", "ingest", "workbook", "blob", "lab", "units"},
		never: []ban{sql},
	},
	"cli": {
		may:   []string{"app", "datapackage", "reckoner", "report", "label", "calendar", "picture", "ingest", "workbook", "blob", "lab", "units"},
		never: []ban{sql, http},
	},
	"cmd/pinset": {
		may:   []string{"app", "store", "store/sqldb", "blob", "web", "cli", "demo", "ingest", "report", "trust", "lab", "units"},
		never: []ban{sql},
	},
	"bench/days/stages":   {may: []string{"calc/*"}, never: []ban{sql, http}},
	"bench/days/coverage": {may: []string{"calc/*"}, never: []ban{sql, http}},
	"bench/farm":          {may: []string{"app", "store", "store/sqldb", "web", "lab", "units"}, never: []ban{sql}},
	"bench/trials":        {may: []string{"calc/*"}, never: []ban{sql, http}},
	"browsertest":         {may: []string{"app", "blob", "web", "scan", "trust", "lab"}, helper: true},
	"policytest":          {helper: true},
}
