package app

import (
	"context"
	"encoding/json"
	"maps"
	"path"
	"slices"
	"strings"
	"unicode"

	"pinset/internal/lab"
	"pinset/internal/store"
)

const settingHeadings = "headings"

// toldHeadings are what headings stand for, by source and then by heading.
type toldHeadings map[string]map[string]string

// FileFamily names where a file comes from: its name without the figures
// that change from one season to the next.
func FileFamily(file string) string {
	name := strings.TrimSuffix(path.Base(strings.ReplaceAll(file, `\`, "/")), path.Ext(file))
	words := strings.FieldsFunc(name, func(r rune) bool { return !unicode.IsLetter(r) })
	return lab.NameKey(strings.Join(words, " "))
}

func readHeadings(ctx context.Context, r store.Reader) (toldHeadings, error) {
	told := toldHeadings{}
	kept, err := r.Setting(ctx, settingHeadings)
	if err == nil && kept != "" {
		err = json.Unmarshal([]byte(kept), &told)
	}
	return told, err
}

// Headings returns what was said before of the headings of a file: of sheets
// with its name first, then of all others.
func (f *Farm) Headings(ctx context.Context, file string) (map[string]string, error) {
	out := make(map[string]string)
	err := f.store.Read(ctx, func(r store.Reader) error {
		told, err := readHeadings(ctx, r)
		for _, source := range slices.Sorted(maps.Keys(told)) {
			maps.Copy(out, told[source])
		}
		maps.Copy(out, told[FileFamily(file)])
		return err
	})
	return out, err
}

// mostHeadings bounds what is remembered of one source.
const mostHeadings = 500

// KeepHeadings remembers what the headings of a file stand for. A blank word
// forgets one, for all sources.
func (f *Farm) KeepHeadings(ctx context.Context, file string, as map[string]string) error {
	if len(as) == 0 {
		return nil
	}
	return f.store.Write(ctx, func(w store.Writer) error {
		told, err := readHeadings(ctx, w)
		if err != nil {
			return err
		}
		source := FileFamily(file)
		if told[source] == nil {
			told[source] = make(map[string]string)
		}
		for heading, word := range as {
			if word != "" && len(told[source]) < mostHeadings {
				told[source][heading] = word
				continue
			}
			for _, of := range told {
				delete(of, heading)
			}
		}
		kept, err := json.Marshal(told)
		if err != nil {
			return err
		}
		return w.SetSetting(ctx, settingHeadings, string(kept))
	})
}
