package cli

import (
	"fmt"
	"io"
	"time"

	"pinset/internal/app"
)

type tokenCmds struct {
	Add  tokenAddCmd  `cmd:"" help:"Make one. It is shown once and not kept."`
	List tokenListCmd `cmd:"" help:"List them, without the tokens themselves."`
	End  tokenEndCmd  `cmd:"" help:"End one at once."`
}

type tokenAddCmd struct {
	records
	Name string `arg:"" help:"What bears it, such as 'shelf screen'."`
	Role string `help:"read: see records and compute; enter: write too." default:"read"`
}

func (c *tokenAddCmd) Run(r *run) error {
	return r.beginFarm(c.records, func(f *app.Farm) error {
		token, err := f.AddToken(r.ctx, c.Name, app.TokenRole(c.Role))
		if err != nil {
			return err
		}
		return r.print(map[string]string{"name": c.Name, "role": c.Role, "token": token}, func(w io.Writer) {
			fmt.Fprintln(w, token)
			fmt.Fprintln(w, "Write it down: it is not shown again.")
		})
	})
}

type tokenListCmd struct{ records }

func (c *tokenListCmd) Run(r *run) error {
	return r.onFarm(c.records, func(f *app.Farm) error {
		tokens, err := f.Tokens(r.ctx)
		if err != nil {
			return err
		}
		type view struct {
			Name string        `json:"name"`
			Role app.TokenRole `json:"role"`
			Made string        `json:"made"`
		}
		out := []view{}
		for _, t := range tokens {
			out = append(out, view{t.Name, t.Role, t.Made.Format(time.RFC3339)})
		}
		return r.print(out, func(w io.Writer) {
			t := newTable("token", "may", "made")
			for _, v := range out {
				t.row(v.Name, v.Role, v.Made)
			}
			t.write(w)
		})
	})
}

type tokenEndCmd struct {
	records
	Name string `arg:"" help:"Its name."`
}

func (c *tokenEndCmd) Run(r *run) error {
	return r.onFarm(c.records, func(f *app.Farm) error {
		if err := f.EndToken(r.ctx, c.Name); err != nil {
			return err
		}
		return r.print(map[string]string{"ended": c.Name}, func(w io.Writer) { fmt.Fprintln(w, "ended:", c.Name) })
	})
}
