package cli

import (
	"fmt"
	"io"
	"strings"
	"time"

	"pinset/internal/app"
	"pinset/internal/lab"
	"pinset/internal/label"
)

type deviceCmds struct {
	Pair   devicePairCmd   `cmd:"" help:"Make a code, and a square, that lets one device in as a person."`
	List   deviceListCmd   `cmd:"" help:"List the devices that may come in."`
	Revoke deviceRevokeCmd `cmd:"" help:"Turn one out at once, or all."`
}

type devicePairCmd struct {
	records
	Person string `arg:"" help:"Whose it is: initials or name."`
}

func (c *devicePairCmd) Run(r *run) error {
	return r.onFarm(c.records, func(f *app.Farm) error {
		person, err := f.PersonCalled(r.ctx, c.Person)
		if err != nil {
			return err
		}
		keep, err := f.LabelSettings(r.ctx)
		if err != nil {
			return err
		}
		p, err := f.Invite(r.ctx, person.ID)
		if err != nil {
			return err
		}
		v := pairingView{Person: p.Person.Name, Code: p.Code, Until: p.Until.Format(time.RFC3339)}
		if keep.Address != "" {
			link := keep.Address + "/pair#" + p.Code
			v.Link = &link
		}
		return r.printPairing(v)
	})
}

// pairingView is a pairing as it is printed, this once.
type pairingView struct {
	Person string  `json:"person"`
	Code   string  `json:"code"`
	Until  string  `json:"until"`
	Link   *string `json:"link"` // nil if the farm has no address yet
}

func (r *run) printPairing(v pairingView) error {
	square := ""
	if v.Link != nil {
		q, err := label.NewScreenSquare(*v.Link)
		if err != nil {
			return err
		}
		square = blocks(q)
	}
	return r.print(v, func(w io.Writer) {
		fmt.Fprint(w, square)
		half := lab.PairingLength / 2
		fmt.Fprintf(w, "%s %s lets one device in as %s, once, until %s.\n", v.Code[:half], v.Code[half:], v.Person, v.Until)
		if v.Link == nil {
			fmt.Fprintln(w, "Open /pair on the phone and type it. For a square to scan, set the farm's address: pinset label set --address")
		}
	})
}

// blocks draws q with half blocks, two rows of modules in a line: the light
// modules are drawn, since most terminals are dark.
func blocks(q label.Square) string {
	const quiet = 4
	light := func(x, y int) bool {
		return x < 0 || y < 0 || x >= q.Side || y >= q.Side || !q.Dark(x, y)
	}
	var b strings.Builder
	for y := -quiet; y < q.Side+quiet; y += 2 {
		for x := -quiet; x < q.Side+quiet; x++ {
			switch up, down := light(x, y), light(x, y+1); {
			case up && down:
				b.WriteRune('█')
			case up:
				b.WriteRune('▀')
			case down:
				b.WriteRune('▄')
			default:
				b.WriteRune(' ')
			}
		}
		b.WriteByte('\n')
	}
	return b.String()
}

type deviceListCmd struct{ records }

func (c *deviceListCmd) Run(r *run) error {
	return r.onFarm(c.records, func(f *app.Farm) error {
		all, err := f.People(r.ctx)
		if err != nil {
			return err
		}
		type view struct {
			Device string `json:"device"`
			Name   string `json:"name"`
			Person string `json:"person"`
			Paired string `json:"paired"`
			Used   string `json:"used"`
			Until  string `json:"until"`
		}
		out := []view{}
		for _, d := range all.Devices {
			out = append(out, view{d.Mark(), d.Name, d.Who, d.Paired.Format(time.RFC3339), d.Used.Format(time.RFC3339), d.Until.Format(time.RFC3339)})
		}
		return r.print(out, func(w io.Writer) {
			t := newTable("device", "name", "person", "let in", "until")
			for _, v := range out {
				t.row(v.Device, v.Name, v.Person, v.Paired, v.Until)
			}
			t.write(w)
		})
	})
}

type deviceRevokeCmd struct {
	records
	Device string `arg:"" optional:"" help:"Its mark, as pinset device list prints it."`
	All    bool   `help:"All of them: a phone is lost, or the passphrase was changed."`
}

func (c *deviceRevokeCmd) Run(r *run) error {
	if c.All == (c.Device != "") {
		return lab.Invalidf("device", "name one, or write --all", "it is not said which device is to be turned out")
	}
	return r.onFarm(c.records, func(f *app.Farm) error {
		if c.All {
			if err := f.TurnOutAll(r.ctx, ""); err != nil {
				return err
			}
			return r.print(map[string]string{"revoked": "all"}, func(w io.Writer) { fmt.Fprintln(w, "turned out: all") })
		}
		d, err := f.DeviceMarked(r.ctx, c.Device)
		if err != nil {
			return err
		}
		if err := f.TurnOut(r.ctx, d.ID); err != nil {
			return err
		}
		return r.print(map[string]string{"revoked": d.Mark()}, func(w io.Writer) { fmt.Fprintf(w, "turned out: %s, %s\n", d.Name, d.Who) })
	})
}
