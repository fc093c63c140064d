package api

import (
	"context"
	"time"

	"github.com/danielgtaylor/huma/v2"

	"pinset/internal/app"
	"pinset/internal/lab"
)

// describeRecords registers what reads records.
func (s *service) describeRecords(to huma.API) {
	get(to, "/today", "today", "What waits for the grower", s.today)
	get(to, "/batches", "list-batches", "Batches, the newest first", s.batches)
	get(to, "/batches/{batch}", "get-batch", "One batch", s.batch)
	get(to, "/batches/{batch}/jars", "list-jars", "Jars of a batch by number, a page at a time", s.jars)
	get(to, "/batches/{batch}/forecast", "forecast-batch", "When the next stages of a batch are expected", s.forecast)
	get(to, "/forecast", "forecast-all", "When the next stages of all that grows are expected: of batches, then of their jars", s.outlook)
	get(to, "/forecast/past", "judge-forecasts", "How the forecasts that were kept turned out", s.pastForecasts)
	get(to, "/jars/{jar}", "get-jar", "One jar, by code or as B12.3, with all that was entered on it", s.jar)
	get(to, "/cooks", "list-cooks", "Cooks, the newest first", s.cooks)
	get(to, "/cultures", "list-cultures", "Cultures, the newest first", s.cultures)
	get(to, "/trials", "list-trials", "Trials, the newest first", s.trials)
	get(to, "/trials/{trial}/verdict", "get-verdict", "What a trial's jars say as they stand", s.verdict)
}

type nothing struct{}

// list is one page of records.
type list[T any] struct {
	Items []T     `json:"items"`
	Next  *string `json:"next" doc:"give it as after to get the next page; null on the last one"`
}

func whole[T any](items []T) list[T] {
	if items == nil {
		items = []T{}
	}
	return list[T]{Items: items}
}

// when writes a time: RFC 3339, a day, "unknown", or nil where nothing is.
func when(w lab.When) *string {
	text := ""
	switch w.Exactness {
	case lab.Exact:
		text = w.Time.Format(time.RFC3339)
	case lab.ThatDay:
		text = w.Time.Format(time.DateOnly)
	case lab.Unknown:
		text = "unknown"
	default:
		return nil
	}
	return &text
}

type task struct {
	What string `json:"what"`
	Why  string `json:"why"`
	Kind string `json:"kind" doc:"batch, cook, culture or trial: what name names"`
	Name string `json:"name"`
	Late bool   `json:"late"`
}

func (s *service) today(ctx context.Context, _ *nothing) (list[task], error) {
	t, err := s.farm.Today(ctx)
	if err != nil {
		return list[task]{}, err
	}
	var out []task
	for _, x := range t.Late {
		out = append(out, task{x.What, x.Why, x.Kind, x.Name, true})
	}
	for _, x := range t.Due {
		out = append(out, task{x.What, x.Why, x.Kind, x.Name, false})
	}
	return whole(out), nil
}

type batch struct {
	Batch      string         `json:"batch" doc:"such as B12"`
	Name       string         `json:"name"`
	Trial      string         `json:"trial"`
	Made       *string        `json:"made"`
	Closing    *string        `json:"closing_day"`
	Jars       int            `json:"jars" doc:"blanks not counted"`
	Blanks     int            `json:"blanks"`
	Inoculated int            `json:"inoculated"`
	Growing    int            `json:"growing"`
	Picked     int            `json:"picked"`
	Barren     int            `json:"barren"`
	Lost       int            `json:"lost"`
	Grams      float64        `json:"fresh_g"`
	ByStage    map[string]int `json:"growing_by_stage"`
}

func viewBatch(b app.BatchRow) batch {
	t := b.Tally
	v := batch{
		Batch: b.Batch.String(), Name: b.Name, Trial: b.Trial, Made: when(b.Made), Jars: t.Jars, Blanks: t.Blanks, Inoculated: t.Inoculated,
		Growing: t.Growing, Picked: t.Picked, Barren: t.Barren, Lost: t.Lost, Grams: t.Grams, ByStage: map[string]int{},
	}
	if !b.Closing.IsZero() {
		day := b.Closing.Format(time.DateOnly)
		v.Closing = &day
	}
	for stage, n := range t.ByStage {
		v.ByStage[string(stage)] = n
	}
	return v
}

func (s *service) batches(ctx context.Context, _ *nothing) (list[batch], error) {
	rows, err := s.farm.Batches(ctx)
	if err != nil {
		return list[batch]{}, err
	}
	var out []batch
	for _, b := range rows {
		out = append(out, viewBatch(b))
	}
	return whole(out), nil
}

// OfBatch names a batch in a path.
type OfBatch struct {
	Batch string `path:"batch" doc:"such as B12, or the batch's own name"`
}

func (s *service) batch(ctx context.Context, in *OfBatch) (batch, error) {
	v, err := s.farm.BatchView(ctx, in.Batch, 0)
	if err != nil {
		return batch{}, err
	}
	return viewBatch(app.BatchRow{Batch: v.Batch, Tally: v.Tally, Trial: v.Trial}), nil
}

// Jar is one jar as it stands.
type Jar struct {
	Jar        string  `json:"jar" doc:"such as B12·3"`
	Code       string  `json:"code" doc:"on its label"`
	Mark       string  `json:"mark"`
	Blank      bool    `json:"blank"`
	Arm        string  `json:"arm"`
	Stage      string  `json:"stage"`
	Fate       string  `json:"fate"`
	Reason     string  `json:"reason"`
	Grams      float64 `json:"fresh_g"`
	Picks      int     `json:"picks"`
	Layer      int     `json:"layer"`
	Shelf      string  `json:"shelf"`
	Filled     *string `json:"filled"`
	Inoculated *string `json:"inoculated"`
	LastSeen   *string `json:"last_seen"`
}

func viewJar(b lab.Batch, j app.JarRow) Jar {
	return Jar{
		Jar: (lab.Span{Batch: b.String(), Numbers: []int{j.Number}}).String(), Code: string(j.Code), Mark: j.Mark, Blank: j.Blank, Arm: j.Arm,
		Stage: string(j.Stage), Fate: string(j.Fate), Reason: j.Reason, Grams: float64(j.Grams), Picks: j.Picks, Layer: j.Layer, Shelf: j.Shelf,
		Filled: when(j.Filled), Inoculated: when(j.Inoculated), LastSeen: when(j.LastSeen),
	}
}

type pageOfBatch struct {
	OfBatch
	After int `query:"after" minimum:"0" doc:"jars with higher numbers only"`
}

func (s *service) jars(ctx context.Context, in *pageOfBatch) (list[Jar], error) {
	v, err := s.farm.BatchView(ctx, in.Batch, in.After)
	if err != nil {
		return list[Jar]{}, err
	}
	var out []Jar
	for _, j := range v.Jars {
		out = append(out, viewJar(v.Batch, j))
	}
	page := whole(out)
	if v.More {
		page.Next = nextAfter(v.Jars[len(v.Jars)-1].Number)
	}
	return page, nil
}

type jarHistory struct {
	Jar
	Recipe    string     `json:"recipe"`
	Container string     `json:"container"`
	Carries   string     `json:"carries" doc:"culture that it got"`
	Questions []Question `json:"questions" doc:"what its visits leave open"`
	History   []event    `json:"history"`
}

type event struct {
	At     *string `json:"at"`
	What   string  `json:"what"`
	By     string  `json:"by"`
	Undone bool    `json:"undone"`
	Deed   string  `json:"deed" doc:"give it to undo"`
}

type ofJar struct {
	Jar string `path:"jar" doc:"code, or batch and number such as B12.3"`
}

func (s *service) jar(ctx context.Context, in *ofJar) (jarHistory, error) {
	v, err := s.farm.JarView(ctx, in.Jar)
	if err != nil {
		return jarHistory{}, err
	}
	asked, err := s.farm.JarQuestions(ctx, in.Jar)
	if err != nil {
		return jarHistory{}, err
	}
	out := jarHistory{Questions: viewQuestions(asked), Jar: viewJar(v.Batch, v.Row), Recipe: v.Recipe, Container: v.Container, Carries: v.Carries, History: []event{}}
	for _, h := range v.History {
		out.History = append(out.History, event{when(h.At), h.What, h.By, h.Undone, string(h.Deed)})
	}
	return out, nil
}

type cook struct {
	Cook     int      `json:"cook"`
	Name     string   `json:"name"`
	Cooker   string   `json:"cooker"`
	State    string   `json:"state" doc:"unknown, running, held or not held"`
	HoldMin  *float64 `json:"hold_min" doc:"the grower's own rule"`
	Longest  float64  `json:"longest_min" doc:"the longest unbroken stretch"`
	Jars     int      `json:"jars"`
	Blanks   int      `json:"blanks"`
	Batches  []string `json:"batches"`
	Sentence string   `json:"sentence"`
}

func (s *service) cooks(ctx context.Context, _ *nothing) (list[cook], error) {
	rows, err := s.farm.Cooks(ctx)
	if err != nil {
		return list[cook]{}, err
	}
	var out []cook
	for _, c := range rows {
		v := cook{Cook: c.Number, Name: c.Name, Cooker: c.Cooker, State: string(c.State), Longest: c.Longest, Jars: c.Jars, Blanks: c.Blanks, Batches: c.Batches, Sentence: c.Sentence}
		if c.Hold > 0 {
			hold := float64(c.Hold)
			v.HoldMin = &hold
		}
		if v.Batches == nil {
			v.Batches = []string{}
		}
		out = append(out, v)
	}
	return whole(out), nil
}

type culture struct {
	Culture    string   `json:"culture"`
	Form       string   `json:"form"`
	Strain     string   `json:"strain"`
	Species    string   `json:"species"`
	Parent     string   `json:"parent"`
	Generation *int     `json:"generation" doc:"transfers since the master"`
	Made       *string  `json:"made"`
	LeftML     *float64 `json:"left_ml"`
	Jars       int      `json:"jars" doc:"that carry it"`
	Fouled     int      `json:"fouled"`
	Cautions   []string `json:"cautions"`
	Ended      *string  `json:"ended"`
}

func (s *service) cultures(ctx context.Context, _ *nothing) (list[culture], error) {
	rows, err := s.farm.Cultures(ctx)
	if err != nil {
		return list[culture]{}, err
	}
	var out []culture
	for _, c := range rows {
		v := culture{
			Culture: c.Name, Form: string(c.Form), Strain: c.Strain, Species: c.Species, Parent: c.ParentName, Generation: c.Generation, Made: when(c.Made),
			LeftML: (*float64)(c.Left), Jars: c.Use.Jars, Fouled: c.Use.Fouled, Cautions: []string{}, Ended: when(c.Standing.End.At),
		}
		for _, x := range c.Cautions {
			v.Cautions = append(v.Cautions, x.Title+". "+x.Text)
		}
		out = append(out, v)
	}
	return whole(out), nil
}

type trial struct {
	Trial    string   `json:"trial"`
	Question string   `json:"question"`
	Differ   []string `json:"arms_differ_in"`
	Arms     []string `json:"arms"`
	Control  string   `json:"control"`
	Batches  []string `json:"batches"`
	Growing  int      `json:"growing"`
	Closed   bool     `json:"closed"`
}

func (s *service) trials(ctx context.Context, _ *nothing) (list[trial], error) {
	rows, err := s.farm.Trials(ctx)
	if err != nil {
		return list[trial]{}, err
	}
	var out []trial
	for _, t := range rows {
		v := trial{Trial: t.Name, Question: t.Question, Differ: []string{}, Arms: []string{}, Control: t.Control, Batches: []string{}, Growing: t.Growing, Closed: t.Closed}
		for _, d := range t.Differ {
			v.Differ = append(v.Differ, string(d))
		}
		for _, a := range t.Arms {
			v.Arms = append(v.Arms, a.Name)
		}
		for _, b := range t.Batches {
			v.Batches = append(v.Batches, b.Batch.String())
		}
		out = append(out, v)
	}
	return whole(out), nil
}

type ofTrial struct {
	Trial string `path:"trial" doc:"its name"`
}

// verdict is the same answer that the calculator compare gives, in its own
// shape.
func (s *service) verdict(ctx context.Context, in *ofTrial) (answer, error) {
	v, err := s.farm.Verdict(ctx, in.Trial)
	if err != nil {
		return answer{}, err
	}
	return asAnswer(v)
}
