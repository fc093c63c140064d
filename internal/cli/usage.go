package cli

import (
	"errors"
	"fmt"
	"io"
	"regexp"
	"slices"
	"strings"

	"github.com/alecthomas/kong"

	"pinset/internal/lab"
	"pinset/internal/nearest"
)

// intro is what pinset says when it is called alone.
const intro = `Pinset is for a grower with a small lab of their own: plan a fair comparison,
make the jars, trust the cook, log what is seen, weigh, and get an honest
verdict.

  pinset demo                  look around an invented farm in your browser
  pinset serve                 keep your own records, on this machine alone
  pinset import jars FILE.csv  take in the sheet that you keep already
  pinset calc                  compute without any records

Every page is a command too: pinset NOUN VERB, with --json for scripts.
A noun alone lists its verbs; pinset --help lists the nouns.
`

// exitCodes ends every help text.
const exitCodes = "\nExit codes: 0 done, 1 a fault of Pinset, 2 something to mend in what was typed.\n"

// help prints kong's help and then the exit codes.
func help(options kong.HelpOptions, ctx *kong.Context) error {
	if err := kong.DefaultHelpPrinter(options, ctx); err != nil {
		return err
	}
	_, err := io.WriteString(ctx.Stdout, exitCodes)
	return err
}

// verb is a command as it is listed.
type verb struct {
	Command string `json:"command"`
	Does    string `json:"does"`
}

func verbsOf(node *kong.Node) []verb {
	var all []verb
	for _, leaf := range node.Leaves(true) {
		all = append(all, verb{leaf.FullPath(), leaf.Help})
	}
	return all
}

// introduce says what pinset is, or lists all commands as JSON.
func (r *run) introduce(all *kong.Node) error {
	return r.print(verbsOf(all), func(w io.Writer) { fmt.Fprint(w, intro) })
}

// listVerbs says what can be done with a noun.
func (r *run) listVerbs(noun *kong.Node) error {
	verbs := verbsOf(noun)
	return r.print(verbs, func(w io.Writer) {
		fmt.Fprintf(w, "%s\n\n", noun.Help)
		t := newTable()
		for _, v := range verbs {
			t.row("  "+v.Command, v.Does)
		}
		t.write(w)
		fmt.Fprintf(w, "\nAdd --help to one of them to see what it takes.\n")
	})
}

// alone returns the command that args name, if that is all they say: all
// itself if they are empty, a noun if they say no verb. A noun or verb that is
// not known is a Problem.
func alone(all *kong.Node, args []string) (node *kong.Node, found bool, err error) {
	node = all
	for _, name := range args {
		if len(node.Children) == 0 || strings.HasPrefix(name, "-") {
			return nil, false, nil
		}
		if node, err = child(node, name); err != nil {
			return nil, false, err
		}
	}
	return node, len(node.Children) > 0, nil
}

// child returns the command called name below node, or a Problem that names
// the nearest.
func child(node *kong.Node, name string) (*kong.Node, error) {
	var known []string
	for _, c := range node.Children {
		if c.Name == name {
			return c, nil
		}
		known = append(known, c.Name)
	}
	mend := fmt.Sprintf("see %s --help", node.FullPath())
	if others := havingVerb(node, name); len(others) > 0 {
		mend = "did you mean " + strings.Join(others, " or ") + "?"
	} else if near, ok := nearest.Word(name, known); ok {
		mend = fmt.Sprintf("did you mean %s %s?", node.FullPath(), near)
	} else if node.Parent != nil {
		mend = "its verbs are " + strings.Join(known, ", ")
	}
	return nil, lab.Invalidf("", mend, "%s knows no %q", node.FullPath(), name)
}

// havingVerb returns the commands of nouns that have a verb of that name, if
// they are few.
func havingVerb(all *kong.Node, name string) []string {
	var found []string
	for _, noun := range all.Children {
		for _, v := range noun.Children {
			if v.Name == name {
				found = append(found, v.FullPath())
			}
		}
	}
	if len(found) > 3 {
		return nil
	}
	return found
}

// rewording turns what kong says of a command line into what a grower can
// read. What is not listed is said as kong says it.
var rewording = []struct {
	said *regexp.Regexp
	what string // with $1, $2 … for what was said
	mend string // "" is where the help is
}{
	{regexp.MustCompile(`^unknown flag (\S+), did you mean (.*)\?$`), "the flag $1 is not known here", "did you mean $2?"},
	{regexp.MustCompile(`^unknown flag (\S+)$`), "the flag $1 is not known here", ""},
	{regexp.MustCompile(`^unexpected argument (.*?)(, did you mean .*)?$`), `"$1" is more than the command takes`, ""},
	{regexp.MustCompile(`^expected "?(<[^"]*>)( \.\.\.)?"?$`), "$1 is missing", ""},
	{regexp.MustCompile(`^(--\S+): expected \w+ value but got "EOL".*$`), "the flag $1 has no value", "write the value after it"},
	{regexp.MustCompile(`^(--\S+): expected a valid \d+ bit u?int but got (".*")$`), "$1 takes a whole number, not $2", "write digits only"},
	{regexp.MustCompile(`^(--\S+): expected a float but got (".*") \(string\)$`), "$1 takes a number, not $2", "write it without a unit"},
	{regexp.MustCompile(`^(--\S+) must be one of "(.*)" but got (".*")$`), "$1 can not be $3", "choose one of $2"},
	{regexp.MustCompile(`^(--\S+) and (--\S+) can't be used together$`), "$1 and $2 exclude each other", "leave one of them out"},
}

// atFault finds the flag or the argument that a fault names first.
var atFault = regexp.MustCompile(`(?:--|<)([a-z][a-z0-9-]*)`)

// usage says a fault of the command line as one that can be mended.
func usage(err error) error {
	said := err.Error()
	p := &lab.Problem{Kind: lab.Invalid, What: said}
	for _, re := range rewording {
		m := re.said.FindStringSubmatchIndex(said)
		if m == nil {
			continue
		}
		expand := func(to string) string { return string(re.said.ExpandString(nil, to, said, m)) }
		p.What, p.Mend = expand(re.what), expand(re.mend)
		break
	}
	p.What, p.Mend = plain(p.What), plain(p.Mend)
	if name := atFault.FindStringSubmatch(p.What); name != nil {
		p.Field = strings.ReplaceAll(name[1], "-", "_")
	}
	if command := commandOf(err); p.Mend == "" && command == "pinset" {
		p.Mend = "write flags after noun and verb, or see pinset --help"
	} else if p.Mend == "" {
		p.Mend = "see " + command + " --help"
	}
	return p
}

var quotedFlag = regexp.MustCompile(`"(--[a-z0-9-]+)"`)

// plain takes the quotes off flags and off what lists them.
func plain(s string) string {
	return strings.ReplaceAll(quotedFlag.ReplaceAllString(s, "$1"), `","`, ", ")
}

// commandOf returns the command that a fault of the command line is about.
func commandOf(err error) string {
	var parse *kong.ParseError
	if errors.As(err, &parse) && parse.Context != nil {
		if node := parse.Context.Selected(); node != nil {
			return node.FullPath()
		}
		path := parse.Context.Path
		for _, p := range slices.Backward(path) {
			if node := p.Node(); node != nil {
				return node.FullPath()
			}
		}
	}
	return "pinset"
}
