package cli

import (
	"fmt"
	"io"
)

type serveCmd struct {
	records
	door
}

// door says where pages are served, and to whom.
type door struct {
	Listen         string   `help:"Address to listen on, usually ${default}. Beyond this machine it needs a passphrase." default:"127.0.0.1:8470" placeholder:"HOST:PORT"`
	Host           []string `help:"A name that the pages are asked for by, besides localhost and addresses; may be given again." sep:"none" placeholder:"NAME"`
	PassphraseFile string   `help:"File that holds the passphrase; else the environment variable PINSET_PASSPHRASE does." type:"path" placeholder:"FILE"`
	TLS            string   `name:"tls" help:"Speak HTTPS too, with certificates that Pinset makes and keeps in this folder." type:"path" placeholder:"DIR"`
	Log            string   `help:"What to log on standard error: faults, or requests too." enum:"faults,requests" default:"faults" placeholder:"WHAT"`
}

func (c *serveCmd) Run(r *run) error { return r.serve(c.door, c.Data, false) }

type demoCmd struct {
	door
	Data string `help:"Keep the farm in this folder, which must be empty or hold it already." type:"path" placeholder:"DIR"`
}

func (c *demoCmd) Run(r *run) error { return r.serve(c.door, c.Data, true) }

// serve serves the pages until it is told to stop, and says where they are.
func (r *run) serve(d door, dir string, demo bool) error {
	ready := func(address, print string) error {
		out := map[string]string{"address": address}
		if print != "" {
			out["fingerprint"] = print
		}
		return r.print(out, func(w io.Writer) {
			fmt.Fprintf(w, "Open %s in a browser. Stop with Ctrl-C.\n", address)
			if print != "" {
				fmt.Fprintf(w, "Phones: open /trust there over http first. The certificate's SHA-256 is\n%s\n", print)
			}
			if demo && dir == "" {
				fmt.Fprintln(w, "The farm is invented, and thrown away at the end.")
			}
		})
	}
	return r.Serve(r.ctx, Serving{
		Listen: d.Listen, Hosts: d.Host, PassphraseFile: d.PassphraseFile, TLSDir: d.TLS, LogRequests: d.Log == "requests",
		Dir: dir, Demo: demo, Ready: ready,
	})
}

type versionCmd struct{}

func (versionCmd) Run(r *run) error {
	return r.print(map[string]string{"version": r.Version}, func(w io.Writer) { fmt.Fprintln(w, "pinset", r.Version) })
}

type backupCmd struct {
	records
	To     string `arg:"" help:"File to write, which must not exist." type:"path" name:"file"`
	Photos bool   `help:"Write the photos too, to the folder photos beside it: those that are not there yet." default:"true" negatable:""`
}

func (c *backupCmd) Run(r *run) error {
	folder, files, err := r.Backup(r.ctx, c.Data, c.To, c.Photos)
	if err != nil {
		return err
	}
	out := struct {
		File   string `json:"file"`
		Photos string `json:"photos"`
		Files  int    `json:"photo_files"`
	}{c.To, folder, files}
	return r.print(out, func(w io.Writer) {
		fmt.Fprintln(w, "written and checked:", c.To)
		if folder != "" {
			fmt.Fprintf(w, "photos beside it, %d new files: %s\n", files, folder)
		}
	})
}
