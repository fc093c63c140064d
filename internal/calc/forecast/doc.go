// Package forecast says on which day a stage will come: published days are
// where it begins, own batches take over as there are any, and the window
// shrinks while the stage does not come.
//
// It knows days and groups (a recipe, a culture), not jars.
package forecast
