package api

import (
	"context"
	"encoding/json"
	"fmt"
	"net/http"

	"github.com/danielgtaylor/huma/v2"

	"pinset/internal/reckoner"
)

// describeCalculators registers an operation for each calculator. What they
// take and give is the same as on the command line; their own schemas are put
// into the document.
func (s *service) describeCalculators(to huma.API) error {
	for _, c := range reckoner.All() {
		schema, err := bodySchema(c)
		if err != nil {
			return err
		}
		op := huma.Operation{
			OperationID: "calc-" + c.Name, Method: http.MethodPost, Path: Prefix + "/calc/" + c.Name, Summary: c.Title, Description: c.Does,
			MaxBodyBytes: mostCalcBytes, DefaultStatus: http.StatusOK, SkipValidateBody: true, // the calculator says what is wrong, and the nearest key
			Errors: []int{http.StatusBadRequest, http.StatusUnauthorized},
			RequestBody: &huma.RequestBody{Required: true, Content: map[string]*huma.MediaType{
				"application/json": {Schema: &huma.Schema{Type: "object", Extensions: schema}},
			}},
		}
		huma.Register(to, op, func(_ context.Context, in *struct{ RawBody []byte }) (*body[answer], error) {
			got, err := c.Calculate(in.RawBody)
			if err != nil {
				return nil, problem(err)
			}
			out, err := asAnswer(got)
			return &body[answer]{out}, err
		})
	}
	return nil
}

// mostCalcBytes bounds a table of rows.
const mostCalcBytes = 8 << 20

// answer is what every calculator gives.
type answer struct {
	Result   any   `json:"result"`
	Cautions []any `json:"cautions"`
	Working  []any `json:"working"`
}

// asAnswer turns a calculator's answer, whose result has a type of its own,
// into one that any of them can be. A figure that can not be said stays null.
func asAnswer(got any) (answer, error) {
	var out answer
	raw, err := json.Marshal(got)
	if err == nil {
		err = json.Unmarshal(raw, &out)
	}
	if err != nil {
		return out, fmt.Errorf("answer of a calculator: %w", err)
	}
	return out, nil
}

// bodySchema returns the schema of what c takes, key by key.
func bodySchema(c reckoner.Calculator) (map[string]any, error) {
	schema, err := c.Schema()
	if err != nil {
		return nil, err
	}
	raw, err := json.Marshal(schema)
	if err != nil {
		return nil, err
	}
	var keys map[string]any
	if err := json.Unmarshal(raw, &keys); err != nil {
		return nil, err
	}
	delete(keys, "type")
	return keys, nil
}
