package cli

import (
	"bytes"
	"fmt"
	"io"
	"strings"

	"pinset/internal/app"
	"pinset/internal/calendar"
)

type calendarCmds struct {
	Show    calendarShowCmd    `cmd:"" help:"Print what is due as iCalendar, with --json as a list."`
	Address calendarAddressCmd `cmd:"" help:"Make a new secret address for the feed, shown once; the one before it is closed."`
	Close   calendarCloseCmd   `cmd:"" help:"Close the feed."`
	Limits  calendarLimitsCmd  `cmd:"" help:"Say from which day a stage is late, by your own limits."`
}

type calendarShowCmd struct{ records }

func (c *calendarShowCmd) Run(r *run) error {
	return r.onFarm(c.records, func(f *app.Farm) error {
		cal, err := f.Calendar(r.ctx)
		if err != nil {
			return err
		}
		if r.json {
			return r.encode(append([]app.CalendarEntry{}, cal.Entries...))
		}
		var b bytes.Buffer
		if err := calendar.Write(&b, cal, ""); err != nil {
			return err
		}
		_, err = r.Out.Write(b.Bytes())
		return err
	})
}

type calendarAddressCmd struct {
	records
	Names bool `help:"Tell the names of the farm, batches, shelves and cultures too."`
}

func (c *calendarAddressCmd) Run(r *run) error {
	return r.onFarm(c.records, func(f *app.Farm) error {
		key, err := f.NewCalendarKey(r.ctx, c.Names)
		if err != nil {
			return err
		}
		path := "/calendar/" + key + ".ics"
		return r.print(map[string]string{"path": path}, func(w io.Writer) {
			fmt.Fprintln(w, path)
			fmt.Fprintln(w, "Put it behind the address of the pages, such as http://192.168.1.4:8470. It is shown this once.")
		})
	})
}

type calendarCloseCmd struct{ records }

func (c *calendarCloseCmd) Run(r *run) error {
	return r.onFarm(c.records, func(f *app.Farm) error {
		if err := f.StopCalendar(r.ctx); err != nil {
			return err
		}
		return r.print(map[string]bool{"closed": true}, func(w io.Writer) { fmt.Fprintln(w, "the feed is closed") })
	})
}

type calendarLimitsCmd struct {
	records
	Set  []string `help:"A stage and its first late day, such as 'cover 22' or 'pins 29'; may be given again." placeholder:"LIMIT"`
	None bool     `help:"Go back to what books say."`
}

func (c *calendarLimitsCmd) Run(r *run) error {
	return r.onFarm(c.records, func(f *app.Farm) error {
		if len(c.Set) > 0 || c.None {
			if err := f.SetStageLimits(r.ctx, strings.Join(c.Set, "\n")); err != nil {
				return err
			}
		}
		limits, err := f.StageLimits(r.ctx)
		if err != nil {
			return err
		}
		return r.print(limits, func(w io.Writer) {
			if len(limits) == 0 {
				fmt.Fprintln(w, "no limits of your own")
				return
			}
			fmt.Fprintln(w, limits)
		})
	})
}
