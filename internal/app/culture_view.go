package app

import (
	"context"
	"encoding/json"
	"fmt"
	"slices"
	"strconv"
	"strings"
	"time"

	"pinset/internal/figure"
	"pinset/internal/lab"
	"pinset/internal/store"
	"pinset/internal/units"
)

// CultureRow is a culture with where it comes from, what was made from it,
// and what speaks for and against it.
type CultureRow struct {
	lab.Culture
	ParentName string
	Children   []string // names of cultures taken from it
	Generation *int     // transfers since the master; nil if not known
	Medium     string   // recipe that it grows on, "" if not said
	JarName    string   // the jar that it also is, "" if none
	Standing   lab.CultureStanding
	Left       *units.Millilitre // nil if its volume was not said
	Unread     int               // jars whose dose is no volume
	Use        CultureUse
	Cautions   []figure.Caution // the loudest first
	Due        time.Time        // when it is to be renewed; zero if that is not known, or it has ended

	kept []lab.Keeping // all entries on it, corrected ones included
}

// CultureUse is what became of the jars that carry a culture.
type CultureUse struct {
	Jars, Growing, Picked, Barren, Lost, Fouled int
	Grams                                       float64
	LastPick                                    time.Time // zero if none
}

// GramsPerJar is grams per jar inoculated, of the jars that are done; nil
// with none.
func (u CultureUse) GramsPerJar() *float64 {
	done := u.Jars - u.Growing
	if done <= 0 {
		return nil
	}
	g := u.Grams / float64(done)
	return &g
}

// fouledReason is the reason of a loss that a culture can be suspected of.
const fouledReason = "fouled"

// Cultures returns all cultures, newest first.
func (f *Farm) Cultures(ctx context.Context) ([]CultureRow, error) {
	var rows []CultureRow
	err := f.store.Read(ctx, func(r store.Reader) (err error) {
		rows, err = f.cultureRows(ctx, r)
		return err
	})
	if err == nil {
		err = f.suspect(ctx, rows)
	}
	return rows, err
}

// standingCultures returns all cultures by descent and storage alone: what
// became of their jars, which takes reading all of those, is left out.
func (f *Farm) standingCultures(ctx context.Context, r store.Reader) ([]CultureRow, CultureLimits, error) {
	limits, err := readCultureLimits(ctx, r)
	if err != nil {
		return nil, limits, err
	}
	all, err := r.Cultures(ctx)
	if err != nil {
		return nil, limits, err
	}
	entries, err := r.Keepings(ctx)
	if err != nil {
		return nil, limits, err
	}
	names := make(map[lab.CultureID]string, len(all))
	children := make(map[lab.CultureID][]string)
	for _, c := range all {
		names[c.ID] = c.Name
		if c.Parent != "" {
			children[c.Parent] = append(children[c.Parent], c.Name)
		}
	}
	kept := groupBy(entries, func(k lab.Keeping) lab.CultureID { return k.Culture })
	generations := lab.Generations(all)
	rows := make([]CultureRow, len(all))
	for i, c := range all {
		rows[i] = CultureRow{Culture: c, ParentName: names[c.Parent], Children: children[c.ID], Standing: c.Stand(kept[c.ID]), kept: kept[c.ID]}
		if g, ok := generations[c.ID]; ok {
			rows[i].Generation = &g
		}
		rows[i].setDue(limits)
	}
	return rows, limits, nil
}

// cultureRows returns all cultures with what became of their jars.
func (f *Farm) cultureRows(ctx context.Context, r store.Reader) ([]CultureRow, error) {
	rows, limits, err := f.standingCultures(ctx, r)
	if err != nil {
		return nil, err
	}
	uses, err := cultureUses(ctx, r)
	if err != nil {
		return nil, err
	}
	doses, err := r.CultureDoses(ctx)
	if err != nil {
		return nil, err
	}
	dosesOf := groupBy(doses, func(d store.CultureDose) lab.CultureID { return d.Culture })
	for i := range rows {
		rows[i].Use = uses[rows[i].ID]
		rows[i].draw(dosesOf[rows[i].ID])
	}
	fruited := fruitedLines(rows)
	for i := range rows {
		rows[i].judge(f.now(), limits, fruited[rows[i].ID])
	}
	return rows, nil
}

func cultureUses(ctx context.Context, r store.Reader) (map[lab.CultureID]CultureUse, error) {
	stored, err := r.CultureUses(ctx)
	if err != nil {
		return nil, err
	}
	out := make(map[lab.CultureID]CultureUse)
	for _, s := range stored {
		u := out[s.Culture]
		u.Jars += s.Jars
		u.Grams += s.Grams
		switch s.Fate {
		case lab.Growing:
			u.Growing += s.Jars
		case lab.Picked, lab.Spent:
			u.Picked += s.Jars
			if s.Last.After(u.LastPick) {
				u.LastPick = s.Last
			}
		case lab.Barren:
			u.Barren += s.Jars
		case lab.Lost:
			u.Lost += s.Jars
			if s.Reason == fouledReason {
				u.Fouled += s.Jars
			}
		}
		out[s.Culture] = u
	}
	return out, nil
}

// draw says what is left of the culture after its doses and what was drawn.
func (row *CultureRow) draw(doses []store.CultureDose) {
	used := row.Standing.DrawnML
	for _, d := range doses {
		q, err := units.Parse(d.Amount)
		if err != nil || q.Dim != units.Volume {
			row.Unread += d.Jars
			continue
		}
		used += units.Millilitre(q.Value * float64(d.Jars))
	}
	if v := row.Details.Volume; v > 0 {
		left := v - used
		row.Left = &left
	}
}

// fruitedLines tells of each culture whether it or an ancestor of it is known
// to have fruited.
func fruitedLines(rows []CultureRow) map[lab.CultureID]bool {
	byID := make(map[lab.CultureID]*CultureRow, len(rows))
	for i := range rows {
		byID[rows[i].ID] = &rows[i]
	}
	out := make(map[lab.CultureID]bool, len(rows))
	for i := range rows {
		x := &rows[i]
		for steps := 0; x != nil && steps <= len(rows); steps++ {
			if x.Use.Picked > 0 || x.Standing.Fruit.ID != "" {
				out[rows[i].ID] = true
				break
			}
			x = byID[x.Parent]
		}
	}
	return out
}

// judge adds the cautions about a culture that is not ended.
func (row *CultureRow) judge(now time.Time, limits CultureLimits, fruited bool) {
	if row.Standing.End.ID != "" {
		return
	}
	add := func(w figure.Weight, code, title, text string, args ...any) {
		row.Cautions = append(row.Cautions, figure.Caution{Code: code, Title: title, Text: fmt.Sprintf(text, args...), Weight: w})
	}
	if row.Standing.Test.Finding == lab.Dirty {
		add(figure.Stop, "dirty", "Not clean", "Its last test was not clean. Use nothing of it, and look at all that was made from it.")
	}
	row.judgeStorage(now, limits, add)
	if g := row.Generation; g != nil && *g >= limits.Stop {
		add(figure.Stop, "many_transfers", "Far from the master", "It is transfer %d; you stop at %d. Go back to an earlier one.", *g, limits.Stop)
	} else if g != nil && *g >= limits.Warn {
		add(figure.Care, "many_transfers", "Far from the master", "It is transfer %d; you think again at %d. Lines wear out: fruit an earlier one beside it.", *g, limits.Warn)
	}
	if left := row.Left; left != nil && *left <= 0 {
		text := "All of it was drawn."
		if *left < -0.05 {
			text = fmt.Sprintf("%s more was drawn than there was: measure what is left.", -*left)
		}
		add(figure.Care, "used_up", "Used up", "%s Write down that it ended, or what its volume was.", text)
	}
	if row.Standing.Test.ID == "" && (row.Form == lab.LC || row.Form == lab.Syringe || row.Form == lab.Grain) && row.Use.Jars == 0 {
		add(figure.Care, "untested", "Not tested", "A clear LC can be dirty. Streak it on agar and hold a little in clear broth for 3 to 7 days before jars get it (common practice, no source).")
	}
	if !fruited {
		add(figure.Note, "never_fruited", "Never seen to fruit", "Nothing here says that it or its line ever fruited. Try a few jars before many.")
	}
	slices.SortStableFunc(row.Cautions, func(a, b figure.Caution) int { return loudness(b.Weight) - loudness(a.Weight) })
}

func loudness(w figure.Weight) int {
	return slices.Index([]figure.Weight{figure.Note, figure.Care, figure.Stop}, w)
}

// storage is what is known of how a culture is put away: the book's, with the
// grower's own limit over it.
type storage struct {
	lab.StorageLimit
	renew, days int
	source      string
}

func (row *CultureRow) storage(limits CultureLimits) (storage, bool) {
	s := row.Standing.Store
	if s.ID == "" || s.At.Exactness == lab.Unknown {
		return storage{}, false
	}
	l, ok := lab.LimitOf(s.Storage, row.Form)
	known := storage{l, l.Renew, l.Days, l.Source}
	if own, set := limits.Days[s.Storage]; set {
		known.renew, known.days, known.source = own, own, "your own limit"
	}
	return known, ok
}

// setDue says when a culture that has not ended is due for renewal.
func (row *CultureRow) setDue(limits CultureLimits) {
	if l, ok := row.storage(limits); ok && row.Standing.End.ID == "" {
		row.Due = row.Standing.Store.At.Time.AddDate(0, 0, l.renew)
	}
}

// judgeStorage says whether the culture is due, or past what is known of its
// storage.
func (row *CultureRow) judgeStorage(now time.Time, limits CultureLimits, add func(w figure.Weight, code, title, text string, args ...any)) {
	l, ok := row.storage(limits)
	if !ok {
		return
	}
	s := row.Standing.Store
	age := int(now.Sub(s.At.Time).Hours() / 24)
	doubt := l.Doubt
	switch {
	case age > l.days:
		add(figure.Stop, "past_limit", "Past its limit", "Stored %s for %d days; %d are known to do (%s). Renew it from an earlier one, or test what it still does. %s", s.Storage.Label(), age, l.days, l.source, doubt)
	case age > l.renew:
		add(figure.Care, "renew", "Due for renewal", "Stored %s for %d days, due at %d (%s: %s). %s", s.Storage.Label(), age, l.renew, l.Finding, l.source, doubt)
	}
}

// CultureLimits are when the grower thinks again of a culture.
type CultureLimits struct {
	Days map[lab.Storage]int `json:"days"` // own limits of storage; others are those of the book
	Warn int                 `json:"warn"` // transfers since the master
	Stop int                 `json:"stop"`
}

const settingCultureLimits = "culture_limits"

func readCultureLimits(ctx context.Context, r store.Reader) (CultureLimits, error) {
	l := CultureLimits{Warn: lab.WarnTransfers, Stop: lab.StopTransfers}
	kept, err := r.Setting(ctx, settingCultureLimits)
	if err == nil && kept != "" {
		err = json.Unmarshal([]byte(kept), &l)
	}
	return l, err
}

// CultureLimits returns the grower's own limits over those of the book.
func (f *Farm) CultureLimits(ctx context.Context) (CultureLimits, error) {
	var l CultureLimits
	err := f.store.Read(ctx, func(r store.Reader) (err error) {
		l, err = readCultureLimits(ctx, r)
		return err
	})
	return l, err
}

// SetCultureLimit keeps one limit as typed: of "warn", "stop" or a way of
// storage, in transfers or days. A dash takes it back.
func (f *Farm) SetCultureLimit(ctx context.Context, of, typed string) error {
	return f.store.Write(ctx, func(w store.Writer) error {
		l, err := readCultureLimits(ctx, w)
		if err != nil {
			return err
		}
		if err := l.set(of, strings.TrimSpace(typed)); err != nil {
			return err
		}
		text, err := json.Marshal(l)
		if err != nil {
			return err
		}
		return w.SetSetting(ctx, settingCultureLimits, string(text))
	})
}

func (l *CultureLimits) set(of, typed string) error {
	n, err := strconv.Atoi(strings.TrimSuffix(strings.TrimSuffix(typed, " days"), " transfers"))
	takeBack := typed == "-" || typed == "–"
	if !takeBack && (err != nil || n < 1 || n > 10000) {
		return lab.Invalidf("limit", "write a whole number from 1 to 10000, or a dash for that of the book", "%q is no limit", clipTyped(typed))
	}
	switch {
	case of == "warn" && takeBack:
		l.Warn = lab.WarnTransfers
	case of == "stop" && takeBack:
		l.Stop = lab.StopTransfers
	case of == "warn":
		l.Warn = n
	case of == "stop":
		l.Stop = n
	case slices.Contains(lab.Storages, lab.Storage(of)) && takeBack:
		delete(l.Days, lab.Storage(of))
	case slices.Contains(lab.Storages, lab.Storage(of)):
		if l.Days == nil {
			l.Days = make(map[lab.Storage]int)
		}
		l.Days[lab.Storage(of)] = n
	default:
		return lab.Invalidf("of", "choose warn, stop or a way of storage", "%q has no limit", clipTyped(of))
	}
	return nil
}
