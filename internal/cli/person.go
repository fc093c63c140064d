package cli

import (
	"fmt"
	"io"
	"time"

	"pinset/internal/app"
	"pinset/internal/lab"
)

type personCmds struct {
	Add    personAddCmd    `cmd:"" help:"Write a person down."`
	List   personListCmd   `cmd:"" help:"List them, those who left too."`
	Role   personRoleCmd   `cmd:"" help:"Change what a person may do, from their next request on."`
	Retire personRetireCmd `cmd:"" help:"Let a person in no more, and turn out their devices."`
}

// personView is a person as it is printed.
type personView struct {
	Name     string   `json:"name"`
	Initials string   `json:"initials"`
	Role     lab.Role `json:"role"`
	Since    string   `json:"since"`
	Left     *string  `json:"left"`
}

func personViewOf(p lab.Person) personView {
	v := personView{Name: p.Name, Initials: p.Initials, Role: p.Role, Since: p.Since.Format(time.RFC3339)}
	if !p.Left.IsZero() {
		left := p.Left.Format(time.RFC3339)
		v.Left = &left
	}
	return v
}

func (v personView) says() string {
	if v.Left != nil {
		return "may come in no more"
	}
	return string(v.Role)
}

type personAddCmd struct {
	records
	Name     string `arg:"" help:"Their name."`
	Initials string `help:"Stand beside all that they enter; nobody else's are the same." required:"" placeholder:"MO"`
	Role     string `help:"viewer: reads; hand: enters what is seen; owner: all." default:"hand"`
}

func (c *personAddCmd) Run(r *run) error {
	return r.beginFarm(c.records, func(f *app.Farm) error {
		p, err := f.AddPerson(r.ctx, app.NewPerson{Name: c.Name, Initials: c.Initials, Role: c.Role})
		return r.printPerson(p, err)
	})
}

func (r *run) printPerson(p lab.Person, err error) error {
	if err != nil {
		return err
	}
	v := personViewOf(p)
	return r.print(v, func(w io.Writer) { fmt.Fprintf(w, "%s (%s): %s\n", v.Name, v.Initials, v.says()) })
}

type personListCmd struct{ records }

func (c *personListCmd) Run(r *run) error {
	return r.onFarm(c.records, func(f *app.Farm) error {
		all, err := f.People(r.ctx)
		if err != nil {
			return err
		}
		out := []personView{}
		for _, p := range all.People {
			out = append(out, personViewOf(p))
		}
		return r.print(out, func(w io.Writer) {
			t := newTable("person", "signs", "may", "since")
			for _, v := range out {
				t.row(v.Name, v.Initials, v.says(), v.Since)
			}
			t.write(w)
		})
	})
}

type personRoleCmd struct {
	records
	Person string `arg:"" help:"Their initials or name."`
	Role   string `arg:"" help:"owner, hand or viewer."`
}

func (c *personRoleCmd) Run(r *run) error {
	return r.onFarm(c.records, func(f *app.Farm) error {
		p, err := f.PersonCalled(r.ctx, c.Person)
		if err != nil {
			return err
		}
		if c.Role == "" {
			return lab.Invalidf("role", "choose owner, hand or viewer, or see: pinset person retire", "the role is blank")
		}
		p, err = f.SetRole(r.ctx, p.ID, lab.Role(c.Role))
		return r.printPerson(p, err)
	})
}

type personRetireCmd struct {
	records
	Person string `arg:"" help:"Their initials or name."`
}

func (c *personRetireCmd) Run(r *run) error {
	return r.onFarm(c.records, func(f *app.Farm) error {
		p, err := f.PersonCalled(r.ctx, c.Person)
		if err != nil {
			return err
		}
		p, err = f.SetRole(r.ctx, p.ID, "")
		return r.printPerson(p, err)
	})
}
