package app

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"fmt"

	"pinset/internal/calc/trialstat"
	"pinset/internal/lab"
	"pinset/internal/store"
)

// analysisVersion is kept with every reading. It changes whenever the same
// data would give another answer.
const analysisVersion = "compare 3"

// KeptAnalysis is a reading that was kept, beside the one before it.
type KeptAnalysis struct {
	lab.Analysis
	Sentence   string
	Ending     trialstat.Ending
	First      bool // nothing came before it
	SameData   bool // as the one before
	SameAnswer bool
}

// Says compares the reading with the one before.
func (k KeptAnalysis) Says() string {
	switch {
	case k.First:
		return "first reading"
	case k.SameData && k.SameAnswer:
		return "read again: same data, same answer"
	case k.SameData:
		return "read again by another version: same data, another answer"
	case k.SameAnswer:
		return "read again: other data, the same answer"
	}
	return "read again: other data, another answer"
}

// Judge judges the trial called name and keeps the reading. Nothing that was
// kept is changed: a new reading succeeds the last. A blind trial is not
// judged before its key is opened: a Conflict.
func (f *Farm) Judge(ctx context.Context, a Act, name string) (KeptAnalysis, Verdict, error) {
	ev, err := f.evidenceOf(ctx, name)
	if err != nil {
		return KeptAnalysis{}, Verdict{}, err
	}
	if ev.mask.closed() {
		return KeptAnalysis{}, Verdict{}, lab.Conflictf("open its key first", "%s is blind still, so no arm can be named", ev.trial.Name)
	}
	v, err := ev.verdict()
	if err != nil {
		return KeptAnalysis{}, v, err
	}
	reading, err := f.reading(a, ev, v)
	if err != nil {
		return KeptAnalysis{}, v, err
	}
	var kept []KeptAnalysis
	err = f.store.Write(ctx, func(w store.Writer) error {
		deed, err := f.deed(a, "", "%s judged", ev.trial.Name)
		if err != nil {
			return err
		}
		before, err := w.Analyses(ctx, ev.trial.ID)
		if err != nil {
			return err
		}
		if fresh, err := w.AddDeed(ctx, deed); err != nil || !fresh {
			kept = keptAnalyses(before)
			return err
		}
		if n := len(before); n > 0 {
			reading.Succeeds = before[n-1].ID
		}
		kept = keptAnalyses(append(before, reading))
		return w.AddAnalysis(ctx, reading)
	})
	if err != nil || len(kept) == 0 {
		return KeptAnalysis{}, v, err
	}
	return kept[len(kept)-1], v, nil
}

// reading is what is kept of a verdict.
func (f *Farm) reading(a Act, ev evidence, v Verdict) (lab.Analysis, error) {
	data, hash, err := ev.data()
	if err != nil {
		return lab.Analysis{}, err
	}
	result, err := json.Marshal(v)
	if err != nil {
		return lab.Analysis{}, fmt.Errorf("keep the verdict of %s: %w", ev.trial.Name, err)
	}
	by, err := lab.Text("initials", a.By)
	out := lab.Analysis{
		ID: newID[lab.AnalysisID](), Trial: ev.trial.ID, Made: f.clock(), By: by, Version: analysisVersion, DataHash: hash, Data: data, Result: result,
	}
	if ev.allotment != nil {
		out.Seed = ev.allotment.Seed
	}
	return out, err
}

// data is the table that is judged as JSON, with its hash.
func (ev evidence) data() ([]byte, string, error) {
	data, err := json.Marshal(ev.input())
	if err != nil {
		return nil, "", fmt.Errorf("write down the data of %s: %w", ev.trial.Name, err)
	}
	sum := sha256.Sum256(data)
	return data, hex.EncodeToString(sum[:]), nil
}

// keptAnalyses sets each reading beside the one before, the oldest first.
func keptAnalyses(of []lab.Analysis) []KeptAnalysis {
	out := make([]KeptAnalysis, len(of))
	for i, a := range of {
		k := KeptAnalysis{Analysis: a, First: i == 0}
		var said struct {
			Result struct {
				Sentence string           `json:"sentence"`
				Ending   trialstat.Ending `json:"ending"`
			} `json:"result"`
		}
		if err := json.Unmarshal(a.Result, &said); err == nil { // else it was written by a later version, and is kept as it is
			k.Sentence, k.Ending = said.Result.Sentence, said.Result.Ending
		}
		if i > 0 {
			k.SameData = a.DataHash == of[i-1].DataHash
			k.SameAnswer = k.Sentence == out[i-1].Sentence && k.Ending == out[i-1].Ending
		}
		out[i] = k
	}
	return out
}
