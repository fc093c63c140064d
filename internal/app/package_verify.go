package app

import (
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
	"time"

	"pinset/internal/calc/trialstat"
	"pinset/internal/datapackage"
	"pinset/internal/figure"
	"pinset/internal/lab"
)

// Difference is one thing in a package that is not as it should be.
type Difference = datapackage.Difference

// Verified is what was checked of a package, and what came of it.
type Verified struct {
	Trial       string       `json:"trial"`
	Question    string       `json:"question"`
	From        string       `json:"from"` // the farm that wrote it, "" if it did not say
	Made        time.Time    `json:"made"`
	Version     string       `json:"version"` // of the computation that judged it there
	Hash        string       `json:"package_sha256"`
	DataHash    string       `json:"data_sha256"`
	Files       int          `json:"files"`
	Jars        int          `json:"jars"`
	Figures     int          `json:"figures"`        // that were computed again and agree
	Furthest    float64      `json:"furthest_apart"` // relative, of two that agree
	Sentence    string       `json:"sentence"`       // of the verdict as computed again
	Differences []Difference `json:"differences"`
}

// Says tells what was checked in one sentence.
func (v Verified) Says() string {
	return fmt.Sprintf("Verified: %d files are as they were sealed, and the analysis computed again from %s agrees in all %d figures.", v.Files, figure.Count(v.Jars, "jar", "jars"), v.Figures)
}

// mostSaid bounds the differences that are told.
const mostSaid = 12

// Verify holds a package to what it says of itself, from the package alone:
// the files to their hashes, the data that were judged to the tables, and the
// analysis to one that is computed anew from the tables with the same seed.
//
// A package that was altered is a Conflict Problem that says what differs;
// Verified holds all of it. A package that can not be read is an Invalid one.
func Verify(p *Package) (Verified, error) {
	v, _, err := verify(p)
	return v, err
}

func verify(p *Package) (Verified, unpacked, error) {
	v := Verified{Made: p.Created, Hash: p.Hash(), Files: len(p.Resources), Differences: []Difference{}}
	if len(p.Contributors) > 0 {
		v.From = p.Contributors[0].Title
	}
	if v.Differences = append(v.Differences, p.Altered()...); len(v.Differences) > 0 {
		return v, unpacked{}, v.altered()
	}
	u, err := unpack(p)
	if err != nil {
		return v, u, err
	}
	v.Trial, v.Question, v.Version, v.DataHash, v.Jars = u.plan.Name, u.plan.Question, u.answer.Version, u.answer.DataHash, len(u.ev.jars)
	if err := v.checkData(u); err != nil {
		return v, u, err
	}
	return v, u, v.checkAnswer(u)
}

// altered is the refusal of a package, nil if nothing differs.
func (v *Verified) altered() error {
	if len(v.Differences) == 0 {
		return nil
	}
	return lab.Conflictf("ask for the package again, as it was written", "this package is not as it was written: %s", v.said())
}

// said bounds the differences and tells them in one line.
func (v *Verified) said() string {
	v.Differences = v.Differences[:min(len(v.Differences), mostSaid)]
	var said []string
	for _, d := range v.Differences {
		said = append(said, d.String())
	}
	return strings.Join(said, "; ")
}

// checkData holds the data that were judged to the tables.
func (v *Verified) checkData(u unpacked) error {
	data, hash, err := u.ev.data()
	if err != nil {
		return err
	}
	said := sha256.Sum256(compacted(u.answer.Data))
	if hex.EncodeToString(said[:]) != u.answer.DataHash {
		v.Differences = append(v.Differences, Difference{File: answerFile + ".json", What: "the data in it do not have the hash that it tells"})
	}
	if hash != u.answer.DataHash {
		w := walker{file: answerFile + ".json", jars: jarNames(data)}
		w.compareJSON(u.answer.Data, data, "data")
		v.Differences = append(v.Differences, w.out...)
		if len(v.Differences) == 0 {
			v.Differences = append(v.Differences, Difference{File: answerFile + ".json", What: "the data in it are not those of the tables"})
		}
	}
	return v.altered()
}

// jarNames are the jars of the data that are judged, by row.
func jarNames(data []byte) []string {
	var in trialstat.CompareInput
	if err := json.Unmarshal(data, &in); err != nil {
		return nil // places are then told by their number
	}
	var out []string
	for _, r := range in.Rows {
		out = append(out, string(r.Jar))
	}
	return out
}

// checkAnswer computes the analysis anew and holds it to the one in the
// package.
func (v *Verified) checkAnswer(u unpacked) error {
	again, err := u.ev.answer(u.answer.Made)
	if err != nil {
		return err
	}
	w := walker{file: answerFile + ".json"}
	w.compareJSON(u.answer.Result, again.Result, "answer")
	was, err := json.Marshal(u.answer.Days)
	if err != nil {
		return fmt.Errorf("verify %s: %w", u.plan.Name, err)
	}
	now, err := json.Marshal(again.Days)
	if err != nil {
		return fmt.Errorf("verify %s: %w", u.plan.Name, err)
	}
	w.compareJSON(was, now, "days")
	v.Figures, v.Furthest, v.Differences = w.figures, w.furthest, append(v.Differences, w.out...)
	var said struct {
		Result struct {
			Sentence string `json:"sentence"`
		} `json:"result"`
	}
	if err := json.Unmarshal(again.Result, &said); err != nil {
		return fmt.Errorf("verify %s: %w", u.plan.Name, err)
	}
	v.Sentence = said.Result.Sentence
	if u.answer.Version != analysisVersion && len(v.Differences) > 0 {
		return lab.Conflictf("bring both farms up to date, and ask for the package again",
			"this package was judged by %.40q and this version computes %q, and they do not come to the same: %s", u.answer.Version, analysisVersion, v.said())
	}
	return v.altered()
}

// agreeing is how far two figures may lie apart, relative, and still agree:
// processors that multiply and add in one step round the last digits in
// another way. A figure that is nought but for that lies below noise.
const (
	agreeing = 1e-9
	noise    = 1e-12
)

// walker compares two JSON documents figure by figure.
type walker struct {
	file     string
	jars     []string // names of data.rows
	figures  int
	furthest float64
	out      []Difference
}

func (w *walker) compareJSON(was, now json.RawMessage, place string) {
	var a, b any
	if json.Unmarshal(was, &a) != nil || json.Unmarshal(now, &b) != nil {
		w.differ(place, "it can not be read")
		return
	}
	w.compare(a, b, place)
}

func (w *walker) differ(place, format string, args ...any) {
	w.out = append(w.out, Difference{File: w.file, What: fmt.Sprintf("%s "+format, append([]any{place}, args...)...)})
}

func (w *walker) compare(was, now any, place string) {
	switch a := was.(type) {
	case map[string]any:
		b, ok := now.(map[string]any)
		if !ok {
			w.differ(place, "says %s, computed again it is %s", shown(was), shown(now))
			return
		}
		w.compareKeys(a, b, place)
	case []any:
		b, ok := now.([]any)
		if !ok || len(a) != len(b) {
			w.differ(place, "has %s, computed again it has %s", shown(was), shown(now))
			return
		}
		for i := range a {
			w.compare(a[i], b[i], w.at(place, i))
		}
	case float64:
		b, ok := now.(float64)
		apart := 0.0
		if d := math.Abs(a - b); !(d <= noise) {
			apart = d / math.Max(math.Abs(a), math.Abs(b))
		}
		if !ok || !(apart <= agreeing) {
			w.differ(place, "is %s, computed again it is %s", shown(was), shown(now))
			return
		}
		w.figures, w.furthest = w.figures+1, math.Max(w.furthest, apart)
	default:
		if was != now {
			w.differ(place, "says %s, computed again it is %s", shown(was), shown(now))
		}
	}
}

// at names the i-th of a list, a jar by its name.
func (w *walker) at(place string, i int) string {
	if place == "data.rows" && i < len(w.jars) {
		return "jar " + w.jars[i]
	}
	return place + "[" + strconv.Itoa(i) + "]"
}

func (w *walker) compareKeys(a, b map[string]any, place string) {
	var keys []string
	for k := range a {
		keys = append(keys, k)
	}
	for k := range b {
		if _, both := a[k]; !both {
			keys = append(keys, k)
		}
	}
	slices.Sort(keys)
	for _, k := range keys {
		was, before := a[k]
		now, after := b[k]
		if before != after {
			w.differ(place+"."+k, "says %s, computed again it is %s", shown(was), shown(now))
			continue
		}
		w.compare(was, now, place+"."+k)
	}
}

// shown prints a value in short.
func shown(v any) string {
	switch x := v.(type) {
	case nil:
		return "nothing"
	case []any:
		return figure.Count(len(x), "entry", "entries")
	case map[string]any:
		return figure.Count(len(x), "entry", "entries")
	case float64:
		return strconv.FormatFloat(x, 'g', -1, 64)
	}
	return fmt.Sprintf("%.80q", fmt.Sprint(v))
}
