// Package cli is Pinset's commands: "pinset <noun> <verb>", the same use
// cases as the pages, for people and for scripts.
//
// A command prints text for people, or with --json one JSON value with keys
// in snake_case that end in their unit. What a grower can mend ends with exit
// code 2: one sentence on standard error, and with --json also
// {"error": {"what", "mend", "field"}} on standard output. Our own faults end
// with 1.
package cli

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
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
	Out     io.Writer
	Err     io.Writer
	Version string
	// ReadFile returns what is in the file called name.
	ReadFile func(name string) ([]byte, error)
	// Open opens the records in dir; the second result closes them.
	Open func(ctx context.Context, dir string) (*app.Farm, func() error, error)
	// Backup writes a sound copy of the records in dir to the file called to.
	Backup func(ctx context.Context, dir, to string) error
	// Serve serves the pages until ctx is done.
	Serve func(ctx context.Context, s Serving) error
}

// Serving says what is served, and where.
type Serving struct {
	Listen         string
	PassphraseFile string
	Dir            string // of the records; "" for a throwaway one
	Demo           bool   // plant the demo farm
}

// grammar is all commands.
type grammar struct {
	JSON bool `name:"json" help:"Print one JSON value instead of text."`

	Serve   serveCmd    `cmd:"" help:"Serve the pages on this machine."`
	Demo    demoCmd     `cmd:"" help:"Serve an invented farm, thrown away at the end."`
	Today   todayCmd    `cmd:"" help:"Say what waits, what runs and what was done last."`
	Find    findCmd     `cmd:"" help:"Say what a code, a number or a name stands for."`
	Trial   trialCmds   `cmd:"" help:"Comparisons: plan, list, show, verdict."`
	Batch   batchCmds   `cmd:"" help:"Batches: plan, list, show, sheet, codes, inoculate."`
	Jar     jarCmds     `cmd:"" help:"One jar: show."`
	Cook    cookCmds    `cmd:"" help:"Cooks: add, list, show, mark."`
	Seen    seenCmds    `cmd:"" help:"What was seen: add."`
	Pick    pickCmds    `cmd:"" help:"What was picked: add."`
	Making  makingCmds  `cmd:"" help:"Makings of mixes: add."`
	Deed    deedCmds    `cmd:"" help:"Acts of entry: list, undo."`
	Shelf   shelfCmds   `cmd:"" help:"What stands where: list."`
	Crop    cropCmds    `cmd:"" help:"What was picked, by batch: list."`
	Culture cultureCmds `cmd:"" help:"Cultures: add, list."`

	Recipe     recipeCmds     `cmd:"" help:"Recipes: add, list, show."`
	Ingredient ingredientCmds `cmd:"" help:"Ingredients: add, list."`
	Container  containerCmds  `cmd:"" help:"Kinds of vessel: add, list."`
	Farm       farmCmds       `cmd:"" help:"The farm itself: show, set."`
	Import     importCmds     `cmd:"" help:"Take in a sheet of your own: jars."`
	Backup     backupCmd      `cmd:"" help:"Write a sound copy of the records to a file."`
	Calc       calcCmd        `cmd:"" help:"Compute without any records; alone, it lists the calculators."`
	Version    versionCmd     `cmd:"" help:"Print the version."`
}

// records are the flags of commands that touch records.
type records struct {
	Data string `help:"Folder of the records." env:"PINSET_DATA" default:"${data}" type:"path" placeholder:"DIR"`
}

// signed are the flags of commands that write.
type signed struct {
	records
	By string `help:"Your initials." env:"PINSET_BY" placeholder:"INITIALS"`
}

func (s signed) act() app.Act { return app.Act{By: s.By} }

// run is what a command is given to run in.
type run struct {
	House
	ctx  context.Context
	json bool
}

// intro is what pinset says when it is called alone.
const intro = `Pinset is for a grower with a small lab of their own: plan a fair comparison,
make the jars, trust the cook, log what is seen, weigh, and get an honest verdict.

  pinset demo                  look around an invented farm in your browser
  pinset serve                 keep your own records, on this machine alone
  pinset import jars FILE.csv  take in the sheet that you keep already
  pinset calc                  compute without any records

Every page is a command too: pinset <noun> <verb>, with --json for scripts.
pinset --help lists them all.
`

// Run runs the command that args say and returns the exit code. data is the
// folder of the records if nothing else is said.
func Run(ctx context.Context, h House, data string, args []string) int {
	if len(args) == 0 {
		fmt.Fprint(h.Out, intro)
		return exitOK
	}
	var g grammar
	exited := -1
	parser, err := kong.New(&g,
		kong.Name("pinset"), kong.Vars{"data": data}, kong.Writers(h.Out, h.Err), kong.Exit(func(code int) { exited = code }),
		kong.Description("Plan, make, watch, weigh, judge: the records of a small mushroom lab."),
		kong.ConfigureHelp(kong.HelpOptions{Compact: true, NoExpandSubcommands: true}),
		kong.Help(help),
	)
	if err != nil {
		fmt.Fprintln(h.Err, "pinset:", err)
		return exitFault
	}
	r := &run{House: h, ctx: ctx, json: wantsJSON(args)}
	command, err := parser.Parse(calcArgs(args))
	if exited >= 0 {
		return exited
	}
	if err != nil {
		return r.fail(usage(err))
	}
	r.json = g.JSON
	if err := command.Run(r); err != nil {
		return r.fail(err)
	}
	return exitOK
}

// help prints kong's help and then the exit codes.
func help(options kong.HelpOptions, ctx *kong.Context) error {
	if err := kong.DefaultHelpPrinter(options, ctx); err != nil {
		return err
	}
	_, err := fmt.Fprint(ctx.Stdout, "\nExit codes: 0 done, 1 a fault of Pinset, 2 something to mend in what was typed.\n")
	return err
}

func wantsJSON(args []string) bool {
	for _, a := range args {
		if a == "--" {
			return false
		}
		if a == "--json" {
			return true
		}
	}
	return false
}

// usage says a fault of the command line as one that can be mended.
func usage(err error) error {
	return &lab.Problem{Kind: lab.Invalid, What: err.Error(), Mend: "see pinset --help"}
}

// fail says what is wrong and returns the exit code.
func (r *run) fail(err error) int {
	var refused *refusedRows
	if errors.As(err, &refused) { // the report is printed already
		fmt.Fprintln(r.Err, "pinset:", refused)
		return exitInput
	}
	p, ok := lab.AsProblem(err)
	if !ok {
		fmt.Fprintln(r.Err, "pinset:", err)
		return exitFault
	}
	fmt.Fprintln(r.Err, "pinset:", p)
	if r.json {
		type fault struct {
			What  string `json:"what"`
			Mend  string `json:"mend"`
			Field string `json:"field"`
		}
		if err := r.encode(map[string]fault{"error": {p.What, p.Mend, p.Field}}); err != nil {
			return exitFault
		}
	}
	return exitInput
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

// onFarm opens the records in dir, runs f and closes them.
func (r *run) onFarm(dir records, f func(*app.Farm) error) error {
	farm, closeFarm, err := r.Open(r.ctx, dir.Data)
	if err != nil {
		return err
	}
	return errors.Join(f(farm), closeFarm())
}

// readInput returns what is in the file called name; "-" is standard input.
func (r *run) readInput(name string) ([]byte, error) {
	if name == "-" {
		return io.ReadAll(r.In)
	}
	raw, err := r.ReadFile(name)
	if err != nil {
		return nil, &lab.Problem{Kind: lab.Invalid, Field: "in", What: err.Error(), Mend: "check the name of the file"}
	}
	return raw, nil
}
