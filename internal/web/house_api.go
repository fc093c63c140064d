package web

import (
	"fmt"
	"net/http"
	"strings"
	"time"

	"pinset/internal/api"
	"pinset/internal/app"
	"pinset/internal/lab"
)

// programs serves what programs ask for under /api/v1. Its operations stand in
// the OpenAPI document, and each is tried by a test of package api.
func (s *server) programs(w http.ResponseWriter, r *http.Request) error {
	w.Header().Set("Cache-Control", "no-store")
	s.api.ServeHTTP(w, r)
	return nil
}

// admitsProgram settles whether r may ask what it asks, and answers it if not:
// with a token of the right role; without one where a person was let in, or
// where the pages are served to this machine alone.
func (s *server) admitsProgram(w http.ResponseWriter, r *http.Request) bool {
	token, given := strings.CutPrefix(r.Header.Get("Authorization"), "Bearer ")
	if !given {
		r, in, err := s.admit(r)
		if err == nil && in && callerOf(r).Role.May(leastWithoutToken(r)) {
			return true
		}
		refuseProgram(w, http.StatusUnauthorized, "a token is needed; make one with pinset token add")
		return false
	}
	t, known, err := s.farm.TokenFor(r.Context(), token)
	switch {
	case err != nil:
		s.log.Error("tokens", "error", err)
		refuseProgram(w, http.StatusInternalServerError, "the tokens can not be read just now")
	case !known:
		refuseProgram(w, http.StatusUnauthorized, "this token is not known, or was ended")
	case writes(r) && t.Role != app.MayEnter:
		refuseProgram(w, http.StatusForbidden, "this token may read only; make one that may enter")
	case writes(r) && s.door != nil && !s.door.programs.take(t.Name, s.now()):
		retryAfter(w, time.Minute)
		refuseProgram(w, http.StatusTooManyRequests, fmt.Sprintf("this token sent more than %d entries within a minute; wait a minute, then send it again, or send rows together", programsEach))
	default:
		return true
	}
	return false
}

// leastWithoutToken is the role of a device that asks what programs ask. What
// programs enter names who did it, so hands enter on the pages, where their
// own initials stand beside it.
func leastWithoutToken(r *http.Request) lab.Role {
	if writes(r) {
		return lab.Owner
	}
	return lab.Viewer
}

// writes reports whether r asks for more than to see or to compute.
func writes(r *http.Request) bool {
	return r.Method != http.MethodGet && !strings.HasPrefix(r.URL.Path, api.Prefix+"/calc/")
}

// refuseProgram answers as RFC 9457 has it.
func refuseProgram(w http.ResponseWriter, status int, detail string) {
	w.Header().Set("Content-Type", "application/problem+json")
	if status == http.StatusUnauthorized {
		w.Header().Set("WWW-Authenticate", "Bearer")
	}
	w.WriteHeader(status)
	// The texts are ours and hold nothing to escape.
	fmt.Fprintf(w, `{"title":%q,"status":%d,"detail":%q}`, http.StatusText(status), status, detail)
}
