package web

import (
	"strconv"
	"strings"

	"pinset/internal/app"
	"pinset/internal/lab"
)

// planOf reads the form of a plan.
func planOf(f form) (app.PlanInput, error) {
	in := app.PlanInput{
		Name: f.Get("name"), Question: f.Get("question"), Recipe: f.Get("recipe"), Culture: f.Get("culture"), Container: f.Get("container"),
		Made: f.Get("made"), Closing: f.Get("closing"), Primary: f.Get("primary"), Seed: f.Get("seed"), MakePerCook: f.Get("each") == "yes",
	}
	if strings.TrimSpace(in.Name) == "" {
		return in, lab.Invalidf("name", "write a short name, such as rye against millet", "the plan has no name")
	}
	var err error
	if in.Jars, err = f.whole("jars", 1, 10000, 0); err != nil {
		return in, err
	}
	if in.BlanksPerCook, err = f.whole("blanks", 0, 20, 0); err != nil {
		return in, err
	}
	if in.Cooks, err = readCooks(f); err != nil {
		return in, err
	}
	if in.Shelves, err = readShelves(f.Get("shelves")); err != nil {
		return in, err
	}
	if f.Get("kind") != "trial" {
		return in, nil
	}
	return in, readTrial(f, &in)
}

func readTrial(f form, in *app.PlanInput) error {
	var err error
	if in.Matters, err = percent(f, "matters"); err != nil {
		return err
	}
	if in.Spread, err = percent(f, "spread"); err != nil {
		return err
	}
	if in.Loss, err = percent(f, "loss"); err != nil {
		return err
	}
	in.Blind, in.Repeats = f.Get("blind") == "yes", f.Get("repeats")
	if in.Over, err = readOver(f.Get("over")); err != nil {
		return err
	}
	if crossOf(f) > 0 {
		return readCrossed(f, in)
	}
	in.Differ = f.values["differ"]
	for i := range armCount(f) {
		arm, err := readArm(f, i)
		if err != nil {
			return err
		}
		if err := f.chosenFor(i, in.Differ); err != nil {
			return err
		}
		in.Arms = append(in.Arms, arm)
	}
	if usual := f.int("usual", 0); usual >= 1 && usual <= len(in.Arms) {
		in.Control = in.Arms[usual-1].Name
	}
	return nil
}

// chosenFor checks that arm i, from 0, has what the arms differ in. A blank
// treatment is one: nothing was done.
func (f form) chosenFor(i int, differ []string) error {
	for _, factor := range differ {
		name := "arm" + strconv.Itoa(i+1) + "_" + factor
		if factor != string(lab.ByTreatment) && f.Get(name) == "" {
			return lab.Invalidf(name, "choose one", "arm %s has no %s", armLetter(i), factor)
		}
	}
	return nil
}

// readArm reads arm i, from 0. Without a name it is called after what it
// gets, or by its letter.
func readArm(f form, i int) (app.PlanArm, error) {
	key := "arm" + strconv.Itoa(i+1) + "_"
	a := app.PlanArm{
		Name: strings.TrimSpace(f.Get(key + "name")), Treatment: f.Get(key + "treatment"),
		Recipe: f.Get(key + "recipe"), Culture: f.Get(key + "culture"), Container: f.Get(key + "container"),
	}
	if a.Name == "" {
		a.Name = armLetter(i)
	}
	var err error
	if a.Cook, err = f.whole(key+"cook", 0, 50, 0); err != nil {
		return a, err
	}
	a.Layer, err = f.whole(key+"layer", 0, 20, 0)
	return a, err
}

// readCooks reads the cooks. Where they differ, what each gets is parted by " / ",
// and the last holds for the rest.
func readCooks(f form) ([]app.PlanCook, error) {
	n, err := f.whole("cooks", 1, 50, 1)
	if err != nil {
		return nil, err
	}
	cooks := make([]app.PlanCook, n)
	for i := range cooks {
		cooks[i] = app.PlanCook{Cooker: ofCook(f.Get("cooker"), i), Hold: ofCook(f.Get("hold"), i), Gauge: ofCook(f.Get("gauge"), i)}
		if cooks[i].Places, err = readPlaces(ofCook(f.Get("places"), i)); err != nil {
			return nil, err
		}
	}
	return cooks, nil
}

// ofCook returns the part of typed that is for cook i, from 0.
func ofCook(typed string, i int) string {
	parts := strings.Split(typed, " / ") // not in 1 1/2 h
	return strings.TrimSpace(parts[min(i, len(parts)-1)])
}

// readPlaces reads the jars that each layer takes, the bottom first: "7, 7";
// none if nothing is typed: then what was counted for the cooker counts.
func readPlaces(typed string) ([]int, error) {
	var out []int
	for word := range strings.FieldsFuncSeq(typed, func(r rune) bool { return r == ',' || r == ';' || r == '+' || r == ' ' }) {
		n, err := strconv.Atoi(word)
		if err != nil || n < 1 || n > 1000 || len(out) == 20 {
			return nil, lab.Invalidf("places", "write the jars that each layer takes, the bottom first, such as 7, 7", "%q can not be read as layers", clipped(typed, 40))
		}
		out = append(out, n)
	}
	return out, nil
}

// readShelves reads shelves with what each takes: "window 12, cellar 8".
func readShelves(typed string) ([]app.PlanShelf, error) {
	var out []app.PlanShelf
	for part := range strings.FieldsFuncSeq(typed, func(r rune) bool { return r == ',' || r == ';' || r == '\n' }) {
		part = strings.TrimSpace(part)
		if part == "" {
			continue
		}
		cut := strings.LastIndexAny(part, " :")
		name, n := "", 0
		if cut > 0 {
			name = strings.TrimSpace(strings.TrimRight(part[:cut], " :"))
			n, _ = strconv.Atoi(part[cut+1:]) // 0 is refused below
		}
		if name == "" || n < 1 || n > 10000 || len(out) == 100 {
			return nil, lab.Invalidf("shelves", "write each shelf with the jars it takes, such as window 12, cellar 8", "%q can not be read as a shelf", clipped(part, 40))
		}
		out = append(out, app.PlanShelf{Name: name, Places: n})
	}
	return out, nil
}

// percent reads a percentage with or without its sign; "" is 0.
func percent(f form, name string) (float64, error) {
	typed := strings.TrimSpace(strings.TrimSuffix(strings.TrimSpace(f.Get(name)), "%"))
	if typed == "" {
		return 0, nil
	}
	x, err := strconv.ParseFloat(strings.Replace(typed, ",", ".", 1), 64)
	if err != nil || !(x > 0 && x <= 200) {
		return 0, lab.Invalidf(name, "write per cent, such as 20", "%q is no percentage from 0 to 200", clipped(f.Get(name), 20))
	}
	return x, nil
}

// planFields are the fields of the form for what the use case calls otherwise.
var planFields = map[string]string{
	"trial": "name", "batch": "name", "arm": "arms", "arms_differ_in": "arms", "control": "arms", "cells": "places", "on_cook": "cooks", "on_shelf": "shelves",
	"factor1": "factor1_levels", "factor2": "factor2_levels", "factor3": "factor3_levels",
}

// atPlanField puts a problem at the field of the form.
func atPlanField(err error) error {
	p, ok := lab.AsProblem(err)
	if !ok {
		return err
	}
	q := *p
	if name, ok := planFields[q.Field]; ok {
		q.Field = name
	}
	if q.Kind == lab.Conflict && q.Field == "" { // a name that is taken
		q.Field = "name"
	}
	return &q
}
