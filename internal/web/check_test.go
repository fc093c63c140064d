package web

import (
	"slices"
	"strings"
	"testing"

	"golang.org/x/net/html"
)

// Small checkers of HTML. They look for elements, never at whole pages.

// doc is a parsed page.
type doc struct {
	*html.Node
	t    testing.TB
	what string
}

// doc parses the answer.
func (a answer) doc() doc {
	a.t.Helper()
	n, err := html.Parse(strings.NewReader(a.Body.String()))
	if err != nil {
		a.t.Fatalf("%s: %v", a.what, err)
	}
	return doc{n, a.t, a.what}
}

// match says which elements are meant.
type match func(*html.Node) bool

// tag matches elements by name.
func tag(name string) match { return func(n *html.Node) bool { return n.Data == name } }

// with matches elements whose attribute key has the value.
func with(key, value string) match {
	return func(n *html.Node) bool { return attr(n, key) == value }
}

// has matches elements that bear the attribute key.
func has(key string) match {
	return func(n *html.Node) bool {
		return slices.ContainsFunc(n.Attr, func(a html.Attribute) bool { return a.Key == key })
	}
}

// class matches elements of a class.
func class(name string) match {
	return func(n *html.Node) bool { return slices.Contains(strings.Fields(attr(n, "class")), name) }
}

// says matches elements whose text holds s.
func says(s string) match { return func(n *html.Node) bool { return strings.Contains(text(n), s) } }

// all returns the elements below d that all of ms match.
func (d doc) all(ms ...match) []*html.Node {
	var out []*html.Node
	for n := range d.Descendants() {
		if n.Type == html.ElementNode && !slices.ContainsFunc(ms, func(m match) bool { return !m(n) }) {
			out = append(out, n)
		}
	}
	return out
}

// one returns the only element that all of ms match.
func (d doc) one(what string, ms ...match) *html.Node {
	d.t.Helper()
	found := d.all(ms...)
	if len(found) != 1 {
		d.t.Fatalf("%s: %d elements are %s, want one", d.what, len(found), what)
	}
	return found[0]
}

// want fails the test unless an element is what ms say.
func (d doc) want(what string, ms ...match) {
	d.t.Helper()
	if len(d.all(ms...)) == 0 {
		d.t.Errorf("%s: no %s", d.what, what)
	}
}

// none fails the test if an element is what ms say.
func (d doc) none(what string, ms ...match) {
	d.t.Helper()
	if n := d.all(ms...); len(n) > 0 {
		d.t.Errorf("%s: %s: %q", d.what, what, clipped(text(n[0]), 200))
	}
}

func attr(n *html.Node, key string) string {
	for _, a := range n.Attr {
		if a.Key == key {
			return a.Val
		}
	}
	return ""
}

// text returns the words of n with single spaces.
func text(n *html.Node) string {
	var b strings.Builder
	for d := range n.Descendants() {
		if d.Type == html.TextNode {
			b.WriteString(d.Data + " ")
		}
	}
	return strings.Join(strings.Fields(b.String()), " ")
}
