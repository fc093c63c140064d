package web

import (
	"fmt"
	"html/template"
)

// icons are Pinset's own, drawn on a grid of 24 with strokes only. Each
// stands beside a word.
var icons = map[string]string{
	// sections
	"today":    `<path d="M5 5.5h14V20H5zM5 10h14M9 3v4M15 3v4"/><circle cx="12" cy="15" r="1.3" fill="currentColor"/>`,
	"plan":     `<path d="M4 12h3.500c4 0 3-6 7-6H17M7.500 12c4 0 3 6 7 6H17"/><circle cx="19" cy="6" r="2"/><circle cx="19" cy="18" r="2"/>`,
	"trials":   `<circle cx="8.500" cy="12" r="5"/><circle cx="15.500" cy="12" r="5"/>`,
	"supplies": `<path d="m4 8 8-4 8 4v8.500l-8 4-8-4zM4 8l8 4 8-4M12 12v8.500M8 6l8 4"/>`,
	"cultures": `<circle cx="12" cy="12" r="8.500"/><circle cx="9.500" cy="10" r="2.500"/><circle cx="15" cy="13.500" r="1.500"/><path d="M10.500 16v.01"/>`,
	"shelf":    `<path d="M4 3.500v17M20 3.500v17M4 10.500h16M4 18.500h16M8 10.500V6h3.500v4.500M13.500 18.500V14H17v4.500"/>`,
	"find":     `<circle cx="10.500" cy="10.500" r="6"/><path d="m15 15 5 5"/>`,
	"cooks":    `<path d="M5 11h14v7a2 2 0 0 1-2 2H7a2 2 0 0 1-2-2zM5 14H2.500M19 14h2.500M6.500 11c.5-2.600 2.500-3.700 5.500-3.700s5 1.100 5.500 3.700M12 7.300V4M10 4h4"/>`,
	"crop":     `<path d="M4 20.500h16M8 20.500V14M12.500 20.500V11M17 20.500V15.500"/><path d="M8 12.500V10M12.500 9.500v-5M17 14v-2" stroke-width="3.500"/>`,
	"reckoner": `<path d="M5 3.500v17M19 3.500v17M5 7.500h14M5 12h14M5 16.500h14"/><circle cx="9" cy="7.500" r="1.600" fill="currentColor"/><circle cx="14.500" cy="12" r="1.600" fill="currentColor"/><circle cx="10.500" cy="16.500" r="1.600" fill="currentColor"/>`,
	"all":      `<path d="M9 6h11M9 12h11M9 18h11M4.500 6v.01M4.500 12v.01M4.500 18v.01"/>`,
	// things to do
	"lamp":  `<path d="M9.500 17.500h5M10.500 20.500h3M12 3.500a5.700 5.700 0 0 0-3.600 10.100c.8.700 1.200 1.300 1.300 2.300h4.600c.1-1 .5-1.600 1.300-2.300A5.700 5.700 0 0 0 12 3.500z"/>`,
	"undo":  `<path d="M8.500 4.500 4 9l4.500 4.500M4 9h10.500a5 5 0 0 1 0 10H9"/>`,
	"print": `<path d="M7.500 9V3.500h9V9M7.500 17H4V9h16v8h-3.500M7.500 14h9v6.500h-9z"/>`,
	"next":  `<path d="m9 5 7 7-7 7"/>`,
	"add":   `<path d="M12 5v14M5 12h14"/>`,
	"photo": `<path d="M3.500 7.500h4L9.500 5h5l2 2.500h4V19h-17z"/><circle cx="12" cy="13" r="3.500"/>`,
	"eye":   `<path d="M3 12c2.400-4.200 5.400-6.200 9-6.200s6.600 2 9 6.200c-2.400 4.200-5.400 6.200-9 6.200S5.400 16.200 3 12z"/><circle cx="12" cy="12" r="2.700"/>`,
	"weigh": `<path d="M4 20.500h16l-1.500-10h-13zM7 6h10M12 6v4.500M12 14v3"/>`,
	"drop":  `<path d="M12 3.500c3.500 4.300 5.200 7.300 5.200 9.700a5.200 5.200 0 0 1-10.400 0c0-2.400 1.700-5.400 5.200-9.700zM9.500 13.500a2.500 2.500 0 0 0 2.500 2.500"/>`,
	"sheet": `<path d="M6 3.500h8.500L19 8v12.500H6zM14.500 3.500V8H19M9 12h7M9 16h7"/>`,
	"codes": `<path d="M4 5h7v6H4zM13 5h7v6h-7zM4 13h7v6H4zM13 13h7v6h-7zM6.500 8h2M15.500 8h2M6.500 16h2M15.500 16h2"/>`,
	"gauge": `<path d="M4.500 16.500a8 8 0 1 1 15 0M12 13l3.500-4M9 20h6"/>`,
	"heat":  `<path d="M12 3.500c.5 3.500 5 5.500 5 10.300a5 5 0 0 1-10 0c0-2 1-3.300 2.200-4.300.3 1.500 1 2.300 2 2.700-.4-3 0-6 .8-8.700z"/>`,
	"off":   `<path d="M12 3.500V12M7 6.500a7.500 7.500 0 1 0 10 0"/>`,
	"open":  `<path d="M5 13h14v5.500a2 2 0 0 1-2 2H7a2 2 0 0 1-2-2zM4.500 9.500l14-4M11.300 7.500l-.6-2"/>`,
	"dice":  `<path d="M5 5h14v14H5z"/><path d="M9 9v.01M15 9v.01M12 12v.01M9 15v.01M15 15v.01" stroke-width="2.500"/>`,
	"door":  `<path d="M6 20.500v-17h12v17M3.500 20.500h17M14.500 12v.01"/>`,
	"lock":  `<path d="M5.500 11h13v9.500h-13zM8.500 11V8a3.500 3.500 0 0 1 7 0v3M12 14.500v2.500"/>`,
	"scan":  `<path d="M4 8.500V4h4.500M15.500 4H20v4.500M20 15.500V20h-4.500M8.500 20H4v-4.500M8 8h3v3H8zM13 13h3v3h-3zM13 8h3M8 13v3"/>`,
	"file":  `<path d="M12 15V4M7.500 8.500 12 4l4.500 4.500M4.500 14v6.500h15V14"/>`,
	"set":   `<path d="M4 7h9M17 7h3M4 17h3M11 17h9"/><circle cx="15" cy="7" r="2"/><circle cx="9" cy="17" r="2"/>`,
	// signs: a ring to know, a triangle for doubt, an octagon for danger
	"note": `<circle cx="12" cy="12" r="9"/><path d="M12 11v5.500M12 7.500v.01" stroke-width="2.250"/>`,
	"care": `<path d="M12 3.500 22 20.500H2z"/><path d="M12 10v4.500M12 17.500v.01" stroke-width="2.250"/>`,
	"stop": `<path d="M8 2.500h8L21.500 8v8L16 21.500H8L2.500 16V8z" fill="currentColor"/><path d="M12 7v6M12 16.800v.01" stroke="var(--stop-soft)" stroke-width="2.500"/>`,
	"bad":  `<circle cx="12" cy="12" r="9"/><path d="M12 7v6M12 16.500v.01" stroke-width="2.250"/>`,
}

// icon returns the icon called name. It is decoration: a word says the same.
func icon(name string) (template.HTML, error) {
	paths, ok := icons[name]
	if !ok {
		return "", fmt.Errorf("web: there is no icon %q", name)
	}
	return template.HTML(`<svg class="i" viewBox="0 0 24 24" aria-hidden="true">` + paths + `</svg>`), nil
}

// armShapes are the marks of the arms, in order, of about equal area. With
// the letter they say which arm it is without colour.
var armShapes = []string{
	`<circle cx="8" cy="8" r="5.600"/>`,
	`<path d="M3 3h10v10H3z"/>`,
	`<path d="M8 1.300 15 13.600H1z"/>`,
	`<path d="M8 .8 15.200 8 8 15.200.8 8z"/>`,
	`<path d="M5.700 1.500h4.600v4.200h4.200v4.600h-4.200v4.200H5.700v-4.200H1.500V5.700h4.200z"/>`,
	`<path d="M2.300 1.500h11.400L8.900 8l4.800 6.500H2.300L7.100 8z"/>`,
}

// armLetter returns the letter of the n-th arm, from 0.
func armLetter(n int) string { return string(rune('A' + n%26)) }

// armMark returns the shape and letter of the n-th arm, from 0.
func armMark(n int) template.HTML {
	shape, tone := armShapes[n%len(armShapes)], string(rune('a'+n%len(armShapes)))
	return template.HTML(`<span class="armkey"><svg class="a` + tone + `" viewBox="0 0 16 16" fill="currentColor" aria-hidden="true">` +
		shape + `</svg><b>` + armLetter(n) + `</b></span>`)
}
