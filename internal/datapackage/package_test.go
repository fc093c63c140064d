package datapackage

import (
	"archive/zip"
	"bytes"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"testing/fstest"
	"time"

	"pinset/internal/lab"
)

func sample(t testing.TB) *Package {
	t.Helper()
	p := New("Oats or millet?", "Oats or millet?", "", Program, Format, time.Date(2026, 5, 4, 0, 0, 0, 0, time.UTC))
	fields := []Field{{Name: "jar", Type: "string"}, {Name: "grams", Type: "number", Unit: "g"}}
	if err := p.AddTable(Table{Name: "jars", Title: "Jars", Fields: fields, Key: []string{"jar"}, Rows: [][]string{{"B1·1", "3"}, {"B1·2", "4"}}}); err != nil {
		t.Fatal(err)
	}
	if err := p.AddJSON("plan", "Plan", "", map[string]int{"a": 1}); err != nil {
		t.Fatal(err)
	}
	if err := p.Seal(); err != nil {
		t.Fatal(err)
	}
	return p
}

func zipped(t testing.TB, files map[string][]byte, mode fs.FileMode) []byte {
	t.Helper()
	var b bytes.Buffer
	z := zip.NewWriter(&b)
	for name, data := range files {
		h := &zip.FileHeader{Name: name, Method: zip.Deflate}
		h.SetMode(mode)
		w, err := z.CreateHeader(h)
		if err == nil {
			_, err = w.Write(data)
		}
		if err != nil {
			t.Fatal(err)
		}
	}
	if err := z.Close(); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

func refused(t *testing.T, what string, err error, says string) {
	t.Helper()
	if p, ok := lab.AsProblem(err); !ok || p.Mend == "" || !strings.Contains(err.Error(), says) {
		t.Errorf("%s: %v, want a Problem that says %q", what, err, says)
	}
}

func TestZipsOfStrangersAreRefused(t *testing.T) {
	raw := sample(t).Raw()
	for what, x := range map[string]struct {
		data []byte
		says string
	}{
		"no zip":    {[]byte("jar,grams"), "no zip file"},
		"traversal": {zipped(t, map[string][]byte{DescriptorName: raw, "../jars.csv": nil}, 0o644), "can not be the name"},
		"absolute":  {zipped(t, map[string][]byte{DescriptorName: raw, "/etc/jars.csv": nil}, 0o644), "can not be the name"},
		"a link":    {zipped(t, map[string][]byte{DescriptorName: raw}, 0o777|fs.ModeSymlink), "no plain file"},
		"a bomb":    {zipped(t, map[string][]byte{DescriptorName: raw, "jars.csv": make([]byte, MostBytes+1)}, 0o644), "more than 32 MB"},
		"a program": {zipped(t, map[string][]byte{DescriptorName: raw, "run.exe": nil}, 0o644), "can not be the name"},
		"no rank":   {zipped(t, map[string][]byte{"jars.csv": nil}, 0o644), "there is no datapackage.json"},
		"too large": {make([]byte, MostZipBytes+1), "16 MB at most"},
	} {
		_, err := FromZip(x.data)
		refused(t, what, err, x.says)
	}
}

func TestFoldersOfStrangersAreRefused(t *testing.T) {
	write := func() string {
		dir, p := t.TempDir(), sample(t)
		p.Files[DescriptorName] = p.Raw()
		for name, data := range p.Files {
			if err := os.WriteFile(filepath.Join(dir, name), data, 0o600); err != nil {
				t.Fatal(err)
			}
		}
		return dir
	}
	dir := write()
	p, err := Read(os.DirFS(dir))
	if err != nil || len(p.Altered()) != 0 {
		t.Fatalf("as written: %v, %v", err, p.Altered())
	}
	if err := os.Rename(filepath.Join(dir, "jars.csv"), filepath.Join(t.TempDir(), "jars.csv")); err != nil {
		t.Fatal(err)
	}
	if err := os.Symlink("/etc/hostname", filepath.Join(dir, "jars.csv")); err != nil {
		t.Fatal(err)
	}
	_, err = Read(os.DirFS(dir))
	refused(t, "a link", err, "no plain file")
	dir = write()
	if err := os.WriteFile(filepath.Join(dir, "more.csv"), nil, 0o600); err != nil {
		t.Fatal(err)
	}
	_, err = Read(os.DirFS(dir))
	refused(t, "a file more", err, "not part of this package")
}

func TestAlteredRowsAreNamed(t *testing.T) {
	p := sample(t)
	p.Files["jars.csv"] = bytes.Replace(p.Files["jars.csv"], []byte("B1·2,4"), []byte("B1·2,9"), 1)
	d := p.Altered()
	if len(d) != 1 || d[0].Row != 3 || d[0].File != "jars.csv" {
		t.Errorf("one changed row: %v", d)
	}
}

// A byte of the description that was changed is named too, wherever it lies
// that the description can still be read.
func TestAlteredDescriptionIsNamed(t *testing.T) {
	p := sample(t)
	raw, read := p.Raw(), 0
	for i, c := range raw {
		if c < '0' || c > '9' {
			continue
		}
		changed := bytes.Clone(raw)
		changed[i] = '0' + (c-'0'+1)%10
		q, err := Read(fstest.MapFS{DescriptorName: {Data: changed}, "jars.csv": {Data: p.Files["jars.csv"]}, "plan.json": {Data: p.Files["plan.json"]}})
		if err != nil {
			continue // it says so already
		}
		read++
		if d := q.Altered(); len(d) == 0 || d[0].File != DescriptorName {
			t.Fatalf("byte %d, %q for %q: %v", i, changed[i], c, d)
		}
	}
	if read < 100 {
		t.Errorf("%d changes were read only", read)
	}
	q := *p
	q.raw = bytes.Replace(raw, []byte(`"seal"`), []byte(`"other"`), 1)
	q.Sealed = ""
	if d := q.Altered(); len(d) != 1 {
		t.Errorf("without a seal: %v", d)
	}
}

func FuzzFromZip(f *testing.F) {
	data, err := sample(f).Zip()
	if err != nil {
		f.Fatal(err)
	}
	f.Add(data)
	f.Add([]byte("PK\x03\x04"))
	f.Fuzz(func(t *testing.T, data []byte) {
		if p, err := FromZip(data); err == nil {
			p.Altered()
		}
	})
}

// A description and a table of a stranger never do more than be refused.
func FuzzRead(f *testing.F) {
	p := sample(f)
	f.Add(p.Raw(), p.Files["jars.csv"])
	f.Add(p.Raw(), []byte("jar,grams\n\"B1\n,"))
	f.Add(bytes.Replace(p.Raw(), []byte(`"bytes": `), []byte(`"bytes": -`), 1), p.Files["jars.csv"])
	fields := []Field{{Name: "jar"}, {Name: "grams"}}
	f.Fuzz(func(t *testing.T, raw, table []byte) {
		p, err := Read(fstest.MapFS{DescriptorName: {Data: raw}, "jars.csv": {Data: table}, "plan.json": {Data: []byte("{}\n")}})
		if err == nil {
			for _, d := range p.Altered() {
				if d.File == "" || d.What == "" {
					t.Errorf("a difference without a place: %+v", d)
				}
			}
			_, err = p.Table("jars", fields)
		}
		if _, plain := lab.AsProblem(err); err != nil && !plain {
			t.Errorf("no plain answer: %v", err)
		}
	})
}
