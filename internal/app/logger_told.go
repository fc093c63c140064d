package app

import (
	"cmp"
	"context"
	"encoding/json"
	"maps"
	"slices"

	"pinset/internal/lab"
	"pinset/internal/store"
)

const settingLoggers = "loggers"

// LoggerTold is what was said of a logger whose files leave something open.
// When a log began is not among it: that is another time in each file.
type LoggerTold struct {
	Unit     string            `json:"unit,omitempty"`      // "C" or "F"
	DayFirst *bool             `json:"day_first,omitempty"` // how 3/4/2026 is read
	Columns  string            `json:"columns,omitempty"`   // in order
	Series   map[string]string `json:"series,omitempty"`    // which one lay where, by place
}

// isBlank reports whether nothing was said.
func (t LoggerTold) isBlank() bool {
	return t.Unit == "" && t.DayFirst == nil && t.Columns == "" && len(t.Series) == 0
}

// with returns t with what is said in later replaced.
func (t LoggerTold) with(later LoggerTold) LoggerTold {
	series := maps.Clone(t.Series)
	if series == nil {
		series = make(map[string]string)
	}
	maps.Copy(series, later.Series)
	return LoggerTold{
		Unit: cmp.Or(later.Unit, t.Unit), DayFirst: cmp.Or(later.DayFirst, t.DayFirst), Columns: cmp.Or(later.Columns, t.Columns), Series: series,
	}
}

// Says returns what is remembered, in words.
func (t LoggerTold) Says() []string {
	var out []string
	if t.Unit != "" {
		out = append(out, "°"+t.Unit)
	}
	if t.DayFirst != nil {
		out = append(out, map[bool]string{true: "3/4/2026 is 3 April", false: "3/4/2026 is 4 March"}[*t.DayFirst])
	}
	if t.Columns != "" {
		out = append(out, "columns "+t.Columns)
	}
	for _, place := range slices.Sorted(maps.Keys(t.Series)) {
		out = append(out, place+": "+t.Series[place])
	}
	return out
}

// Logger is a kind of logger's file that something was said of.
type Logger struct {
	Source string `json:"source"` // its heading, or what its lines look like
	LoggerTold
}

// Loggers returns what was said of loggers' files, by heading.
func (f *Farm) Loggers(ctx context.Context) ([]Logger, error) {
	out := []Logger{}
	err := f.store.Read(ctx, func(r store.Reader) error {
		told, err := readLoggers(ctx, r)
		for _, source := range slices.Sorted(maps.Keys(told)) {
			out = append(out, Logger{source, told[source]})
		}
		return err
	})
	return out, err
}

// Recall looks up what was said of files with a heading.
func Recall(all []Logger) func(source string) LoggerTold {
	return func(source string) LoggerTold {
		for _, l := range all {
			if l.Source == source {
				return l.LoggerTold
			}
		}
		return LoggerTold{}
	}
}

func readLoggers(ctx context.Context, r store.Reader) (map[string]LoggerTold, error) {
	told := make(map[string]LoggerTold)
	kept, err := r.Setting(ctx, settingLoggers)
	if err == nil && kept != "" {
		err = json.Unmarshal([]byte(kept), &told)
	}
	return told, err
}

// mostLoggers bounds how many kinds of file are remembered.
const mostLoggers = 100

// KeepLogger remembers what was said of files with the heading source. Beyond
// mostLoggers a new kind is asked about each time.
func (f *Farm) KeepLogger(ctx context.Context, source string, said LoggerTold) error {
	if source == "" || said.isBlank() {
		return nil
	}
	return f.changeLoggers(ctx, func(told map[string]LoggerTold) error {
		if _, known := told[source]; known || len(told) < mostLoggers {
			told[source] = told[source].with(said)
		}
		return nil
	})
}

// ForgetLogger forgets what was said of files with the heading source.
func (f *Farm) ForgetLogger(ctx context.Context, source string) error {
	return f.changeLoggers(ctx, func(told map[string]LoggerTold) error {
		if _, known := told[source]; !known {
			return lab.NotFoundf("look at the list for its heading, letter by letter", "nothing is remembered of a logger with the heading %q", source)
		}
		delete(told, source)
		return nil
	})
}

func (f *Farm) changeLoggers(ctx context.Context, change func(map[string]LoggerTold) error) error {
	return f.store.Write(ctx, func(w store.Writer) error {
		told, err := readLoggers(ctx, w)
		if err != nil {
			return err
		}
		if err := change(told); err != nil {
			return err
		}
		kept, err := json.Marshal(told)
		if err != nil {
			return err
		}
		return w.SetSetting(ctx, settingLoggers, string(kept))
	})
}
