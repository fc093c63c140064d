package label

import (
	"math"
	"strings"
)

// Letters, as shares of the font's size. Source: DejaVu Sans 2.37.
const (
	capHeight = 0.729
	tailDepth = 0.236 // of letters that hang below the line
)

// tails are the letters that hang below the line. Numbers do not; names of
// shelves and cultures may.
const tails = "gjpqyQ,;()[]{}|/@$_"

// room returns what a square code has on every label of the sheet.
func (s *sheet) room() room {
	g, a := s.o.Grid, s.area
	switch {
	case g.Round:
		const share = 0.42 // of the diameter; the rest is for the number
		return room{tall: share * g.W, wide: share * g.W, label: g.W}
	case s.stacked():
		return room{tall: 0.55 * a.h, wide: min(a.w, g.W*0.8), label: g.H}
	}
	return room{tall: a.h, wide: 0.45 * g.W, label: g.H}
}

// stacked reports whether number and square stand one above the other.
func (s *sheet) stacked() bool { return s.o.Grid.Round || s.o.Grid.H > 0.85*s.o.Grid.W }

func (s *sheet) draw(f face, x, y float64) {
	s.SetTextColor(0, 0, 0)
	switch {
	case s.o.Grid.Round:
		s.drawRound(f, x, y)
	case s.stacked():
		s.drawTall(f, x, y)
	default:
		s.drawWide(f, x, y)
	}
}

// drawWide has the words on the left and the square on the right.
func (s *sheet) drawWide(f face, x, y float64) {
	b := s.area
	b.x, b.y = b.x+x, b.y+y
	if q := f.square; q.module > 0 {
		right := min(b.x+b.w, x+s.o.Grid.W-q.quiet())
		s.square(q, right-q.MM(), b.y+(b.h-q.MM())/2)
		b.w = right - q.MM() - q.quiet() - b.x
	}
	if f.square.module == 0 && b.w > 2*b.h {
		s.beside(f, b)
		return
	}
	s.words(f, b, false)
}

// beside writes the number on the left, and batch and code beside it, for
// labels that are too flat to write them below each other.
func (s *sheet) beside(f face, b box) {
	const gap = 2 // mm
	half := (b.w - gap) / 2
	s.stand(f.Large, b.x, b.y+b.h, b.h, half, false)
	x, line := b.x+half+gap, 0.36*b.h
	s.write(strings.TrimSpace(f.Over), sans, x, b.y+line, line/capHeight, half, false)
	s.write(f.Code, mono, x, b.y+b.h, line/capHeight, half, false)
}

// drawTall has the words above and the square below.
func (s *sheet) drawTall(f face, x, y float64) {
	b := s.area
	b.x, b.y = b.x+x, b.y+y
	if q := f.square; q.module > 0 {
		low := min(b.y+b.h, y+s.o.Grid.H-q.quiet())
		s.square(q, b.x+(b.w-q.MM())/2, low-q.MM())
		b.h = low - q.MM() - q.quiet() - b.y
	}
	s.words(f, b, true)
}

// drawRound has the words in the upper part and the square in the lower, each
// as wide as the circle is there.
func (s *sheet) drawRound(f face, x, y float64) {
	r := s.o.Grid.W / 2
	low := r // of the words, from the middle
	if q := f.square; q.module > 0 {
		half := q.MM()/2 + q.quiet()
		bottom := chord(r, half) - q.quiet()
		s.square(q, x+r-q.MM()/2, y+r+bottom-q.MM())
		low = bottom - q.MM() - q.quiet()
	} else {
		low = r * 0.5
	}
	const highest = 0.8 // of the radius: where the words begin
	high := -highest * r
	half := chord(r-inset, max(-high, low))
	s.words(f, box{x + r - half, y + r + high, 2 * half, low - high}, true)
}

// words writes what a label says into b: the number largest, then the code,
// then as many of the other lines as there is room for.
func (s *sheet) words(f face, b box, centred bool) {
	lines := f.lines()
	if f.side == Lid {
		lines = nil
	}
	const small = 2.5 // mm, a small line with its space
	gap := clamp(0.045*b.h, 0.9, 2)
	code := clamp(0.17*b.h, 2.1, 6)
	head := strings.TrimSpace(f.Over)
	top := 0.0
	if head != "" && !centred {
		top = clamp(0.12*b.h, 1.8, 4)
	}
	rest := b.h - code - 2*gap
	if top > 0 {
		rest -= top + gap
	}
	fit := max(0, int((rest-0.38*b.h)/small))
	lines = lines[:min(len(lines), fit)]
	large := rest - small*float64(len(lines))

	y := b.y
	if top > 0 {
		s.write(head, sans, b.x, y+top, top/capHeight, b.w, centred)
		y += top + gap
	}
	s.stand(f.Large, b.x, y+large, large, b.w, centred)
	y += large + gap
	below := f.Code
	if centred {
		below = strings.TrimSpace(head + " " + f.Code)
	}
	if below != "" {
		s.write(below, mono, b.x, y+code, code/capHeight, b.w, centred)
		y += code + gap
	}
	for _, l := range lines {
		const em = 2.3 // 6.5 points
		s.line(l, b.x, y+em*capHeight, em, b.w, centred)
		y += small
	}
}

// lines are the small lines of a label.
func (f face) lines() []string {
	var out []string
	for _, l := range append([]string{f.Day}, f.About...) {
		if strings.TrimSpace(l) != "" {
			out = append(out, l)
		}
	}
	return out
}

// stand writes the largest word so that it ends at the height y and is no more
// than tall high: one with tails stands higher and is smaller for them.
func (s *sheet) stand(text string, x, y, tall, wide float64, centred bool) {
	em := tall / capHeight
	if strings.ContainsAny(text, tails) {
		em = tall / (capHeight + tailDepth)
		y -= tailDepth * s.fitting(s.printable(text), sans, em, wide)
	}
	s.write(text, sans, x, y, em, wide, centred)
}

// fitting sets a font and returns its size, no larger than em, in which text
// is no wider than wide, or as small as can be read.
func (s *sheet) fitting(text, font string, em, wide float64) float64 {
	const least = 2.3 // mm, 6.5 points
	s.SetFont(font, "B", 10)
	s.SetFontUnitSize(em)
	if w := s.GetStringWidth(text); w > wide {
		em = max(least, em*wide/w)
		s.SetFontUnitSize(em)
	}
	return em
}

// write writes text in bold no larger than em and no wider than wide: it is
// made smaller first, and cut when that no longer can be read.
func (s *sheet) write(text, font string, x, base, em, wide float64, centred bool) {
	text = s.printable(text)
	s.fitting(text, font, em, wide)
	s.put(text, x, base, wide, centred)
}

// line writes one small line.
func (s *sheet) line(text string, x, base, em, wide float64, centred bool) {
	s.SetFont(sans, "", 10)
	s.SetFontUnitSize(em)
	s.put(s.printable(text), x, base, wide, centred)
}

// put writes text in the font that is set, cut to wide.
func (s *sheet) put(text string, x, base, wide float64, centred bool) {
	w := s.GetStringWidth(text)
	if w > wide+0.01 {
		s.narrow = true
		runes := []rune(text)
		for n := len(runes) - 1; n >= 0 && w > wide; n-- {
			text = strings.TrimRight(string(runes[:n]), " ,·") + "…"
			w = s.GetStringWidth(text)
		}
	}
	if centred {
		x += (wide - w) / 2
	}
	s.Text(x, base, text)
}

func clamp(x, low, high float64) float64 { return max(low, min(x, high)) }

// chord is half the width of a circle of radius r at a height of y from its
// middle, 0 outside.
func chord(r, y float64) float64 {
	if !(y >= -r && y <= r) {
		return 0
	}
	return math.Sqrt(r*r - y*y)
}
