// Package thermal computes what heat does to a load: the lethality of a
// temperature record, the hold that counts, the core of a vessel that lags
// behind the gauge, cooling, and the water a cook needs.
//
// It is pure: no clock, no I/O, no globals that change. Every calculator is
// a function from an input with JSON tags to a figure.Answer. Bad input is a
// *figure.Fault; a doubt about a valid figure is a caution beside it.
//
// The figures are estimates for mushroom substrate. They validate no food,
// and they stand below the maker's manual of the vessel.
package thermal
