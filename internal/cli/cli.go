// Package cli is Pinset's commands: "pinset <noun> <verb>", the same use
// cases as the pages, for people and for scripts.
//
// A command prints text for people, or with --json one JSON value with keys
// in snake_case that end in their unit. What a grower can mend ends with exit
// code 2, our own faults with 1: one sentence on standard error, and with
// --json also {"error": {"what", "mend", "field"}} on standard output.
package cli

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"strings"

	"github.com/alecthomas/kong"

	"pinset/internal/app"
	"pinset/internal/lab"
)

// Exit codes.
const (
	exitOK    = 0
	exitFault = 1 // ours
	exitInput = 2 // what the grower can mend
)

// House is the program that the commands run in.
type House struct {
	In      io.Reader
	Typed   bool // In is a keyboard: say what is waited for
	Out     io.Writer
	Err     io.Writer
	Version string
	// ReadFile returns what is in the file called name.
	ReadFile func(name string) ([]byte, error)
	// WriteFile writes data to the file called name, which may be there.
	WriteFile func(name string, data []byte) error
	// Folder returns the files of a folder, nil if name is none. MakeFolder makes
	// one, and those above it; one that is there is no error.
	Folder     func(name string) fs.FS
	MakeFolder func(name string) error
	// Open opens the records in dir; the second result closes them. Records
	// that are not there are begun, or are a Problem if begin is false.
	Open func(ctx context.Context, dir string, begin bool) (*app.Farm, func() error, error)
	// Backup writes a sound copy of the records in dir to the file called to,
	// and with photos what is not there yet of them to a folder beside it. It
	// returns that folder, "" for none, and how many files it wrote there.
	Backup func(ctx context.Context, dir, to string, photos bool) (folder string, files int, err error)
	// Serve serves the pages until ctx is done.
	Serve func(ctx context.Context, s Serving) error
}

// Serving says what is served, and where.
type Serving struct {
	Listen         string
	Hosts          []string // names that the pages are asked for by
	PassphraseFile string
	TLSDir         string // folder of the certificates; "" speaks plain HTTP only
	LogRequests    bool   // each on standard error, by its path alone
	Dir            string // of the records; "" for a throwaway one
	Demo           bool   // plant the demo farm
	// Ready is called once with the address of the pages, such as
	// "http://127.0.0.1:8470", as soon as they are served. print is the
	// fingerprint of the farm's authority, "" if HTTPS is not spoken.
	Ready func(address, print string) error
}

// grammar is all commands.
type grammar struct {
	JSON bool `name:"json" help:"Print one JSON value instead of text."`

	Serve    serveCmd     `cmd:"" help:"Serve the pages on this machine."`
	Demo     demoCmd      `cmd:"" help:"Serve an invented farm, thrown away at the end."`
	Today    todayCmd     `cmd:"" help:"Say what waits, what runs and what was done last."`
	Find     findCmd      `cmd:"" help:"Say what a code, a number or a name stands for."`
	Trial    trialCmds    `cmd:"" help:"Comparisons: plan, list, show, verdict, judge, report, open, light, redraw, again."`
	Batch    batchCmds    `cmd:"" help:"Batches: plan, list, show, sheet, codes, inoculate."`
	Label    labelCmds    `cmd:"" help:"Labels: jars, cultures, lots, shelves, cooks, grids, calibrate, set, check."`
	Jar      jarCmds      `cmd:"" help:"One jar: show, answer."`
	Cook     cookCmds     `cmd:"" help:"Cooks: add, list, show, mark, advise, step, alarms, core, record, day, standard."`
	Cooker   cookerCmds   `cmd:"" help:"Pressure vessels: set, list."`
	Forecast forecastCmds `cmd:"" help:"When stages come: next, past."`
	Seen     seenCmds     `cmd:"" help:"What was seen: add."`
	Pick     pickCmds     `cmd:"" help:"What was picked: add."`
	Photo    photoCmds    `cmd:"" help:"Photos of jars: add, list, show, correct, remove, sweep."`
	Making   makingCmds   `cmd:"" help:"Makings of mixes: add."`
	Deed     deedCmds     `cmd:"" help:"Acts of entry: list, undo."`
	Shelf    shelfCmds    `cmd:"" help:"What stands where: list."`
	Crop     cropCmds     `cmd:"" help:"What was picked, by batch: list."`
	Species  speciesCmds  `cmd:"" help:"What species want: list, show, set."`
	Culture  cultureCmds  `cmd:"" help:"Cultures: add, list, show, keep, limit."`

	Calendar   calendarCmds   `cmd:"" help:"What is due, as a calendar: show, address, close, limits."`
	Recipe     recipeCmds     `cmd:"" help:"Recipes: add, list, show."`
	Ingredient ingredientCmds `cmd:"" help:"Ingredients: add, list."`
	Container  containerCmds  `cmd:"" help:"Kinds of vessel: add, list."`
	Farm       farmCmds       `cmd:"" help:"The farm itself: show, set."`
	Import     importCmds     `cmd:"" help:"Take in a sheet of your own: jars."`
	Export     exportCmd      `cmd:"" help:"Write records to a spreadsheet: one noun, or all."`
	Token      tokenCmds      `cmd:"" help:"Tokens by which programs come in at /api/v1: add, list, end."`
	Person     personCmds     `cmd:"" help:"People who may come in: add, list, role, retire."`
	Device     deviceCmds     `cmd:"" help:"Their phones: pair, list, revoke."`
	Backup     backupCmd      `cmd:"" help:"Write a sound copy of the records to a file."`
	Calc       calcCmd        `cmd:"" help:"Compute without any records; alone, it lists the calculators."`
	Version    versionCmd     `cmd:"" help:"Print the version."`
}

// records are the flags of commands that touch records.
type records struct {
	Data string `help:"Folder of the records, or a postgres:// address; here ${default} unless said." env:"PINSET_DATA" default:"${data}" placeholder:"DIR"`
}

// signed are the flags of commands that write.
type signed struct {
	records
	By string `help:"Your initials." env:"PINSET_BY" placeholder:"INITIALS"`
}

func (s signed) act() app.Act { return app.Act{ID: app.NewActID(), By: s.By} }

// run is what a command is given to run in.
type run struct {
	House
	ctx  context.Context
	json bool
}

// Run runs the command that args say and returns the exit code. data is the
// folder of the records if nothing else is said.
func Run(ctx context.Context, h House, data string, args []string) int {
	args, asJSON := takeJSON(args)
	r := &run{House: h, ctx: ctx, json: asJSON}
	if err := r.command(data, args); err != nil {
		return r.fail(err)
	}
	return exitOK
}

// command runs one command. Alone, pinset says what it is, and a noun says
// its verbs.
func (r *run) command(data string, args []string) error {
	var g grammar
	helped := false
	parser, err := kong.New(&g,
		kong.Name("pinset"), kong.Vars{"data": data}, kong.Writers(r.Out, r.Err), kong.Exit(func(int) { helped = true }),
		kong.Description("Plan, make, watch, weigh, judge: the records of a small mushroom lab."),
		kong.ConfigureHelp(kong.HelpOptions{Compact: true, NoExpandSubcommands: true}),
		kong.Help(help),
	)
	if err != nil {
		return err
	}
	switch node, found, err := alone(parser.Model.Node, args); {
	case err != nil:
		return err
	case found && node == parser.Model.Node:
		return r.introduce(node)
	case found:
		return r.listVerbs(node)
	}
	command, err := parser.Parse(args)
	if helped {
		return nil
	}
	if err != nil {
		return usage(err)
	}
	return command.Run(r)
}

// takeJSON takes --json out of args, wherever it stands.
func takeJSON(args []string) (rest []string, asJSON bool) {
	for i, a := range args {
		switch a {
		case "--":
			return append(rest, args[i:]...), asJSON
		case "--json", "--json=true":
			asJSON = true
		case "--json=false":
			asJSON = false
		default:
			rest = append(rest, a)
		}
	}
	return rest, asJSON
}

// fault is an error as JSON.
type fault struct {
	What  string `json:"what"`
	Mend  string `json:"mend"`
	Field string `json:"field"`
}

// fail says what is wrong in one sentence and returns the exit code.
func (r *run) fail(err error) int {
	var told *toldProblem
	if errors.As(err, &told) {
		fmt.Fprintln(r.Err, "pinset:", oneLine(told))
		return exitInput
	}
	p, ok := lab.AsProblem(err)
	code := exitInput
	if !ok {
		p = &lab.Problem{What: oneLine(err), Mend: "nothing that was typed is at fault: try again, and report it if it stays"}
		code = exitFault
	}
	fmt.Fprintln(r.Err, "pinset:", oneLine(p))
	if r.json {
		if err := r.encode(map[string]fault{"error": {p.What, p.Mend, p.Field}}); err != nil {
			return exitFault
		}
	}
	return code
}

// oneLine returns the text of err without line breaks.
func oneLine(err error) string {
	return strings.Join(strings.FieldsFunc(err.Error(), func(r rune) bool { return r == '\n' || r == '\r' }), "; ")
}

// print prints v as JSON, or as text writes it for people.
func (r *run) print(v any, text func(w io.Writer)) error {
	if r.json {
		return r.encode(v)
	}
	var b strings.Builder
	text(&b)
	_, err := io.WriteString(r.Out, b.String())
	return err
}

func (r *run) encode(v any) error {
	e := json.NewEncoder(r.Out)
	e.SetIndent("", "  ")
	e.SetEscapeHTML(false)
	return e.Encode(v)
}

// onFarm opens the records in dir, runs f and closes them. Records that are
// not there are an error: an empty answer would hide a mistyped folder.
func (r *run) onFarm(dir records, f func(*app.Farm) error) error {
	return r.openFarm(dir.Data, false, f)
}

// beginFarm is onFarm for what a grower may enter first: records that are not
// there are begun.
func (r *run) beginFarm(dir records, f func(*app.Farm) error) error {
	return r.openFarm(dir.Data, true, f)
}

func (r *run) openFarm(dir string, begin bool, f func(*app.Farm) error) error {
	farm, closeFarm, err := r.Open(r.ctx, dir, begin)
	if err != nil {
		return err
	}
	return errors.Join(f(farm), closeFarm())
}

// readInput returns what is in the file called name; "-" is standard input,
// of which want says what is read.
func (r *run) readInput(name, want string) ([]byte, error) {
	if name == "-" {
		if r.Typed {
			fmt.Fprintf(r.Err, "Type %s, then Ctrl-D.\n", want)
		}
		return io.ReadAll(io.LimitReader(r.In, maxInput))
	}
	raw, err := r.ReadFile(name)
	if err != nil {
		return nil, &lab.Problem{Kind: lab.Invalid, Field: "in", What: err.Error(), Mend: "check the name of the file"}
	}
	return raw, nil
}

// maxInput bounds what is read from standard input.
const maxInput = 64 << 20
