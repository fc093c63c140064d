package picture

import (
	"html/template"
	"strconv"
	"strings"
)

// SVG returns the picture as an inline SVG element. id must be unique on its
// page and a valid HTML id. Colours are classes f-INK (fill) and s-INK
// (stroke) of the page's stylesheet, which also knows b (bold), mono and halo.
// Outlines carry the colours of the light theme as attributes too.
func (p *Picture) SVG(id string) template.HTML {
	var b strings.Builder
	b.Grow(512 + 120*len(p.marks))
	b.WriteString(`<svg class="picture" viewBox="0 0 `)
	writeNumber(&b, p.Width)
	b.WriteByte(' ')
	writeNumber(&b, p.Height)
	b.WriteString(`" role="` + p.role() + `" stroke-linecap="round" stroke-linejoin="round" aria-labelledby="` + id + `-t ` + id + `-d"><title id="` + id + `-t">`)
	b.WriteString(template.HTMLEscapeString(p.Title))
	b.WriteString(`</title><desc id="` + id + `-d">`)
	b.WriteString(template.HTMLEscapeString(p.Desc))
	b.WriteString(`</desc>`)
	if len(p.stamps) > 0 {
		b.WriteString(`<defs>`)
	}
	for i := range p.stamps {
		b.WriteString(`<g id="` + stampID(id, i+1) + `">`)
		for k := range p.stamps[i].marks {
			p.stamps[i].marks[k].writeSVG(&b)
		}
		b.WriteString(`</g>`)
	}
	if len(p.stamps) > 0 {
		b.WriteString(`</defs>`)
	}
	left := 0 // marks of the open link
	for i := range p.marks {
		m := &p.marks[i]
		if m.link != "" {
			b.WriteString(`<a href="` + template.HTMLEscapeString(m.link) + `"><title>` + template.HTMLEscapeString(m.says) + `</title>`)
			left = m.group
		}
		if m.stamp > 0 {
			b.WriteString(`<use href="#` + stampID(id, m.stamp) + `" x="`)
			writeNumber(&b, m.x)
			b.WriteString(`" y="`)
			writeNumber(&b, m.y)
			b.WriteString(`"/>`)
		} else {
			m.writeSVG(&b)
		}
		if left--; left == 0 {
			b.WriteString(`</a>`)
		}
	}
	b.WriteString(`</svg>`)
	return template.HTML(b.String()) // every text in it is escaped above and in writeSVG
}

// role is what the picture is to those who can not see it: one image, or a
// group of links.
func (p *Picture) role() string {
	for i := range p.marks {
		if p.marks[i].link != "" {
			return "group"
		}
	}
	return "img"
}

func stampID(id string, n int) string { return id + "-s" + strconv.Itoa(n) }

func (m *mark) writeSVG(b *strings.Builder) {
	if m.text != "" {
		m.writeText(b)
		return
	}
	b.WriteString(`<path`)
	m.writeStyle(b)
	b.WriteString(` d="`)
	for i := range m.path {
		m.path[i].write(b)
	}
	b.WriteString(`"/>`)
}

func (m *mark) writeText(b *strings.Builder) {
	b.WriteString(`<text x="`)
	writeNumber(b, m.x)
	b.WriteString(`" y="`)
	writeNumber(b, m.y)
	b.WriteString(`" font-size="`)
	writeNumber(b, m.size)
	b.WriteByte('"')
	if m.at != start && m.at != "" {
		b.WriteString(` text-anchor="` + string(m.at) + `"`)
	}
	class := "f-" + string(m.fill)
	if m.bold {
		class += " b"
	}
	if m.mono {
		class += " mono"
	}
	if m.halo {
		class += " halo"
	}
	b.WriteString(` class="` + class + `">`)
	b.WriteString(template.HTMLEscapeString(m.text))
	b.WriteString(`</text>`)
}

func (m *mark) writeStyle(b *strings.Builder) {
	var class []string
	if m.fill != NoInk {
		class = append(class, "f-"+string(m.fill))
	}
	if m.stroke != NoInk {
		class = append(class, "s-"+string(m.stroke))
	}
	b.WriteString(` class="` + strings.Join(class, " ") + `" fill="`)
	if m.fill == NoInk {
		b.WriteString(`none"`)
	} else {
		b.WriteString(light[m.fill].hex + `"`)
	}
	if m.stroke != NoInk {
		b.WriteString(` stroke="` + light[m.stroke].hex + `" stroke-width="`)
		writeNumber(b, m.width)
		b.WriteByte('"')
		if m.dash != Solid {
			b.WriteString(` stroke-dasharray="` + string(m.dash) + `"`)
		}
	}
	if m.opacity > 0 {
		b.WriteString(` opacity="`)
		writeNumber(b, m.opacity)
		b.WriteByte('"')
	}
}

func (s *segment) write(b *strings.Builder) {
	b.WriteByte(s.op)
	n := 1
	switch s.op {
	case 'Z':
		n = 0
	case 'C':
		n = 3
	}
	for i := range n {
		if i > 0 {
			b.WriteByte(' ')
		}
		writeNumber(b, s.points[i].x)
		b.WriteByte(' ')
		writeNumber(b, s.points[i].y)
	}
}

// writeNumber writes x with at most one decimal, which is a tenth of a pixel.
func writeNumber(b *strings.Builder, x float64) {
	s := strconv.FormatFloat(x, 'f', 1, 64)
	b.WriteString(strings.TrimSuffix(s, ".0"))
}
