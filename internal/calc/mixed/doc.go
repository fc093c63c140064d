// Package mixed fits linear models with random levels, such as cooks and
// mixings, by restricted maximum likelihood, with the small-sample inference of
// Kenward and Roger.
//
// It knows columns, not jars. Each random term is a level for every row; there
// are no random slopes.
package mixed
