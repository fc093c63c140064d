// Package app holds the use cases: what a grower does, each in one
// transaction, and the read models that pages and commands show.
//
// Rules of the trade live in lab, computation in calc; this package brings
// the records to both and keeps what comes of it. It knows no page, no
// command and no database.
package app

import (
	"context"
	"crypto/rand"
	"encoding/binary"
	"fmt"
	"io"
	"strconv"
	"strings"
	"time"

	"github.com/google/uuid"

	"pinset/internal/lab"
	"pinset/internal/store"
	"pinset/internal/units"
)

// Farm is the records of one farm and all that can be done with them. It is
// safe for use by many at once.
type Farm struct {
	store  store.Store
	files  store.Files   // nil: no photos are kept
	slot   chan struct{} // bounds the pictures that are read at one time
	known  *reckoned
	now    func() time.Time
	chance io.Reader
	holds  *holdMemo
	memo   *memo
}

// Option changes how a Farm is made.
type Option func(*Farm)

// WithClock makes the farm read the time from now.
func WithClock(now func() time.Time) Option { return func(f *Farm) { f.now = now } }

// WithChance makes the farm draw codes and seeds from r, which must be safe
// for use by many at once. Identifiers are not drawn from it.
func WithChance(r io.Reader) Option { return func(f *Farm) { f.chance = r } }

// WithFiles makes the farm keep the files of photos in files. Without it,
// photos are refused.
func WithFiles(files store.Files) Option { return func(f *Farm) { f.files = files } }

// New returns the farm whose records s keeps.
func New(s store.Store, options ...Option) *Farm {
	f := &Farm{
		store: s, now: time.Now, chance: rand.Reader, slot: make(chan struct{}, 1), holds: new(holdMemo), memo: new(memo), known: newReckoned(),
	}
	for _, o := range options {
		o(f)
	}
	return f
}

// Act identifies one act of entry. The form or command that makes it gives
// it an ID, so that sending it twice stores it once.
type Act struct {
	ID lab.DeedID // "" lets the farm make one
	By string     // initials, "" if not said
}

// NewActID returns an identifier for an act, to be put into a form.
func NewActID() lab.DeedID { return newID[lab.DeedID]() }

func newID[T ~string]() T { return T(uuid.Must(uuid.NewV7()).String()) }

// deed returns the record of act a, checked.
func (f *Farm) deed(a Act, batch lab.BatchID, format string, args ...any) (lab.Deed, error) {
	if a.ID == "" {
		a.ID = NewActID()
	}
	id, err := lab.ParseID[lab.DeedID](string(a.ID))
	if err != nil {
		return lab.Deed{}, err
	}
	by, err := lab.Text("initials", a.By)
	if err != nil {
		return lab.Deed{}, err
	}
	return lab.Deed{ID: id, What: fmt.Sprintf(format, args...), Entered: f.clock(), By: by, Batch: batch}, nil
}

func (f *Farm) clock() time.Time { return f.now().UTC().Truncate(time.Second) }

// today is the day by the farm's clock, as closing days are held to it.
func (f *Farm) today() lab.Day { return lab.Day{Time: lab.OnDay(f.now()).Time} }

func (f *Farm) draw64() (uint64, error) {
	var b [8]byte
	if _, err := io.ReadFull(f.chance, b[:]); err != nil {
		return 0, fmt.Errorf("draw a number: %w", err)
	}
	return binary.LittleEndian.Uint64(b[:]), nil
}

// The names of the settings that are kept.
const (
	settingName     = "farm_name"
	settingZone     = "time_zone"
	settingAltitude = "altitude_m"
	settingStep     = "scale_step" // of the grower's scale, g
)

// DefaultStep is the step of a kitchen scale whose owner said nothing.
// Common practice, no source.
const DefaultStep units.Gram = 1

// Settings are what the farm says of itself.
type Settings struct {
	Name     string
	Zone     *time.Location
	Altitude *float64   // metres; nil if not said
	Step     units.Gram // of the scale; DefaultStep if not said
}

// Settings returns the farm's settings; a farm that said nothing has no
// name, the machine's time zone and an unknown altitude.
func (f *Farm) Settings(ctx context.Context) (Settings, error) {
	var s Settings
	err := f.store.Read(ctx, func(r store.Reader) error {
		var err error
		s, err = readSettings(ctx, r)
		return err
	})
	return s, err
}

func readSettings(ctx context.Context, r store.Reader) (Settings, error) {
	s := Settings{Zone: time.Local, Step: DefaultStep}
	var err error
	if s.Name, err = r.Setting(ctx, settingName); err != nil {
		return s, err
	}
	zone, err := r.Setting(ctx, settingZone)
	if err != nil {
		return s, err
	}
	if zone != "" {
		if s.Zone, err = time.LoadLocation(zone); err != nil {
			return s, fmt.Errorf("time zone %q of the farm: %w", zone, err)
		}
	}
	step, err := r.Setting(ctx, settingStep)
	if err != nil {
		return s, err
	}
	if step != "" {
		g, err := strconv.ParseFloat(step, 64)
		if err != nil {
			return s, fmt.Errorf("step %q of the farm's scale: %w", step, err)
		}
		s.Step = units.Gram(g)
	}
	altitude, err := r.Setting(ctx, settingAltitude)
	if err != nil || altitude == "" {
		return s, err
	}
	m, err := strconv.ParseFloat(altitude, 64)
	if err != nil {
		return s, fmt.Errorf("altitude %q of the farm: %w", altitude, err)
	}
	s.Altitude = &m
	return s, nil
}

// NewSettings are settings as typed; blank ones stay as they are.
type NewSettings struct {
	Name     string
	Zone     string // such as "Europe/Lisbon"
	Altitude string // such as "420 m" or "1400 ft"
	Step     string // of the scale, such as "0.1 g"
}

// SaveSettings keeps what is not blank in n.
func (f *Farm) SaveSettings(ctx context.Context, n NewSettings) error {
	keep := make(map[string]string)
	if strings.TrimSpace(n.Name) != "" {
		name, err := lab.Name("farm", n.Name)
		if err != nil {
			return err
		}
		keep[settingName] = name
	}
	if z := strings.TrimSpace(n.Zone); z != "" {
		if _, err := time.LoadLocation(z); err != nil || z == "Local" {
			return lab.Invalidf("zone", "write it like Europe/Lisbon or UTC", "%q is not a time zone that is known", z)
		}
		keep[settingZone] = z
	}
	if strings.TrimSpace(n.Altitude) != "" {
		m, err := parseAltitude(n.Altitude)
		if err != nil {
			return err
		}
		keep[settingAltitude] = strconv.FormatFloat(m, 'g', -1, 64)
	}
	if strings.TrimSpace(n.Step) != "" {
		g, err := parseStep(n.Step)
		if err != nil {
			return err
		}
		keep[settingStep] = strconv.FormatFloat(float64(g), 'g', -1, 64)
	}
	return f.store.Write(ctx, func(w store.Writer) error {
		for _, name := range []string{settingName, settingZone, settingAltitude, settingStep} {
			if v, ok := keep[name]; ok {
				if err := w.SetSetting(ctx, name, v); err != nil {
					return err
				}
			}
		}
		return nil
	})
}

// when reads a time as typed, at the farm.
func (f *Farm) when(ctx context.Context, r store.Reader, field, typed string) (lab.When, error) {
	s, err := readSettings(ctx, r)
	if err != nil {
		return lab.When{}, err
	}
	return lab.ParseWhen(field, typed, f.now(), s.Zone)
}

// Zone returns the farm's time zone, the machine's if the records can not be
// read or say none.
func (f *Farm) Zone(ctx context.Context) *time.Location {
	s, err := f.Settings(ctx)
	if err != nil {
		return time.Local
	}
	return s.Zone
}

// Now returns the time by the farm's clock.
func (f *Farm) Now() time.Time { return f.now() }
