// Package survive tells when something came that was only looked for at
// visits: stages of jars, each between the last visit that did not show it
// and the first that did.
//
// It knows spans of days and arms, not jars on shelves. The day on which a
// stage was first seen is never taken for the day it came.
package survive
