// Package trialstat plans a comparison of arms and judges it: who gets what
// (Allot), what can not be told apart from what (Alias), what the weights
// support (Compare), what totals can and can not say (Yields), and how large a
// difference a plan can show (Power, Plan). Assign draws arms over units whose
// places are given, however many nuisances there are; Crossing names the arms of a
// factorial trial; Spread draws past jars towards a default; Runs weighs more cooks
// against more jars.
//
// It knows designs and columns of a table, not the records that they come
// from. All of it is pure: chance comes from a seed only, no clock, no I/O, and
// no input is changed. What a grower can mend comes back as a *figure.Fault.
package trialstat
