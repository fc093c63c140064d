package picture

// colour is an ink of the light theme.
type colour struct {
	hex     string
	r, g, b int
}

// light holds the inks of the light theme, which paper uses. They are the
// tokens of the page's stylesheet; a test of package web holds them equal.
var light = map[Ink]colour{
	Text:    hex("#23211c"),
	Soft:    hex("#5a5549"),
	Line:    hex("#dad4c6"),
	Edge:    hex("#7f7868"),
	Ground:  hex("#f5f2ea"),
	Surface: hex("#fdfbf6"),
	Sunken:  hex("#ebe7dc"),
	Go:      hex("#0f5f55"),
	Due:     hex("#b8650a"),
	DueSoft: hex("#f7e7cd"),
	Stop:    hex("#9b2119"),
	Grain:   hex("#c4a26d"),
	Cover:   hex("#fffefa"),
	Glass:   hex("#7f7868"),
	Crop:    hex("#b8530a"),
	Mat:     hex("#f0b785"),
	"arm-a": hex("#3547a0"),
	"arm-b": hex("#8b3a0d"),
	"arm-c": hex("#2f7f71"),
	"arm-d": hex("#ab72c2"),
	"arm-e": hex("#232328"),
	"arm-f": hex("#868e22"),
}

// LightInks returns the inks of the light theme as #rrggbb.
func LightInks() map[Ink]string {
	out := make(map[Ink]string, len(light))
	for ink, c := range light {
		out[ink] = c.hex
	}
	return out
}

// hex reads #rrggbb; it is called with constants only.
func hex(s string) colour {
	digit := func(c byte) int {
		if c <= '9' {
			return int(c - '0')
		}
		return int(c-'a') + 10
	}
	pair := func(i int) int { return 16*digit(s[i]) + digit(s[i+1]) }
	return colour{s, pair(1), pair(3), pair(5)}
}
