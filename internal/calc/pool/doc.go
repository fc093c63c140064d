// Package pool adds up the same contrast over cooks, trials and seasons: its
// mean, how far trials differ, and what the next grow may show.
//
// It knows estimates with their standard errors, not jars.
package pool
