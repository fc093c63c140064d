package web

import (
	"bytes"
	"crypto/sha256"
	"embed"
	"encoding/hex"
	"fmt"
	"io/fs"
	"mime"
	"net/http"
	"path"
	"slices"
	"strings"
	"time"
)

//go:embed static
var staticFiles embed.FS

// assets are the files beside the pages, addressed by a checksum of their
// content, so that a browser may keep them for ever.
type assets struct {
	byPath map[string]asset  // "pinset.1a2b3c4d.css"
	paths  map[string]string // "pinset.css" to "/static/pinset.1a2b3c4d.css"
}

type asset struct {
	name string
	body []byte
}

// newAssets reads static/ of files. The sheets in static/css become one,
// pinset.css, in the order of their names.
func newAssets(files fs.FS) (*assets, error) {
	a := &assets{byPath: make(map[string]asset), paths: make(map[string]string)}
	names, err := fs.Glob(files, "static/*.*")
	if err != nil {
		return nil, err
	}
	for _, name := range names {
		body, err := fs.ReadFile(files, name)
		if err != nil {
			return nil, err
		}
		a.add(path.Base(name), body)
	}
	sheets, err := fs.Glob(files, "static/css/*.css")
	if err != nil {
		return nil, err
	}
	slices.Sort(sheets)
	var sheet bytes.Buffer
	for _, name := range sheets {
		body, err := fs.ReadFile(files, name)
		if err != nil {
			return nil, err
		}
		sheet.Write(body)
	}
	a.add("pinset.css", sheet.Bytes())
	return a, nil
}

func (a *assets) add(name string, body []byte) {
	sum := sha256.Sum256(body)
	ext := path.Ext(name)
	marked := strings.TrimSuffix(name, ext) + "." + hex.EncodeToString(sum[:4]) + ext
	a.byPath[marked] = asset{name, body}
	a.paths[name] = "/static/" + marked
}

// path returns the address of the asset called name.
func (a *assets) path(name string) (string, error) {
	p, ok := a.paths[name]
	if !ok {
		return "", fmt.Errorf("web: there is no asset %q", name)
	}
	return p, nil
}

// body returns the content of the asset called name.
func (a *assets) body(name string) []byte { return a.byPath[path.Base(a.paths[name])].body }

// getAsset serves GET /static/{file}.
func (s *server) getAsset(w http.ResponseWriter, r *http.Request) error {
	f, ok := s.assets.byPath[r.PathValue("file")]
	if !ok {
		return notFoundPage(r)
	}
	h := w.Header()
	h.Set("Content-Type", mime.TypeByExtension(path.Ext(f.name)))
	h.Set("Cache-Control", "public, max-age=31536000, immutable")
	http.ServeContent(w, r, f.name, time.Time{}, bytes.NewReader(f.body))
	return nil
}
