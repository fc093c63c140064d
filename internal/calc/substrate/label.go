package substrate

// Label is what a sack or a data sheet prints, as shares 0..1 of the mass as
// sold. What it does not print is nil.
type Label struct {
	Water, Protein, Fat, Carbohydrate, Sugars, Ash *float64
	Factor                                         *float64 // protein over nitrogen; 6.25 if nil
}

// Dry is what a label says of the dry matter, shares 0..1; nil if it says
// too little.
type Dry struct {
	N, C, Fat, Ash, Sugars *float64
}

// OfDry works out nitrogen, carbon, fat and ash of the dry matter. The
// carbohydrate is taken by difference where the rest is printed; sugars that
// are not printed count as starch, 6 % less carbon at most than that share.
//
// Source: nitrogen is protein / factor (FAO Food and Nutrition Paper 77,
// 2003; 6.25 where it is not said); carbon as in the table, 0.53 protein +
// 0.765 fat + 0.444 (carbohydrate - sugars) + 0.42 sugars.
func (l Label) OfDry() Dry {
	var out Dry
	if l.Water == nil || !(*l.Water >= 0 && *l.Water < 1) {
		return out
	}
	dry := 1 - *l.Water
	carbs := l.Carbohydrate
	if carbs == nil && l.Protein != nil && l.Fat != nil && l.Ash != nil {
		if rest := dry - *l.Protein - *l.Fat - *l.Ash; rest >= 0 {
			carbs = &rest
		}
	}
	factor := 6.25
	if l.Factor != nil {
		factor = *l.Factor
	}
	if l.Protein != nil {
		out.N = ptr(*l.Protein / factor / dry)
	}
	if l.Protein != nil && l.Fat != nil && carbs != nil {
		sugars := 0.0
		if l.Sugars != nil {
			sugars = *l.Sugars
		}
		out.C = ptr((0.53**l.Protein + 0.765**l.Fat + 0.444*(*carbs-sugars) + 0.42*sugars) / dry)
	}
	if l.Fat != nil {
		out.Fat = ptr(*l.Fat / dry)
	}
	if l.Ash != nil {
		out.Ash = ptr(*l.Ash / dry)
	}
	if l.Sugars != nil {
		out.Sugars = ptr(*l.Sugars / dry)
	}
	return out
}
