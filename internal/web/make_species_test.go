package web

import (
	"net/url"
	"testing"
)

// What a species wants stands with its sources; a figure of the grower's own
// goes first for its strain alone, and what is mistyped stays in the field.
func TestASpeciesIsSetForAStrain(t *testing.T) {
	x := newSite(t, Options{})
	x.stock()
	x.send("/cultures", "/cultures", url.Values{"name": {"P-1"}, "form": {"plate"}, "strain": {"P3"}, "species": {"oyster"}}).to("/cultures/P-1")
	x.get("/cultures/P-1").doc().want("a way to what it wants", tag("a"), with("href", "/species/pleurotus-ostreatus?strain=P3"))
	d := x.get("/species/pleurotus-ostreatus").doc()
	d.want("the figure with its source", tag("dd"), says("12–21 d"), says("(1)"))
	d.want("where it was read", tag("li"), says("Stamets 2000"))
	d.want("a caution about the air of a room", tag("p"), says("no aim for a room"))
	here := "/species/pleurotus-ostreatus?strain=P3"
	x.send(here, "/species/pleurotus-ostreatus", url.Values{"strain": {"P3"}, "target": {"run.days"}, "span": {"soon"}}).mended("span", "soon", "no span")
	x.send(here, "/species/pleurotus-ostreatus", url.Values{"strain": {"P3"}, "target": {"run.days"}, "span": {"10-13"}}).to(here)
	x.get(here).doc().want("the grower's own figure before the book's", tag("dd"), says("10–13 d"), says("your own"), says("also 12–21 d"))
	x.get("/species/pleurotus-ostreatus").doc().none("a strain's own figure for all of the species", tag("b"), says("your own"))
	x.get("/species/boletus").status(404)
}
