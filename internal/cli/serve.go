package cli

import "fmt"

type serveCmd struct {
	records
	Listen         string `help:"Address to listen on. Beyond this machine it needs a passphrase." default:"127.0.0.1:8470"`
	PassphraseFile string `help:"File that holds the passphrase; else PINSET_PASSPHRASE is read." type:"path" placeholder:"FILE"`
}

func (c *serveCmd) Run(r *run) error {
	return r.Serve(r.ctx, Serving{Listen: c.Listen, PassphraseFile: c.PassphraseFile, Dir: c.Data})
}

type demoCmd struct {
	Listen         string `help:"Address to listen on. Beyond this machine it needs a passphrase." default:"127.0.0.1:8470"`
	PassphraseFile string `help:"File that holds the passphrase; else PINSET_PASSPHRASE is read." type:"path" placeholder:"FILE"`
	Data           string `help:"Keep the farm in this folder, which must be empty or hold it already." type:"path" placeholder:"DIR"`
}

func (c *demoCmd) Run(r *run) error {
	return r.Serve(r.ctx, Serving{Listen: c.Listen, PassphraseFile: c.PassphraseFile, Dir: c.Data, Demo: true})
}

type versionCmd struct{}

func (versionCmd) Run(r *run) error {
	_, err := fmt.Fprintln(r.Out, "pinset", r.Version)
	return err
}

type backupCmd struct {
	records
	To string `arg:"" help:"File to write, which must not exist." type:"path" name:"file"`
}

func (c *backupCmd) Run(r *run) error {
	if err := r.Backup(r.ctx, c.Data, c.To); err != nil {
		return err
	}
	_, err := fmt.Fprintln(r.Out, "written and checked:", c.To)
	return err
}
