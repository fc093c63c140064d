// Package growth fits curves by least squares: the cover of each jar over its
// days, and how soon arms are half covered.
//
// A jar is the unit: readings of one jar are never taken for jars.
package growth
