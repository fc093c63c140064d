// Package datapackage writes and reads Data Packages: a folder of plain files
// with a description, datapackage.json, that says what each file holds, with
// the columns, their types and their units.
//
// A package is sealed when it is written: the description holds the length and
// the SHA-256 of every file, and of every row of a table the first eight digits
// of its own, so that what was altered can be named. Whatever is read is taken
// to come from a stranger: names, sizes and numbers of files are bounded, and
// nothing is followed out of the folder.
//
// Source: Data Package standard, version 2.0 (datapackage.org/standard):
// Data Package, Data Resource, Table Dialect, Table Schema. Where version 2
// renamed a property, that of version 1 stands beside it, so that programs of
// either read it.
package datapackage
