package web

import (
	"compress/gzip"
	"io"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"
)

func TestPagesComeSqueezed(t *testing.T) {
	page := strings.Repeat("<p>jar</p>", 1000)
	h := squeeze(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		w.Header().Set("Content-Type", r.Header.Get("X-Kind"))
		w.WriteHeader(http.StatusTeapot)
		_, _ = io.WriteString(w, page)
	}))
	for _, c := range []struct {
		accept, kind string
		squeezed     bool
	}{
		{"gzip, deflate", "text/html; charset=utf-8", true},
		{"br;q=1, gzip;q=0.8", "text/css", true},
		{"", "text/html", false},
		{"gzip;q=0", "text/html", false},
		{"gzip", "image/png", false},
	} {
		r := httptest.NewRequest(http.MethodGet, "/", nil)
		r.Header.Set("X-Kind", c.kind)
		r.Header.Set("Accept-Encoding", c.accept)
		w := httptest.NewRecorder()
		h.ServeHTTP(w, r)
		if w.Code != http.StatusTeapot {
			t.Errorf("%+v: status %d", c, w.Code)
		}
		if got := w.Header().Get("Content-Encoding") == "gzip"; got != c.squeezed {
			t.Errorf("%+v: squeezed %v", c, got)
			continue
		}
		var body io.Reader = w.Body
		if c.squeezed {
			if w.Body.Len() > len(page)/5 {
				t.Errorf("%+v: %d bytes of %d are left", c, w.Body.Len(), len(page))
			}
			gz, err := gzip.NewReader(w.Body)
			if err != nil {
				t.Fatal(err)
			}
			body = gz
		}
		if got, err := io.ReadAll(body); err != nil || string(got) != page {
			t.Errorf("%+v: the page does not come back whole: %v", c, err)
		}
	}
}
