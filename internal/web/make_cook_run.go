package web

import (
	"bytes"
	"encoding/json"
	"net/http"
	"strings"
	"time"

	"pinset/internal/app"
	"pinset/internal/figure"
	"pinset/internal/ingest"
	"pinset/internal/lab"
	"pinset/internal/picture"
)

// cookRun is what a cook's page shows beside its marks.
type cookRun struct {
	app.CookRun
	Advice *app.CookAdvice // before the first mark
	Core   *app.CookCore   // once a stretch can be reckoned
	Heat   *drawing
}

// refreshSeconds is how often a running cook's page asks again where scripts
// are off.
const refreshSeconds = 30

// addRun completes the page of a cook with how it goes.
func (s *server) addRun(r *http.Request, p *cookPage) error {
	name := r.PathValue("cook")
	run, err := s.farm.CookRun(r.Context(), name)
	if err != nil {
		return err
	}
	p.Run.CookRun = run
	p.Cautions = append(p.Cautions, run.Cautions...)
	if len(p.Stretches) == 0 {
		advice, err := s.farm.CookAdvice(r.Context(), name, app.AdviceOptions{})
		if err != nil {
			return err
		}
		p.Run.Advice = &advice
		p.Cautions = append(append(p.Cautions[:0], run.Cautions...), advice.Cautions...)
	}
	if p.State == lab.CookRunning || len(run.Logged) > 0 && len(p.Stretches) == 0 {
		p.Refresh = refreshSeconds
		return nil // the cores are reckoned when the heat is off
	}
	core, err := s.farm.CookCore(r.Context(), name, 0)
	if err != nil {
		return err
	}
	if core.Result != nil || len(core.Records) > 0 {
		p.Run.Core = &core
		zone := s.farm.Zone(r.Context())
		p.Run.Heat = newDrawing("heat", deskWide, heatOf(p.String(), core, zone).Draw).on(r)
	}
	return nil
}

// AdviceWorking is how the hold and the water were reckoned.
func (p *cookPage) AdviceWorking() []figure.Step {
	var out []figure.Step
	if a := p.Run.Advice; a.Hold != nil {
		out = append(out, a.Hold.Working...)
	}
	if a := p.Run.Advice; a.Water != nil {
		out = append(out, a.Water.Working...)
	}
	return out
}

// heatOf turns the core of a cook into its picture.
func heatOf(name string, c app.CookCore, zone *time.Location) picture.Heat {
	h := picture.Heat{Name: name, Finding: c.Sentence, Begin: c.Begin, Followed: c.Followed}
	if h.Begin.IsZero() && len(c.Records) > 0 {
		h.Begin = c.Records[0].Readings[0].At
	}
	h.Begin = h.Begin.In(zone)
	at := func(t time.Time) float64 { return t.Sub(h.Begin).Minutes() }
	if h.Finding == "" {
		h.Finding = "What loggers showed; the cores could not be reckoned."
	}
	if c.Result != nil {
		h.TargetF0 = c.Result.TargetF0Min
		for _, m := range c.Result.Trace {
			h.Trace = append(h.Trace, picture.HeatMoment{
				Min: m.Min, Chamber: m.ChamberC, Low: m.LowC, Best: m.BestC, High: m.HighC, LowF: m.LowF0, BestF: m.BestF0, HiF: m.HighF0,
			})
		}
	}
	for _, s := range c.Spans {
		h.Stretches = append(h.Stretches, picture.HeatStretch{From: at(s.From), To: at(s.To), Counts: s.Counts})
	}
	for _, g := range c.Gauge {
		h.Gauge = append(h.Gauge, picture.HeatPoint{Min: at(g.At), Celsius: g.Celsius})
	}
	for _, r := range c.Records {
		series := picture.HeatSeries{Name: r.Place + ", " + r.File}
		for _, x := range r.Readings {
			series.Points = append(series.Points, picture.HeatPoint{Min: at(x.At), Celsius: x.Celsius, Seam: x.Seam})
		}
		h.Logged = append(h.Logged, series)
	}
	for _, x := range c.Fits {
		series := picture.HeatSeries{Name: x.Fit.Vessel}
		for _, r := range x.Fit.Course {
			series.Points = append(series.Points, picture.HeatPoint{Min: at(r.At), Celsius: r.Celsius})
		}
		h.Fitted = append(h.Fitted, series)
	}
	return h
}

// CanFit reports whether loggers ran in the chamber and in a core.
func (p *cookPage) CanFit() bool {
	core, chamber := false, false
	if p.Run.Core != nil {
		for _, r := range p.Run.Core.Records {
			core, chamber = core || r.Place == "core", chamber || r.Place == "chamber"
		}
	}
	return core && chamber && len(p.Run.Core.Kinds) > 0
}

// postCalibration serves POST /cooks/{cook}/calibrations.
func (s *server) postCalibration(w http.ResponseWriter, r *http.Request) error {
	f := formOf(r)
	probe, err := f.whole("probe", 0, 600, 0)
	if err == nil {
		var cal lab.Calibration
		cal, _, err = s.farm.Calibrate(r.Context(), act(r), r.PathValue("cook"), app.NewCalibration{What: f.Get("fit"), Container: f.Get("container"), ProbeMM: float64(probe)})
		if err == nil {
			remember(w, r, cal.Deed, "Fit kept: it is counted from now on")
			return seeOther(w, r, at("cooks", r.PathValue("cook")))
		}
	}
	if f, err = f.with(err); err != nil {
		return err
	}
	return s.showCook(w, r, http.StatusUnprocessableEntity, f)
}

// Ringing are the alarms that wait for an answer, Coming those that are still
// to come, Missed those that were answered late.
func (c cookRun) Ringing() []app.Alarm {
	return c.some(func(a app.Alarm) bool { return a.Due })
}

// Coming are the alarms that are still to come.
func (c cookRun) Coming() []app.Alarm {
	return c.some(func(a app.Alarm) bool { return !a.Due && !a.Answered })
}

// Missed are the alarms that were answered a minute late or more.
func (c cookRun) Missed() []app.Alarm {
	return c.some(func(a app.Alarm) bool { return a.Answered && a.Missed() })
}

func (c cookRun) some(is func(app.Alarm) bool) []app.Alarm {
	var out []app.Alarm
	for _, a := range c.Alarms {
		if is(a) {
			out = append(out, a)
		}
	}
	return out
}

// StepButton is the step that comes next, if one tap is enough for it.
func (p *cookPage) StepButton() *markButton {
	next := p.Run.NextStep
	if next == lab.WaterIn {
		next = lab.HeatOn // water is typed, beside it
	}
	b, ok := p.button(next)
	if !ok {
		return nil
	}
	return &b
}

// ReadingEvent is what the gauge or the thermometer of this cooker gives.
func (p *cookPage) ReadingEvent() lab.Event {
	if p.Run.Kind == lab.Steamer || p.Run.Kind == lab.Autoclave {
		return lab.ReadsAt
	}
	return lab.GaugeAt
}

// Reading is the field for a reading by one tap.
func (p *cookPage) Reading() field {
	such := "14.5 psi"
	if len(p.Run.Near) > 0 {
		such = p.Run.Near[0].Says // in the unit of the target
	}
	f := p.Form.Field("typed", "Gauge reads").WithHint("What no button says, in the unit of the target or with its own, such as " + such + ".")
	if p.ReadingEvent() == lab.ReadsAt {
		f = p.Form.Field("typed", "Thermometer reads").WithHint("What no button says, such as 98.5 °C.")
	}
	if p.MeasuredOpen() {
		f.Value, f.Bad = "", nil
	}
	return f
}

// measures are what can be measured beside a cook, with an example of each.
var measures = []struct {
	event lab.Event
	says  string
}{
	{lab.WaterIn, "Water poured in, such as 2.8 L"},
	{lab.StartAt, "Load begins at, such as 20 °C"},
	{lab.FillAt, "Jars filled to a height of, such as 62 mm"},
	{lab.MassAt, "Substrate in one jar, such as 260 g"},
	{lab.LidAt, "Lids: vented, filter, foil, tight or open"},
	{lab.GaugeAt, "Gauge, such as 14.5 psi"},
	{lab.ReadsAt, "Thermometer in the steam, such as 98.5 °C"},
	{lab.Barometer, "Barometer at the pot, such as 963 hPa"},
	{lab.WaterLeft, "Water left at the end, such as 1.9 L"},
}

// Measures are what can be measured, as it is offered.
func (p *cookPage) Measures() []choice {
	var out []choice
	for _, m := range measures {
		out = append(out, choice{string(m.event), m.says, p.Form.Is("event", string(m.event))})
	}
	return out
}

// MeasuredOpen reports whether what was measured is typed again: it can not
// be kept, or it was no reading.
func (p *cookPage) MeasuredOpen() bool {
	event := lab.Event(p.Form.Get("event"))
	return p.Form.Bad("typed") != nil && event != p.ReadingEvent() || p.Form.Bad("at") != nil && event.IsStep()
}

// Measured and MeasuredAt are the fields of what was measured.
func (p *cookPage) Measured() field {
	f := p.Form.Field("typed", "How much").WithHint("With its unit.")
	f.ID = "measured"
	if !p.MeasuredOpen() {
		f.Value, f.Bad = "", nil
	}
	return f
}

// MeasuredAt is when.
func (p *cookPage) MeasuredAt() field {
	f := p.Form.Field("at", "At what time").WithHint("Such as 19:40. Blank is now.")
	f.ID = "measured-at"
	return f
}

// ItemOpen reports whether an item is typed again.
func (p *cookPage) ItemOpen() bool { return p.Form.problem != nil && p.Form.Has("item") }

// postStep serves POST /cooks/{cook}/step: a step, a reading, or an alarm heard.
func (s *server) postStep(w http.ResponseWriter, r *http.Request) error {
	f := formOf(r)
	event := lab.Event(f.Get("event"))
	deed, err := s.farm.StepCook(r.Context(), act(r), r.PathValue("cook"), event, f.Get("typed"), f.Get("at"))
	if err != nil {
		if f, err = f.with(err); err != nil {
			return err
		}
		return s.showCook(w, r, http.StatusUnprocessableEntity, f)
	}
	remember(w, r, deed, strings.TrimSpace("Cook "+r.PathValue("cook")+": "+event.Label()+" "+typedOf(event, f)))
	return seeOther(w, r, at("cooks", r.PathValue("cook")))
}

// typedOf is what a step says; of an alarm it is a name for programs.
func typedOf(e lab.Event, f form) string {
	if e == lab.Heard {
		return ""
	}
	return clipped(f.Get("typed"), 40)
}

// alarmAnswer is one alarm for the script that rings.
type alarmAnswer struct {
	app.Alarm
	Clock string `json:"clock"`
}

// getAlarms serves GET /alarms.json.
func (s *server) getAlarms(w http.ResponseWriter, r *http.Request) error {
	alarms, err := s.farm.Alarms(r.Context())
	if err != nil {
		return err
	}
	zone := s.farm.Zone(r.Context())
	out := make([]alarmAnswer, len(alarms))
	for i, a := range alarms {
		out[i] = alarmAnswer{a, a.At.In(zone).Format("15:04")}
	}
	w.Header().Set("Content-Type", "application/json")
	w.Header().Set("Cache-Control", "no-store")
	return json.NewEncoder(w).Encode(map[string]any{"now": s.farm.Now().UTC(), "alarms": out})
}

// postRecord serves POST /cooks/{cook}/records: a logger's file.
func (s *server) postRecord(w http.ResponseWriter, r *http.Request) error {
	f := formOf(r)
	rec, err := s.readRecord(r, f)
	if err != nil {
		if f, err = f.with(err); err != nil {
			return err
		}
		return s.showCook(w, r, http.StatusUnprocessableEntity, f)
	}
	remember(w, r, rec.Deed, "Record of the "+rec.Place+" kept: "+count(len(rec.Readings), "reading"))
	return seeOther(w, r, at("cooks", r.PathValue("cook")))
}

func (s *server) readRecord(r *http.Request, f form) (lab.CookRecord, error) {
	name, body, err := uploaded(r)
	if err != nil {
		return lab.CookRecord{}, err
	}
	told, err := s.farm.Loggers(r.Context())
	if err != nil {
		return lab.CookRecord{}, err
	}
	how := ingest.LoggerOptions{
		File: name, Place: f.Get("place"), Unit: f.Get("unit"), Columns: f.Get("columns"), Series: f.Get("series"), Zone: s.farm.Zone(r.Context()), Recall: app.Recall(told),
	}
	if days := f.Get("days"); days != "" {
		first := days == "first"
		how.DayFirst = &first
	}
	if how.Starts, err = ingest.ParseStarts(f.Get("start"), s.now(), how.Zone); err != nil {
		return lab.CookRecord{}, err
	}
	file, err := ingest.ReadLogger(bytes.NewReader(body), how)
	if err != nil {
		return lab.CookRecord{}, err
	}
	rec, err := s.farm.AddCookRecord(r.Context(), act(r), r.PathValue("cook"), app.NewCookRecord{
		Place: f.Get("place"), File: name, Original: file.Original, Shift: f.Get("shift"), Readings: file.Readings, Refused: file.Refused,
	})
	if err != nil {
		return rec, err
	}
	return rec, s.farm.KeepLogger(r.Context(), file.Source, file.Said)
}

// postForgetLogger serves POST /loggers/forget.
func (s *server) postForgetLogger(w http.ResponseWriter, r *http.Request) error {
	f := formOf(r)
	if err := s.farm.ForgetLogger(r.Context(), f.Get("source")); err != nil {
		return err
	}
	remember(w, r, "", "Forgotten: the next such file is asked about")
	return seeOther(w, r, localPath(r.PostFormValue("here")))
}

// getRecord serves GET /cooks/{cook}/records/{record}: the file as it came.
func (s *server) getRecord(w http.ResponseWriter, r *http.Request) error {
	text, err := s.farm.CookRecordText(r.Context(), lab.EntryID(r.PathValue("record")))
	if err != nil {
		return err
	}
	w.Header().Set("Content-Type", "text/plain; charset=utf-8")
	_, err = w.Write([]byte(text))
	return err
}
