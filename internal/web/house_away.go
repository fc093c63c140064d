package web

import "net/http"

// awayPage stands for a page that a phone asks for where there is no network.
type awayPage struct{ frame }

func (awayPage) template() string { return "house/away" }

// getAway serves GET /away. The worker keeps it before anybody is let in, so
// it shows nothing of the farm.
func (s *server) getAway(w http.ResponseWriter, r *http.Request) error {
	p := &awayPage{frame{Title: "No network", Bare: true, Room: true}}
	s.fillPlain(r, &p.frame)
	p.Did = nil
	return s.write(w, http.StatusOK, p)
}

// getWorker serves GET /worker.js: a worker sees the pages below the folder
// that its script lies in.
func (s *server) getWorker(w http.ResponseWriter, _ *http.Request) error {
	h := w.Header()
	h.Set("Content-Type", "text/javascript; charset=utf-8")
	h.Set("Cache-Control", "no-cache")
	_, err := w.Write(s.assets.body("worker.js"))
	return err
}
