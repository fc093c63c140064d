// Package policytest holds the tests that keep the house rules true: who may
// import whom, which modules are used where and why, one word per thing, the
// size of functions and files, and what no file may mention.
//
// Each rule is a function from a tree of files to the faults in it. Its test
// first shows it small trees that break the rule, then this repository.
//
// Rules that need a running program are tested beside it: that every template
// is counted at start and that every route has a rule are tests of web.
package policytest
