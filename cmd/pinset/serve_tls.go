package main

import (
	"context"
	"net"
	"net/netip"
	"strings"

	"pinset/internal/app"
	"pinset/internal/cli"
	"pinset/internal/lab"
	"pinset/internal/trust"
)

// openTrust opens the folder of the certificates.
func openTrust(ctx context.Context, farm *app.Farm, s cli.Serving) (*trust.Keeper, error) {
	dir, err := folder(s.TLSDir)
	if err != nil {
		return nil, err
	}
	settings, err := farm.Settings(ctx)
	if err != nil {
		return nil, err
	}
	k, err := trust.Open(trust.Options{Dir: dir, Farm: settings.Name, Hosts: func() []string { return reachedBy(ctx, farm, s) }, Now: clock})
	if err != nil {
		return nil, &lab.Problem{Kind: lab.Refused, Field: "tls", What: err.Error(), Mend: "nothing was changed; without --tls plain HTTP is spoken"}
	}
	return k, nil
}

// reachedBy lists the names and private addresses by which phones may reach
// this machine. What can not be found out now is left out: it is asked again.
func reachedBy(ctx context.Context, farm *app.Farm, s cli.Serving) []string {
	var out []string
	for _, h := range s.Hosts {
		out = append(out, strings.ToLower(strings.TrimSuffix(strings.TrimSpace(h), ".")))
	}
	if keep, err := farm.LabelSettings(ctx); err == nil && keep.Address != "" {
		_, host, _ := strings.Cut(keep.Address, "://")
		if name, _, err := net.SplitHostPort(host); err == nil {
			host = name
		}
		out = append(out, strings.ToLower(strings.Trim(host, "[]")))
	}
	addrs, err := net.InterfaceAddrs()
	if err != nil {
		return out
	}
	for _, a := range addrs {
		if p, err := netip.ParsePrefix(a.String()); err == nil && p.Addr().IsPrivate() {
			out = append(out, p.Addr().String())
		}
	}
	return out
}
