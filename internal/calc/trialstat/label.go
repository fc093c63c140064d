package trialstat

import "pinset/internal/figure"

// Label names something in a table: a jar, an arm, a layer.
type Label = figure.Label
