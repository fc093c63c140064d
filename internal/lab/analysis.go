package lab

import "time"

// Analysis is one reading of a trial that was kept: what was judged, by which
// version of the computation, and what came of it. It is never changed; a
// later reading succeeds it.
type Analysis struct {
	ID       AnalysisID
	Trial    TrialID
	Made     time.Time
	By       string // initials, "" if not said
	Version  string // of the computation
	Seed     uint64 // of the draw that was judged by, 0 if none is known
	DataHash string // SHA-256 of Data, in hexadecimal
	Data     []byte // JSON: the table that was judged, and what was asked of it
	Result   []byte // JSON: the answer
	Succeeds AnalysisID
}

// Opening is the key of a blind trial opened: from then on its arms are named.
type Opening struct {
	ID     EntryID
	Trial  TrialID
	Deed   DeedID
	Opened time.Time
	By     string
}
