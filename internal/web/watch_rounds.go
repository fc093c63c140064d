package web

import (
	"net/http"
	"net/url"
	"strconv"
	"strings"
	"time"

	"pinset/internal/app"
	"pinset/internal/lab"
)

// seeing is what can be pressed on rounds.
type seeing struct {
	Form   form
	Stages []lab.Stage
	Signs  []lab.Sign
	Losses []string
	Rest   int // growing jars with no entry of this round

	Then       string // the shelf that follows once the rest is written, "" if none does
	On, OnPath string // where one goes when all are written
	Shut       bool   // what was written just now may mean that a jar is fouled
}

func newSeeing(f form, rest, written int, on, onPath string) seeing {
	lead := "All are written"
	if written == 0 {
		lead = "Nothing grows here"
	}
	return seeing{Form: f, Stages: lab.Stages, Signs: lab.Signs, Losses: lab.Reasons, Rest: rest, On: lead + ": " + on, OnPath: onPath, Shut: f.Is("shut", "1")}
}

// seenAgain is the address of rounds after something was seen there: at the
// jar that was written last. Jars that may be fouled stay ticked, so that one
// more press says that they are lost.
func (f form) seenAgain(path string, in app.SeeInput, names ...string) string {
	ticked, v := f.All("jar"), f.where(names...)
	if len(ticked) > 0 && lab.Sign(in.Sign).Fouls() {
		v["jar"], v["shut"] = ticked, []string{"1"}
	}
	if len(v) > 0 {
		path += "?" + v.Encode()
	}
	if len(ticked) > 0 {
		path += "#n" + url.PathEscape(ticked[len(ticked)-1])
	}
	return path
}

// Counts are the counts that can be pressed without typing.
func (seeing) Counts() []string {
	return []string{"1", "2", "3", "4", "5", "6", "8", "10", "12", "15", "20", "30"}
}

// Covers are the covers that can be pressed, per cent.
func (seeing) Covers() []string {
	return []string{"10", "20", "30", "40", "50", "60", "70", "80", "90"}
}

// tickCell is a jar to tick.
type tickCell struct {
	cell
	Value string // that the form sends
	Seen  bool   // it has an entry of this round
}

// roundsPage logs one thing seen on several jars of a batch.
type roundsPage struct {
	frame
	app.BatchView
	seeing
	Since string     // when this round began
	Cells []tickCell // jars of which something is still expected
	Done  []cell
}

func (roundsPage) template() string { return "watch/rounds" }

// getRounds serves GET /batches/{batch}/rounds.
func (s *server) getRounds(w http.ResponseWriter, r *http.Request) error {
	return s.showRounds(w, r, http.StatusOK, form{values: r.Form})
}

func (s *server) showRounds(w http.ResponseWriter, r *http.Request, status int, f form) error {
	v, err := s.farm.BatchView(r.Context(), r.PathValue("batch"), f.int("after", 0))
	if err != nil {
		return err
	}
	since := s.roundBegan(f)
	rest, written, err := s.farm.RestOfBatch(r.Context(), v, since)
	if err != nil {
		return err
	}
	p := &roundsPage{
		frame:     frame{Title: "Rounds, " + v.Batch.String(), Section: "/shelf", Gloved: true, Room: true, Photos: true},
		BatchView: v, seeing: newSeeing(f, rest, len(written), "back to "+v.Batch.String(), at("batches", v.Batch.String())), Since: sinceMark(since),
	}
	cells := cellsOf(v)
	for i, c := range cells {
		value := strconv.Itoa(c.Number)
		c.Ticked = f.Is("jar", value)
		if c.Done {
			p.Done = append(p.Done, c)
		} else {
			p.Cells = append(p.Cells, tickCell{c, value, written[v.Jars[i].Jar.ID]})
		}
	}
	return s.show(w, r, status, p)
}

// BlanksSay says what the blanks of the page can and can not show; "" if it has none.
func (p *roundsPage) BlanksSay() string {
	clean, fouled := 0, 0
	for _, j := range p.Jars {
		switch {
		case !j.Blank:
		case j.Fate == lab.Lost:
			fouled++
		default:
			clean++
		}
	}
	switch {
	case clean+fouled == 0:
		return ""
	case fouled > 0:
		return app.BlanksSay(clean, fouled)
	}
	return "If the blanks are clean: " + app.BlanksSay(clean, fouled)
}

// Path is the address of the batch.
func (p *roundsPage) Path() string { return at("batches", p.Batch.String()) }

// LastJar is the number of the last jar on the page.
func (p *roundsPage) LastJar() int { return p.Jars[len(p.Jars)-1].Number }

// roundBegan returns when the round began that the form belongs to: now, if
// it is the first page of it. What waited on a phone belongs to the round in
// which it was pressed.
func (s *server) roundBegan(f form) time.Time {
	const longest = 24 * time.Hour // a page left open since yesterday begins anew
	now := s.farm.Now().Truncate(time.Second)
	n, err := strconv.ParseInt(f.Get("since"), 10, 64)
	pressed := now
	if waited, ok := waitOf(f.Get("waited")); ok {
		pressed = now.Add(-waited)
	}
	if t := time.Unix(n, 0); err == nil && !t.After(now) && pressed.Sub(t) < longest {
		return t
	}
	return now
}

// sinceMark writes when a round began as roundBegan reads it.
func sinceMark(t time.Time) string { return strconv.FormatInt(t.Unix(), 10) }

// postRounds serves POST /batches/{batch}/rounds.
func (s *server) postRounds(w http.ResponseWriter, r *http.Request) error {
	f := formOf(r)
	batch := r.PathValue("batch")
	var err error
	var done app.Done
	var in app.SeeInput
	if f.Is("see", "rest") {
		done, err = s.farm.RestAsBefore(r.Context(), act(r), app.RestInput{Batch: batch, Since: s.roundBegan(f), But: f.All("jar"), At: f.Get("at")})
	} else {
		in = seenOf(f)
		if in.Jars, err = jarsTicked(batch, f); err == nil {
			done, err = s.farm.See(r.Context(), act(r), in)
		}
	}
	if err != nil {
		if f, err = f.with(err); err != nil {
			return err
		}
		return s.showRounds(w, r, http.StatusUnprocessableEntity, f)
	}
	remember(w, r, done.Deed, done.What)
	return seeOther(w, r, f.seenAgain(at("batches", batch, "rounds"), in, "after", "since"))
}

// onward carries the fields of a form that say where one is on to the next
// page.
func (f form) onward(names ...string) string {
	v := f.where(names...)
	if len(v) == 0 {
		return ""
	}
	return "?" + v.Encode()
}

func (f form) where(names ...string) url.Values {
	v := url.Values{}
	for _, name := range names {
		if f.int(name, 0) > 0 {
			v.Set(name, strconv.Itoa(f.int(name, 0)))
		}
	}
	return v
}

// jarsTicked returns the jars that were ticked and written, as a span.
func jarsTicked(batch string, f form) (string, error) {
	var parts []string
	if typed := strings.TrimSpace(f.Get("numbers")); typed != "" {
		parts = append(parts, typed)
	}
	parts = append(parts, f.values["jar"]...)
	if len(parts) == 0 {
		return "", errNoJarChosen()
	}
	return batch + "·" + strings.Join(parts, ","), nil
}

func errNoJarChosen() error {
	return lab.Invalidf("numbers", "tick them, or write numbers such as 13–24", "no jar is chosen")
}
