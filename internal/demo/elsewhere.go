package demo

import "pinset/internal/app"

// printed are comparisons as somebody might have printed them. Nothing of them is.
var printed = []app.PrintedInput{
	{
		Name: "Millet on the top shelf", Source: "Invented for this farm, table 1", Is: "recipe", This: "millet cake", Than: "oat cake",
		ThisArm: app.PrintedArm{Jars: "14", Mean: "15.2", SD: "4.1"}, ThanArm: app.PrintedArm{Jars: "15", Mean: "12.4", SD: "3.8"},
	},
	{
		Name: "Four grains, one winter", Source: "Invented for this farm, table 2", Is: "recipe", This: "millet cake", Than: "oat cake",
		Estimate: "1.12", Low: "0.93", High: "1.35",
	},
}

// elsewhere types in what was printed.
func (p *planting) elsewhere() {
	for _, in := range printed {
		_, err := p.farm.TypeGuest(p.ctx, p.act(), in)
		p.do("type in "+in.Name, err)
	}
}
