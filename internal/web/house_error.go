package web

import (
	"crypto/rand"
	"errors"
	"net/http"
	"regexp"
	"strconv"

	"pinset/internal/lab"
)

// errorPage says what is wrong and what to do.
type errorPage struct {
	frame
	What, Mend string
	Number     string // of the fault in the log, "" if it is not ours
}

func (errorPage) template() string { return "house/error" }

// statuses of the kinds of Problem.
var statuses = map[lab.Kind]int{
	lab.Invalid:  http.StatusUnprocessableEntity,
	lab.NotFound: http.StatusNotFound,
	lab.Conflict: http.StatusConflict,
	lab.Refused:  http.StatusConflict,
	lab.Busy:     http.StatusServiceUnavailable,
}

var titles = map[lab.Kind]string{
	lab.Invalid:  "That can not be read",
	lab.NotFound: "Nothing is called that",
	lab.Conflict: "That contradicts the records",
	lab.Refused:  "Held back",
	lab.Busy:     "The records are busy",
}

// answer turns the error of a handler into a page.
func (s *server) answer(w http.ResponseWriter, r *http.Request, err error) {
	var tooLarge *http.MaxBytesError
	if errors.As(err, &tooLarge) {
		s.oops(w, r, http.StatusRequestEntityTooLarge, "Too much at once",
			"what was sent is larger than "+strconv.FormatInt(tooLarge.Limit>>10, 10)+" kB", "send less; nothing was written")
		return
	}
	if p, ok := lab.AsProblem(err); ok {
		if p.Kind == lab.Busy {
			w.Header().Set("Retry-After", "2")
		}
		s.oops(w, r, statuses[p.Kind], titles[p.Kind], p.What, p.Mend)
		return
	}
	if r.Context().Err() != nil {
		s.log.Debug("caller left", "path", loggedPath(r), "error", err)
		return
	}
	number := rand.Text()[:6]
	s.log.Error("fault", "number", number, "method", r.Method, "path", loggedPath(r), "error", err)
	s.faultPage(w, r, number)
}

// roomPaths are the addresses that are opened in the grow room.
var roomPaths = regexp.MustCompile(`^/(rounds|scan|shelves/|[jJ]/|batches/[^/]+/(rounds|check|photos))`)

// inRoom reports whether r came from a page of the grow room: what went wrong
// there must not light the room up.
func inRoom(r *http.Request) bool {
	return roomPaths.MatchString(r.URL.Path) || roomPaths.MatchString(hereOf(r))
}

// oops answers with a page that says what is wrong. It needs no records.
func (s *server) oops(w http.ResponseWriter, r *http.Request, status int, title, what, mend string) {
	p := &errorPage{frame: frame{Title: title, Room: inRoom(r)}, What: sentence(what), Mend: sentence(mend)}
	s.fillPlain(r, &p.frame)
	p.Did = nil
	if err := s.write(w, status, p); err != nil {
		s.log.Error("error page", "error", err)
		http.Error(w, what+"; "+mend, status)
	}
}

func (s *server) fault(w http.ResponseWriter, r *http.Request) { s.faultPage(w, r, "") }

func (s *server) faultPage(w http.ResponseWriter, r *http.Request, number string) {
	p := &errorPage{
		frame: frame{Title: "A fault of Pinset", Room: inRoom(r)}, Number: number,
		What: "Pinset could not do this. What was entered before is kept.",
		Mend: "Try once more. If it stays, look up the number in the log.",
	}
	s.fillPlain(r, &p.frame)
	p.Did = nil
	if err := s.write(w, http.StatusInternalServerError, p); err != nil {
		http.Error(w, p.What, http.StatusInternalServerError)
	}
}

// notFoundPage is the error for an address that leads nowhere.
func notFoundPage(r *http.Request) error {
	return lab.NotFoundf("go to Today, or find it by its code", "no page is at %s", clipped(r.URL.Path, 80))
}

// getNowhere serves every address that no other route does.
func (s *server) getNowhere(_ http.ResponseWriter, r *http.Request) error { return notFoundPage(r) }

// getHealth serves GET /healthz: whether the records can be read.
func (s *server) getHealth(w http.ResponseWriter, r *http.Request) error {
	if _, err := s.farm.Settings(r.Context()); err != nil {
		s.log.Error("health", "error", err)
		http.Error(w, "the records can not be read", http.StatusServiceUnavailable)
		return nil
	}
	w.Header().Set("Content-Type", "text/plain; charset=utf-8")
	w.Header().Set("Cache-Control", "no-store")
	_, err := w.Write([]byte("ok\n"))
	return err
}
