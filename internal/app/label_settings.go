package app

import (
	"context"
	"net/netip"
	"net/url"
	"strings"

	"pinset/internal/figure"
	"pinset/internal/lab"
	"pinset/internal/store"
)

// The names of the settings of labels and rounds.
const (
	settingAddress   = "address"       // of the pages, as phones reach them
	settingLabelGrid = "label_grid"    // as package label writes it
	settingLabelDots = "label_dots"    // of the printer, an inch
	settingLabelFit  = "label_fit"     // what the calibration page measured
	settingWalk      = "walking_order" // names of shelves, one a line
)

// LabelSettings are what is kept for printing labels, each "" while it was
// not said. Package label reads all but Address.
type LabelSettings struct {
	Address string // "http://192.168.1.20:8470"
	Grid    string
	Dots    string
	Fit     string
}

var labelSettings = []struct {
	name string
	of   func(*LabelSettings) *string
}{
	{settingAddress, func(s *LabelSettings) *string { return &s.Address }},
	{settingLabelGrid, func(s *LabelSettings) *string { return &s.Grid }},
	{settingLabelDots, func(s *LabelSettings) *string { return &s.Dots }},
	{settingLabelFit, func(s *LabelSettings) *string { return &s.Fit }},
}

// LabelSettings returns what is kept for printing labels.
func (f *Farm) LabelSettings(ctx context.Context) (LabelSettings, error) {
	var s LabelSettings
	err := f.store.Read(ctx, func(r store.Reader) error {
		for _, set := range labelSettings {
			v, err := r.Setting(ctx, set.name)
			if err != nil {
				return err
			}
			*set.of(&s) = v
		}
		return nil
	})
	return s, err
}

// SaveLabelSettings keeps all of s; what is "" is forgotten.
func (f *Farm) SaveLabelSettings(ctx context.Context, s LabelSettings) error {
	if s.Address != "" {
		a, err := ParseAddress(s.Address)
		if err != nil {
			return err
		}
		s.Address = a.Text
	}
	return f.store.Write(ctx, func(w store.Writer) error {
		for _, set := range labelSettings {
			if err := w.SetSetting(ctx, set.name, *set.of(&s)); err != nil {
				return err
			}
		}
		return nil
	})
}

// Address is where phones reach the pages.
type Address struct {
	Text     string // "http://192.168.1.20:8470", without a slash at the end
	Cautions []figure.Caution
}

// ParseAddress reads the address of the pages as typed; "http://" may be left
// out. What a phone can never reach, such as 127.0.0.1, is an Invalid
// Problem; a name or number that may not last is a caution.
func ParseAddress(typed string) (Address, error) {
	typed = strings.TrimRight(strings.TrimSpace(typed), "/")
	const how = "write it as a phone opens it, such as http://192.168.1.20:8470"
	if !strings.Contains(typed, "://") {
		typed = "http://" + typed
	}
	u, err := url.Parse(typed)
	if err != nil || u.Hostname() == "" || strings.HasSuffix(u.Host, ":") || u.Scheme != "http" && u.Scheme != "https" {
		return Address{}, lab.Invalidf("address", how, "%q is no address of a page", figure.Clip(typed, 80))
	}
	if u.Path != "" || u.RawQuery != "" || u.Fragment != "" || u.User != nil {
		return Address{}, lab.Invalidf("address", "leave out what follows the name or number and its port", "%q is more than an address", figure.Clip(typed, 80))
	}
	host := strings.ToLower(u.Hostname())
	if len(host) > 100 || strings.Trim(host, "abcdefghijklmnopqrstuvwxyz0123456789-.:") != "" {
		return Address{}, lab.Invalidf("address", "name this machine in plain letters, digits and dashes", "%q does not fit into a square code", figure.Clip(host, 80))
	}
	a := Address{Text: u.Scheme + "://" + strings.ToLower(u.Host)}
	ip, err := netip.ParseAddr(host)
	switch {
	case host == "localhost" || err == nil && (ip.IsLoopback() || ip.IsUnspecified()):
		return Address{}, lab.Invalidf("address", "write the number or name by which other machines reach this one", "%s is each phone itself, not this machine", host)
	case strings.HasSuffix(host, ".local"):
		a.Cautions = append(a.Cautions, figure.Caution{
			Code: "local_name", Title: "Many phones can not open a name that ends in .local", Weight: figure.Care,
			Text: "Android phones often do not ask for such names. Use a name that the router serves, or a number that the router keeps for this machine.",
		})
	case err == nil && ip.IsLinkLocalUnicast():
		a.Cautions = append(a.Cautions, figure.Caution{
			Code: "no_router", Title: "This number was not given by a router", Weight: figure.Care,
			Text: "It changes, and phones do not reach it. Connect this machine to the router, then look up its number again.",
		})
	case err == nil:
		a.Cautions = append(a.Cautions, figure.Caution{
			Code: "number", Title: "Labels rest on this number", Weight: figure.Note,
			Text: "Reserve it in the router for this machine. An unreserved number changes some day, and then a phone's own camera opens nothing from old labels; Pinset's own reader and the typed code still do.",
		})
	}
	return a, nil
}
