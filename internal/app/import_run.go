package app

import (
	"context"
	"errors"
	"fmt"
	"path/filepath"
	"slices"
	"strings"

	"pinset/internal/lab"
	"pinset/internal/store"
)

// importing is one import under way.
type importing struct {
	farm    *Farm
	sheet   JarSheet
	options ImportOptions
	differ  []lab.Factor
	report  ImportReport

	deed       lab.Deed
	cultures   map[string]lab.CultureID
	recipes    map[string]lab.RecipeVersionID
	containers map[string]lab.ContainerID
	cooks      map[string]lab.CookID
	codes      *codeDraw
	new        store.Entries
	jars       []lab.Jar
	touched    []lab.JarID
	done       int // rows
}

func (im *importing) run(ctx context.Context, w store.Writer, a Act) error {
	if a.ID != "" {
		if d, err := w.Deed(ctx, a.ID); err == nil {
			im.report.Deed, im.report.Stored = d.ID, true
			return nil
		}
	}
	var err error
	if im.deed, err = im.farm.deed(a, "", "imported %s", im.sheet.Source); err != nil {
		return err
	}
	im.cultures = make(map[string]lab.CultureID)
	im.recipes = make(map[string]lab.RecipeVersionID)
	im.containers = make(map[string]lab.ContainerID)
	im.cooks = make(map[string]lab.CookID)
	im.codes = im.farm.drawCodes(w)
	for _, group := range im.groups() {
		if err := im.batch(ctx, w, group); err != nil {
			return err
		}
	}
	refused := len(im.report.Refused) > 0
	if im.options.DryRun || refused && !im.options.SkipBad || len(im.jars) == 0 && isEmpty(im.new) {
		return errNotKept
	}
	return im.keep(ctx, w)
}

// keep writes what the rows came to.
func (im *importing) keep(ctx context.Context, w store.Writer) error {
	if _, err := w.AddDeed(ctx, im.deed); err != nil {
		return err
	}
	if err := w.AddJars(ctx, im.jars); err != nil {
		return err
	}
	if err := addEntries(ctx, w, im.new); err != nil {
		return err
	}
	if err := restand(ctx, w, im.touched); err != nil {
		return err
	}
	im.report.Stored, im.report.Deed = true, im.deed.ID
	return nil
}

// tickRows is how many rows go by between two words of progress.
const tickRows = 5000

// tick tells how far a long sheet is.
func (im *importing) tick() {
	if im.done++; im.options.Progress != nil && im.done%tickRows == 0 {
		im.options.Progress(im.done, len(im.sheet.Rows))
	}
}

// sheetBatch is the rows of one batch.
type sheetBatch struct {
	name string
	rows []SheetRow
	arms []string // in the order that they first appear
}

// groups parts the rows by batch, in the order of the sheet. Rows without a
// batch belong to one that is called like the file.
func (im *importing) groups() []sheetBatch {
	var groups []sheetBatch
	at := make(map[string]int)
	fallback := strings.TrimSuffix(filepath.Base(im.sheet.Source), filepath.Ext(im.sheet.Source))
	for _, row := range im.sheet.Rows {
		name := row.Batch
		if name == "" {
			name = fallback
		}
		i, ok := at[lab.NameKey(name)]
		if !ok {
			i = len(groups)
			at[lab.NameKey(name)] = i
			groups = append(groups, sheetBatch{name: name})
		}
		g := &groups[i]
		g.rows = append(g.rows, row)
		if row.Arm != "" && !row.Blank && !slices.ContainsFunc(g.arms, func(a string) bool { return lab.NameKey(a) == lab.NameKey(row.Arm) }) {
			g.arms = append(g.arms, row.Arm)
		}
	}
	return groups
}

// refuse lists a row, or returns err if it is none that the grower can mend.
func (im *importing) refuse(row SheetRow, column, value string, err error) error {
	p, ok := lab.AsProblem(err)
	if !ok {
		return err
	}
	im.report.Refused = append(im.report.Refused, RefusedRow{Row: row.Row, Column: column, Value: value, What: p.What, Mend: p.Mend})
	return nil
}

// batch takes in the rows of one batch.
func (im *importing) batch(ctx context.Context, w store.Writer, g sheetBatch) error {
	b, err := im.findBatch(ctx, w, g)
	if err != nil {
		return im.refuse(g.rows[0], "batch", g.name, err)
	}
	im.report.Batches = append(im.report.Batches, b.Title())
	there, err := w.Jars(ctx, store.JarFilter{Batch: b.ID})
	if err != nil {
		return err
	}
	past, err := pastEntries(ctx, w, there)
	if err != nil {
		return err
	}
	match := newMatcher(there)
	for _, row := range g.rows {
		im.tick()
		j, fresh, err := im.jar(ctx, w, b, row, match)
		if err != nil {
			if err = im.refuse(row, "jar", firstOf(row.Mark, fmt.Sprint(row.Number)), err); err != nil {
				return err
			}
			continue
		}
		if fresh {
			im.jars = append(im.jars, j)
			im.report.Jars++
		} else {
			im.report.Known++
		}
		im.touched = append(im.touched, j.ID)
		if err := im.entries(ctx, w, j, row, past); err != nil {
			return err
		}
	}
	return nil
}

func firstOf(words ...string) string {
	for _, s := range words {
		if s != "" && s != "0" {
			return s
		}
	}
	return ""
}

// findBatch returns the batch called like the group, or makes it. A batch
// with two or more arms becomes a trial of the same name.
func (im *importing) findBatch(ctx context.Context, w store.Writer, g sheetBatch) (b lab.Batch, err error) {
	b, err = w.BatchByName(ctx, g.name)
	if err == nil {
		return b, im.sameArms(ctx, w, b, g)
	}
	if !lab.IsKind(err, lab.NotFound) {
		return b, err
	}
	last, err := w.LastBatchNumber(ctx)
	if err != nil {
		return b, err
	}
	b = lab.Batch{ID: newID[lab.BatchID](), Number: last + 1, Made: firstFilled(g.rows)}
	if _, isNumber := lab.BatchNumber(g.name); !isNumber {
		if b.Name, err = lab.Name("batch", g.name); err != nil {
			return b, err
		}
	}
	if len(g.arms) >= 2 {
		t, err := im.addTrial(ctx, w, g)
		if err != nil {
			return b, err
		}
		b.Trial = t.ID
	}
	return b, w.AddBatch(ctx, b)
}

func firstFilled(rows []SheetRow) lab.When {
	var first lab.When
	for _, r := range rows {
		w := r.Filled
		if w.IsZero() {
			w = r.Inoculated
		}
		if !w.IsZero() && w.Exactness != lab.Unknown && (first.IsZero() || w.Time.Before(first.Time)) {
			first = w
		}
	}
	return first
}

func (im *importing) addTrial(ctx context.Context, w store.Writer, g sheetBatch) (lab.Trial, error) {
	t := lab.Trial{
		ID: newID[lab.TrialID](), Name: g.name, Differ: im.differ, Planned: im.farm.clock(), Imported: true,
		Question: "Taken from the sheet " + im.sheet.Source,
	}
	for _, a := range g.arms {
		t.Arms = append(t.Arms, lab.Arm{Name: a, Treatment: a})
	}
	t, err := t.Check()
	if err != nil {
		return t, err
	}
	im.report.Trials = append(im.report.Trials, t.Name)
	if len(im.options.ArmsDifferIn) == 0 {
		t.Differ = nil // not said: the verdict repeats it
		im.report.Cautions = append(im.report.Cautions, treatmentAssumed(t))
	}
	return t, w.AddTrial(ctx, t)
}

// sameArms refuses a sheet that brings arms which the trial does not have.
func (im *importing) sameArms(ctx context.Context, r store.Reader, b lab.Batch, g sheetBatch) error {
	if len(g.arms) == 0 {
		return nil
	}
	if b.Trial == "" {
		if len(g.arms) < 2 {
			return nil
		}
		return lab.Conflictf("give the batch another name in the sheet", "%s is there already, without a trial", b.Title())
	}
	t, err := r.Trial(ctx, b.Trial)
	if err != nil {
		return err
	}
	for _, a := range g.arms {
		if !slices.ContainsFunc(t.Arms, func(x lab.Arm) bool { return lab.NameKey(x.Name) == lab.NameKey(a) }) {
			return lab.Conflictf("call it like one of its arms, or give the batch another name", "%q is not an arm of the trial %s", a, t.Name)
		}
	}
	im.report.Trials = append(im.report.Trials, t.Name)
	return nil
}

// matcher finds the jars that are there already.
type matcher struct {
	byNumber map[int]lab.Jar
	byMark   map[string]lab.Jar
	next     int
}

func newMatcher(there []store.JarRow) *matcher {
	m := &matcher{byNumber: make(map[int]lab.Jar), byMark: make(map[string]lab.Jar), next: 1}
	for _, j := range there {
		m.add(j.Jar)
	}
	return m
}

func (m *matcher) add(j lab.Jar) {
	m.byNumber[j.Number] = j
	if j.Mark != "" {
		m.byMark[lab.NameKey(j.Mark)] = j
	}
	m.next = max(m.next, j.Number+1)
}

// find returns the jar that row means: the one with its mark, or without a
// mark the one with its number.
func (m *matcher) find(row SheetRow) (lab.Jar, bool) {
	if row.Mark != "" {
		j, ok := m.byMark[lab.NameKey(row.Mark)]
		return j, ok
	}
	if row.Number > 0 {
		j, ok := m.byNumber[row.Number]
		return j, ok
	}
	return lab.Jar{}, false
}

// jar returns the jar of row, made if it is not there yet.
func (im *importing) jar(ctx context.Context, w store.Writer, b lab.Batch, row SheetRow, m *matcher) (j lab.Jar, fresh bool, err error) {
	if j, ok := m.find(row); ok {
		if row.Arm != "" && !row.Blank && lab.NameKey(j.Arm) != lab.NameKey(row.Arm) {
			return j, false, lab.Conflictf("check the sheet against the label", "jar %d is in arm %q already, the sheet says %q", j.Number, j.Arm, row.Arm)
		}
		return j, false, nil
	}
	if row.Mark == "" && row.Number == 0 {
		return j, false, lab.Invalidf("jar", "give each jar a number or a mark", "the jar has no number and no mark")
	}
	j = lab.Jar{
		ID: newID[lab.JarID](), Batch: b.ID, Number: row.Number, Mark: row.Mark, Blank: row.Blank, Layer: row.Layer,
		Shelf: row.Shelf, MixMade: row.MixMade, DryGrams: row.DryGrams, Filled: row.Filled,
	}
	if _, taken := m.byNumber[j.Number]; j.Number == 0 || taken {
		j.Number = m.next
	}
	if !row.Blank {
		j.Arm = row.Arm
	}
	if j.Code, err = im.codes.next(ctx); err != nil {
		return j, false, err
	}
	if err := im.reference(ctx, w, b, row, &j); err != nil {
		return j, false, err
	}
	m.add(j)
	return j, true, nil
}

// reference sets what the jar refers to, and makes what is not there yet
// from its name alone.
func (im *importing) reference(ctx context.Context, w store.Writer, b lab.Batch, row SheetRow, j *lab.Jar) error {
	var err error
	if j.Recipe, err = named(im.recipes, row.Recipe, func() (lab.RecipeVersionID, error) { return im.recipe(ctx, w, row.Recipe) }); err != nil {
		return err
	}
	if j.Container, err = named(im.containers, row.Container, func() (lab.ContainerID, error) { return im.container(ctx, w, row.Container) }); err != nil {
		return err
	}
	if j.Culture, err = named(im.cultures, row.Culture, func() (lab.CultureID, error) { return im.culture(ctx, w, row.Culture) }); err != nil {
		return err
	}
	if row.Cook == "" {
		return nil
	}
	cook := b.Title() + " cook " + strings.TrimSpace(strings.TrimPrefix(lab.NameKey(row.Cook), "cook "))
	j.Cook, err = named(im.cooks, cook, func() (lab.CookID, error) { return im.cook(ctx, w, cook, row) })
	return err
}

// named returns what known keeps under name, or what find returns; "" names nothing.
func named[T ~string](known map[string]T, name string, find func() (T, error)) (T, error) {
	key := lab.NameKey(name)
	if key == "" {
		return "", nil
	}
	if id, ok := known[key]; ok {
		return id, nil
	}
	id, err := find()
	if err == nil {
		known[key] = id
	}
	return id, err
}

func (im *importing) recipe(ctx context.Context, w store.Writer, name string) (lab.RecipeVersionID, error) {
	r, err := w.RecipeByName(ctx, name)
	if err == nil || !lab.IsKind(err, lab.NotFound) {
		return r.ID, err
	}
	r = lab.Recipe{ID: newID[lab.RecipeVersionID](), Line: newID[lab.RecipeID](), Version: 1, Made: im.farm.clock(), Note: "Known by its name in " + im.sheet.Source}
	if r.Name, err = lab.Name("recipe", name); err != nil {
		return "", err
	}
	return r.ID, w.AddRecipe(ctx, r)
}

func (im *importing) container(ctx context.Context, w store.Writer, name string) (lab.ContainerID, error) {
	c, err := w.ContainerByName(ctx, name)
	if err == nil || !lab.IsKind(err, lab.NotFound) {
		return c.ID, err
	}
	c, err = lab.Container{ID: newID[lab.ContainerID](), Name: name, Kind: "jar"}.Check()
	if err != nil {
		return "", err
	}
	return c.ID, w.AddContainer(ctx, c)
}

func (im *importing) culture(ctx context.Context, w store.Writer, name string) (lab.CultureID, error) {
	c, err := w.CultureByName(ctx, name)
	if err == nil || !lab.IsKind(err, lab.NotFound) {
		return c.ID, err
	}
	c, err = lab.Culture{ID: newID[lab.CultureID](), Name: name, Form: lab.Unsaid, Made: lab.Sometime(im.farm.clock())}.Check()
	if err != nil {
		return "", err
	}
	return c.ID, w.AddCulture(ctx, c)
}

// cook finds or makes the cook that a sheet names. A sheet's "1" is not our
// cook 1, so it gets a name of its own.
func (im *importing) cook(ctx context.Context, w store.Writer, name string, row SheetRow) (lab.CookID, error) {
	c, err := w.CookByName(ctx, name)
	if err == nil || !lab.IsKind(err, lab.NotFound) {
		return c.ID, err
	}
	day := row.Filled
	if day.IsZero() {
		day = lab.Sometime(im.farm.clock())
	}
	c, err = im.farm.newCook(ctx, w, NewCook{Name: name}, day)
	return c.ID, err
}

// errNoCode says that no free code was drawn in many tries.
var errNoCode = errors.New("no free code drawn")
