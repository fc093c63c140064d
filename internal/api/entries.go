package api

import (
	"context"
	"fmt"
	"strconv"

	"github.com/danielgtaylor/huma/v2"

	"pinset/internal/app"
	"pinset/internal/figure"
	"pinset/internal/lab"
)

// describeEntries registers what writes.
func (s *service) describeEntries(to huma.API) {
	post(to, "/seen", "add-seen", "Log what was seen on one jar or many", s.addSeen)
	post(to, "/picks", "add-picks", "Log the weights of one flush, all or none", s.addPicks)
	post(to, "/batches/{batch}/inoculate", "inoculate-batch", "Put a culture into all jars of a batch that can have it", s.inoculate)
	post(to, "/cooks/{cook}/marks", "mark-cook", "Log what happened to the hold of a cook", s.markCook)
	post(to, "/cultures/{culture}/keepings", "keep-culture", "Log what was done to a culture", s.keepCulture)
	post(to, "/deeds/{deed}/undo", "undo-deed", "Take an act of entry back, by an entry of its own", s.undo)
}

// Act is what every post carries.
type Act struct {
	Key string `header:"Idempotency-Key" format:"uuid" doc:"a UUID of the sender's: the same again is written once"`
	By  string `header:"Pinset-By" maxLength:"40" doc:"initials of who enters it"`
}

func (a Act) act() app.Act { return app.Act{ID: lab.DeedID(a.Key), By: a.By} }

// Written says what an act wrote.
type Written struct {
	Deed      string           `json:"deed" doc:"give it to undo"`
	What      string           `json:"what"`
	Jars      []string         `json:"jars"`
	Repeat    bool             `json:"repeat" doc:"it was written before; nothing was written again"`
	Cautions  []figure.Caution `json:"cautions"`
	Questions []Question       `json:"questions,omitempty" doc:"what the visits to jars that were seen leave open"`
}

// Question is something about visits that contradicts itself. Nothing is mended
// until an entry is taken back or entered.
type Question struct {
	Jar  string `json:"jar" doc:"such as B12·3; empty if it is about several"`
	Text string `json:"text"`
}

func viewQuestions(asked []app.DayQuestion) []Question {
	out := make([]Question, len(asked))
	for i, q := range asked {
		out[i] = Question{q.Jar, q.Text}
	}
	return out
}

func viewDone(d app.Done) Written {
	w := Written{Deed: string(d.Deed), What: d.What, Jars: d.Jars, Repeat: d.Repeat, Cautions: d.Cautions}
	if w.Jars == nil {
		w.Jars = []string{}
	}
	if w.Cautions == nil {
		w.Cautions = []figure.Caution{}
	}
	return w
}

type newSeen struct {
	Act
	Body struct {
		Jars   string `json:"jars" doc:"B12·13–24, B12.3,7 or codes"`
		Stage  string `json:"stage,omitempty" doc:"growth, cover, light, colour, pins or ready"`
		Sign   string `json:"sign,omitempty"`
		Fate   string `json:"fate,omitempty" doc:"lost, barren, spent or growing"`
		Reason string `json:"reason,omitempty" doc:"why it is lost"`
		Count  string `json:"count,omitempty" doc:"of pins or aborts"`
		Cover  string `json:"cover,omitempty" doc:"per cent of the surface that is covered"`
		Note   string `json:"note,omitempty"`
		At     string `json:"at,omitempty" doc:"when; now if left out"`
	}
}

func (s *service) addSeen(ctx context.Context, in *newSeen) (Written, error) {
	b := in.Body
	done, err := s.farm.See(ctx, in.act(), app.SeeInput{Jars: b.Jars, Stage: b.Stage, Sign: b.Sign, Fate: b.Fate, Reason: b.Reason, Count: b.Count, Cover: b.Cover, Note: b.Note, At: b.At})
	if err != nil {
		return Written{}, err
	}
	out := viewDone(done)
	asked, err := s.farm.JarQuestions(ctx, b.Jars)
	out.Questions = viewQuestions(app.Contradicting(asked))
	return out, err
}

type newPicks struct {
	Act
	Body struct {
		Picks []struct {
			Jar    string `json:"jar"`
			Weight string `json:"weight" doc:"as typed, such as 12.4 g or 0.4 oz; a bare number is g"`
		} `json:"picks" minItems:"1" maxItems:"1000"`
		Flush int    `json:"flush,omitempty" minimum:"0" maximum:"20" doc:"1 if left out"`
		At    string `json:"at,omitempty"`
	}
}

func (s *service) addPicks(ctx context.Context, in *newPicks) (Written, error) {
	picks := app.PickInput{Flush: in.Body.Flush, At: in.Body.At}
	for _, p := range in.Body.Picks {
		picks.Picks = append(picks.Picks, app.TypedPick{Jar: p.Jar, Grams: p.Weight})
	}
	done, err := s.farm.PickJars(ctx, in.act(), picks)
	return viewDone(done), err
}

type newInoculation struct {
	Act
	OfBatch
	Body struct {
		Culture  string `json:"culture,omitempty" doc:"that of the plan if left out"`
		Amount   string `json:"amount,omitempty" doc:"into each jar, such as 2 mL"`
		Except   string `json:"except,omitempty" doc:"numbers left out: 5, 7–9"`
		At       string `json:"at,omitempty"`
		Override string `json:"override,omitempty" doc:"why jars of a cook that did not hold get it all the same"`
	}
}

type inoculated struct {
	Written
	HeldBack []heldBack `json:"held_back"`
}

type heldBack struct {
	Number int    `json:"number"`
	Why    string `json:"why"`
}

func (s *service) inoculate(ctx context.Context, in *newInoculation) (inoculated, error) {
	b := in.Body
	r, err := s.farm.Inoculate(ctx, in.act(), app.InoculateInput{Batch: in.Batch, Culture: b.Culture, Amount: b.Amount, Except: b.Except, At: b.At, Override: b.Override})
	if err != nil {
		return inoculated{}, err
	}
	out := inoculated{viewDone(app.Done{Deed: r.Deed, What: r.What, Repeat: r.Repeat, Cautions: r.Cautions}), []heldBack{}}
	for _, n := range r.Numbers {
		out.Jars = append(out.Jars, fmt.Sprintf("%s·%d", r.Batch, n))
	}
	for _, h := range r.HeldBack {
		out.HeldBack = append(out.HeldBack, heldBack{h.Number, h.Why})
	}
	return out, nil
}

type newMark struct {
	Act
	Cook string `path:"cook" doc:"number or name"`
	Body struct {
		Event string `json:"event" enum:"reached,lost,back,heat_off,opened"`
		At    string `json:"at,omitempty"`
	}
}

type marked struct {
	State    string `json:"state"`
	Sentence string `json:"sentence"`
}

func (s *service) markCook(ctx context.Context, in *newMark) (marked, error) {
	v, err := s.farm.MarkCook(ctx, in.act(), in.Cook, lab.Event(in.Body.Event), in.Body.At)
	if err != nil {
		return marked{}, err
	}
	return marked{string(v.State), v.Sentence}, nil
}

type newKeeping struct {
	Act
	Culture string `path:"culture"`
	Body    struct {
		Did     string `json:"did" enum:"tested,stored,drawn,fruited,ended"`
		Finding string `json:"finding,omitempty" doc:"of tested: clean or dirty"`
		Storage string `json:"storage,omitempty" doc:"of stored"`
		Amount  string `json:"amount,omitempty" doc:"of drawn, such as 5 mL"`
		At      string `json:"at,omitempty"`
		Note    string `json:"note,omitempty"`
	}
}

func (s *service) keepCulture(ctx context.Context, in *newKeeping) (Written, error) {
	b := in.Body
	done, err := s.farm.KeepCulture(ctx, in.act(), app.NewKeeping{Culture: in.Culture, Kept: b.Did, Finding: b.Finding, Storage: b.Storage, Amount: b.Amount, At: b.At, Note: b.Note})
	return viewDone(done), err
}

type undone struct {
	Act
	Deed string `path:"deed" format:"uuid"`
}

func (s *service) undo(ctx context.Context, in *undone) (Written, error) {
	id, err := lab.ParseID[lab.DeedID](in.Deed)
	if err != nil {
		return Written{}, err
	}
	done, err := s.farm.Undo(ctx, in.act(), id)
	return viewDone(done), err
}

func nextAfter(number int) *string {
	s := strconv.Itoa(number)
	return &s
}
