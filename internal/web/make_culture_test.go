package web

import (
	"net/url"
	"testing"
)

// A culture is written down with its volume, tested, put away and drawn from,
// each by one press; what is mistyped stands where it was typed.
func TestACultureIsKept(t *testing.T) {
	x := newSite(t, Options{})
	x.stock()
	x.send("/cultures", "/cultures", url.Values{"name": {"LC-20"}, "form": {"LC"}, "volume": {"6 apples"}}).mended("volume", "6 apples", "apples")
	x.send("/cultures", "/cultures", url.Values{"name": {"LC-20"}, "form": {"LC"}, "volume": {"600 mL"}, "generation": {"4"}}).to("/cultures/LC-20")
	x.send("/cultures", "/cultures", url.Values{"name": {"LC-21"}, "form": {"LC"}, "parent": {"LC-20"}, "took": {"4 mL"}, "made": {"2020-01-01"}}).mended("made", "2020-01-01", "older")
	x.send("/cultures", "/cultures", url.Values{"name": {"LC-21"}, "form": {"LC"}, "parent": {"LC-20"}, "took": {"4 mL"}}).to("/cultures/LC-21")
	d := x.get("/cultures/LC-20").doc()
	d.want("what is left", tag("dd"), says("596 mL"))
	d.want("a caution about transfers", tag("p"), says("Far from the master"))
	d.want("the line as a picture", tag("svg"))
	d.want("the line as a table", tag("td"), says("LC-21"))
	x.send("/cultures/LC-20", "/cultures/LC-20", url.Values{"kept": {"tested:clean"}}).to("/cultures/LC-20")
	x.send("/cultures/LC-20", "/cultures/LC-20", url.Values{"kept": {"stored"}, "storage": {"fridge"}}).to("/cultures/LC-20")
	x.send("/cultures/LC-20", "/cultures/LC-20", url.Values{"kept": {"drawn"}, "amount": {"-3 mL"}}).mended("amount", "-3 mL", "-3")
	x.send("/cultures/LC-20", "/cultures/LC-20/limit", url.Values{"of": {"warn"}, "limit": {"many"}}).mended("limit", "many", "no limit")
	x.send("/cultures/LC-20", "/cultures/LC-20/limit", url.Values{"of": {"warn"}, "limit": {"9"}}).to("/cultures/LC-20")
	d = x.get("/cultures/LC-20").doc()
	d.want("the test", tag("li"), says("tested clean"))
	d.want("how it is put away", tag("dd"), says("in the fridge"))
	d.want("what was published of that", tag("p"), says("three months"))
	d.want("how far it goes", tag("a"), says("How far does it go?"))
	x.get("/cultures/nobody").status(404)
	dose := x.get("/reckoner/dose?lc_ml=596&generation=4").status(200).doc()
	dose.want("what the link knows", tag("input"), with("name", "lc_ml"), with("value", "596"))
}
