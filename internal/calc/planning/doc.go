// Package planning counts forward and backward from what a grower has to
// what a grower wants: jars, liquid culture and the days things must begin.
//
// It knows volumes, counts and days, not records.
package planning
