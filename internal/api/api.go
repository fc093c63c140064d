// Package api serves the records and the calculators to programs, as JSON
// under /api/v1, described by an OpenAPI 3.1 document that it serves too.
//
// Each operation calls one use case of package app. Errors are RFC 9457
// problems. A post carries its own identifier in Idempotency-Key: sent twice
// it is written once. Who may come in is settled by package web.
package api

import (
	"context"
	"errors"
	"net/http"

	"github.com/danielgtaylor/huma/v2"
	"github.com/danielgtaylor/huma/v2/adapters/humago"

	"pinset/internal/app"
	"pinset/internal/figure"
	"pinset/internal/lab"
)

// Prefix is where the operations are.
const Prefix = "/api/v1"

// New returns the handler of all operations, on paths that begin with Prefix.
func New(farm *app.Farm, version string) (http.Handler, error) {
	mux := http.NewServeMux()
	s := &service{farm: farm}
	if err := s.describe(humago.New(mux, config(version))); err != nil {
		return nil, err
	}
	return mux, nil
}

// service answers the operations.
type service struct{ farm *app.Farm }

// config is that of the library without what it adds on its own: a page that
// loads a script from elsewhere, and links to schemas in each body.
func config(version string) huma.Config {
	c := huma.DefaultConfig("Pinset", version)
	c.Info.Description = "Records and calculators of one farm. Times are RFC 3339, days 2006-01-02, masses g, volumes mL unless a key says otherwise."
	c.OpenAPIPath, c.DocsPath, c.SchemasPath = Prefix+"/openapi", "", ""
	c.CreateHooks = nil
	c.Components.SecuritySchemes = map[string]*huma.SecurityScheme{
		"token": {Type: "http", Scheme: "bearer", Description: "A token of pinset token add. On the machine itself, served to nobody else, none is asked."},
	}
	c.Security = []map[string][]string{{"token": {}}}
	return c
}

// describe registers every operation.
func (s *service) describe(to huma.API) error {
	s.describeRecords(to)
	s.describeEntries(to)
	s.describeSheets(to)
	s.describePhotos(to)
	return s.describeCalculators(to)
}

// body is an answer that is nothing but its body.
type body[T any] struct{ Body T }

// get registers an operation that reads.
func get[In, Out any](to huma.API, path, id, summary string, answer func(context.Context, *In) (Out, error)) {
	huma.Register(to, huma.Operation{
		OperationID: id, Method: http.MethodGet, Path: Prefix + path, Summary: summary,
		Errors: []int{http.StatusBadRequest, http.StatusUnauthorized, http.StatusNotFound},
	}, func(ctx context.Context, in *In) (*body[Out], error) {
		out, err := answer(ctx, in)
		if err != nil {
			return nil, problem(err)
		}
		return &body[Out]{out}, nil
	})
}

// mostBytes bounds what one post carries.
const mostBytes = 256 << 10

// post registers an operation that writes, or that computes from a body.
func post[In, Out any](to huma.API, path, id, summary string, answer func(context.Context, *In) (Out, error)) {
	huma.Register(to, huma.Operation{
		OperationID: id, Method: http.MethodPost, Path: Prefix + path, Summary: summary, MaxBodyBytes: mostBytes, DefaultStatus: http.StatusOK,
		Errors: []int{http.StatusBadRequest, http.StatusUnauthorized, http.StatusForbidden, http.StatusNotFound, http.StatusConflict},
	}, func(ctx context.Context, in *In) (*body[Out], error) {
		out, err := answer(ctx, in)
		if err != nil {
			return nil, problem(err)
		}
		return &body[Out]{out}, nil
	})
}

// statuses are what kinds of problems are in HTTP.
var statuses = map[lab.Kind]int{
	lab.Invalid: http.StatusUnprocessableEntity, lab.NotFound: http.StatusNotFound, lab.Conflict: http.StatusConflict,
	lab.Busy: http.StatusServiceUnavailable, lab.Refused: http.StatusForbidden,
}

// problem returns err as RFC 9457 has it: what is wrong is the detail, what to
// do stands beside it, with the field at fault. What is no problem for people
// is a fault of ours, and its text stays here.
func problem(err error) error {
	var fault *figure.Fault
	if errors.As(err, &fault) {
		return huma.NewError(http.StatusUnprocessableEntity, fault.What, &huma.ErrorDetail{Location: "body." + fault.Field, Message: fault.Mend})
	}
	p, ok := lab.AsProblem(err)
	if !ok {
		return huma.NewError(http.StatusInternalServerError, "Pinset could not do this; what was entered before is kept")
	}
	status, known := statuses[p.Kind]
	if !known {
		status = http.StatusUnprocessableEntity
	}
	detail := &huma.ErrorDetail{Message: p.Mend}
	if p.Field != "" {
		detail.Location = "body." + p.Field
	}
	return huma.NewError(status, p.What, detail)
}
