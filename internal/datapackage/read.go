package datapackage

import (
	"archive/zip"
	"bytes"
	"encoding/csv"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"regexp"
	"slices"
	"strings"
	"unicode/utf8"

	"pinset/internal/figure"
	"pinset/internal/lab"
)

// Bounds of what is read: a trial of 10 000 jars has a few MB.
const (
	MostBytes     = 32 << 20 // of all files of a package, unpacked
	MostZipBytes  = 16 << 20
	mostFiles     = 32
	mostRows      = 200_000
	descriptorMax = 4 << 20
)

// safePath is how a file may be called: no folder, no hidden file.
var safePath = regexp.MustCompile(`^[a-z0-9][a-z0-9_-]{0,60}\.(csv|json)$`)

const askAgain = "ask for the package again, as it was written"

// Read reads a package from a folder. What is no package, or is larger than
// the bounds, is an Invalid Problem. The hashes are not looked at: see Altered.
func Read(folder fs.FS) (*Package, error) {
	raw, err := readFile(folder, DescriptorName, descriptorMax)
	if errors.Is(err, fs.ErrNotExist) {
		return nil, lab.Invalidf("package", "name the folder that pinset trial package wrote, or its zip file", "there is no %s here", DescriptorName)
	}
	if err != nil {
		return nil, err
	}
	p := &Package{Files: make(map[string][]byte), raw: raw}
	if err := json.Unmarshal(raw, &p.Descriptor); err != nil {
		return nil, lab.Invalidf("package", askAgain, "%s is not written as it should be", DescriptorName)
	}
	if err := p.check(); err != nil {
		return nil, err
	}
	left := int64(MostBytes - len(raw))
	for _, r := range p.Resources {
		data, err := readFile(folder, r.Path, left)
		if errors.Is(err, fs.ErrNotExist) {
			continue // Altered says so
		}
		if err != nil {
			return nil, err
		}
		p.Files[r.Path] = data
		left -= int64(len(data))
	}
	return p, p.strangers(folder)
}

// readFile reads a plain file of at most most bytes.
func readFile(folder fs.FS, name string, most int64) ([]byte, error) {
	info, err := lstat(folder, name)
	if err != nil {
		return nil, err
	}
	if !info.Mode().IsRegular() {
		return nil, lab.Invalidf("package", "put the file itself there; links are not followed", "%s is no plain file", name)
	}
	f, err := folder.Open(name)
	if err != nil {
		return nil, fmt.Errorf("datapackage: open %s: %w", name, err)
	}
	defer f.Close()
	data, err := io.ReadAll(io.LimitReader(f, most+1))
	if err != nil {
		return nil, lab.Invalidf("package", askAgain, "%s can not be read: %v", name, err)
	}
	if int64(len(data)) > most {
		return nil, lab.Invalidf("package", "a package holds 32 MB at most; ask for a smaller trial", "%s makes the package larger than can be taken", name)
	}
	return data, nil
}

// lstat says what a name is without following it.
func lstat(folder fs.FS, name string) (fs.FileInfo, error) {
	if l, ok := folder.(fs.ReadLinkFS); ok {
		return l.Lstat(name)
	}
	return fs.Stat(folder, name)
}

// check refuses a description that Pinset did not write or can not read.
func (p *Package) check() error {
	switch {
	case p.Program != Program:
		return lab.Invalidf("package", "it may be a good Data Package, but its trial can not be judged again", "this package was not written by Pinset")
	case p.Format != Format:
		return lab.Invalidf("package", "bring Pinset up to date, or ask for the package by this version", "this package has form %d, and this version reads form %d", p.Format, Format)
	case len(p.Resources) == 0 || len(p.Resources) > mostFiles:
		return lab.Invalidf("package", askAgain, "this package describes %d files; 1 to %d can be", len(p.Resources), mostFiles)
	}
	seen := make(map[string]bool)
	for _, r := range p.Resources {
		if !safePath.MatchString(r.Path) || r.Path == DescriptorName || seen[r.Path] {
			return lab.Invalidf("package", askAgain, "%.60q can not be the name of a file in a package", r.Path)
		}
		seen[r.Path] = true
	}
	return nil
}

// Program and Format mark the packages that this version reads.
const (
	Program = "pinset"
	Format  = 1
)

// strangers refuses files that the description does not name.
func (p *Package) strangers(folder fs.FS) error {
	entries, err := fs.ReadDir(folder, ".")
	if err != nil {
		return fmt.Errorf("datapackage: list the folder: %w", err)
	}
	for _, e := range entries {
		known := e.Name() == DescriptorName || slices.ContainsFunc(p.Resources, func(r Resource) bool { return r.Path == e.Name() })
		if !known && !strings.HasPrefix(e.Name(), ".") {
			return lab.Invalidf("package", "take it out, if it is yours; a package holds only what it describes", "%.60q is not part of this package", e.Name())
		}
	}
	return nil
}

// FromZip reads a package from a zip file.
func FromZip(data []byte) (*Package, error) {
	if len(data) > MostZipBytes {
		return nil, lab.Invalidf("package", "a zip file of a package holds 16 MB at most", "this file holds %d MB", len(data)>>20)
	}
	z, err := zip.NewReader(bytes.NewReader(data), int64(len(data)))
	if err != nil {
		return nil, lab.Invalidf("package", "choose the zip file that Pinset wrote", "this is no zip file")
	}
	if len(z.File) > mostFiles+1 {
		return nil, lab.Invalidf("package", askAgain, "this zip file holds %d files; a package has %d at most", len(z.File), mostFiles+1)
	}
	seen := make(map[string]bool)
	total := uint64(0)
	for _, f := range z.File {
		if f.Name != DescriptorName && !safePath.MatchString(f.Name) || seen[f.Name] {
			return nil, lab.Invalidf("package", askAgain, "%.60q can not be the name of a file in a package", f.Name)
		}
		if !f.Mode().IsRegular() {
			return nil, lab.Invalidf("package", askAgain, "%s is no plain file", f.Name)
		}
		seen[f.Name] = true
		if total += f.UncompressedSize64; total > MostBytes {
			return nil, lab.Invalidf("package", askAgain, "unpacked this zip file would hold more than %d MB", MostBytes>>20)
		}
	}
	return Read(z)
}

// Zip writes the package as a zip file, the same bytes each time.
func (p *Package) Zip() ([]byte, error) {
	var b bytes.Buffer
	z := zip.NewWriter(&b)
	add := func(name string, data []byte) error {
		w, err := z.CreateHeader(&zip.FileHeader{Name: name, Method: zip.Deflate, Modified: p.Created})
		if err == nil {
			_, err = w.Write(data)
		}
		return err
	}
	err := add(DescriptorName, p.raw)
	for _, r := range p.Resources {
		if err == nil {
			err = add(r.Path, p.Files[r.Path])
		}
	}
	if err == nil {
		err = z.Close()
	}
	if err != nil {
		return nil, fmt.Errorf("datapackage: zip %s: %w", p.Name, err)
	}
	return b.Bytes(), nil
}

// Difference is one thing that is not as it was sealed.
type Difference struct {
	File string `json:"file"`
	Row  int    `json:"row"` // of a table, its head being row 1; 0 for the file as a whole
	What string `json:"what"`
}

// String tells the difference with its place.
func (d Difference) String() string {
	if d.Row > 0 {
		return fmt.Sprintf("%s, row %d: %s", d.File, d.Row, d.What)
	}
	return d.File + ": " + d.What
}

// mostDifferences bounds what is said of one file.
const mostDifferences = 5

// Altered returns how the files differ from what was sealed, none if they do
// not.
func (p *Package) Altered() []Difference {
	var out []Difference
	if !p.sealed() {
		out = append(out, Difference{File: DescriptorName, What: "what stands in it was changed"})
	}
	for _, r := range p.Resources {
		data, ok := p.Files[r.Path]
		switch {
		case !ok:
			out = append(out, Difference{File: r.Path, What: "the file is missing"})
		case hashOf(data) == r.Hash && len(data) == r.Bytes:
		case r.Table == nil || r.Rows == "":
			out = append(out, Difference{File: r.Path, What: "what stands in it was changed"})
		default:
			out = append(out, r.alteredRows(data)...)
		}
	}
	return out
}

// alteredRows names the rows of a table that were changed, or how many are
// missing or added.
func (r Resource) alteredRows(data []byte) []Difference {
	var out []Difference
	was, now := r.Rows, rowHashes(data)
	all := lines(data)
	if len(was) == len(now) {
		for i := 0; i+rowDigits <= len(was) && len(out) < mostDifferences; i += rowDigits {
			if was[i:i+rowDigits] != now[i:i+rowDigits] {
				n := i / rowDigits
				out = append(out, Difference{File: r.Path, Row: n + 1, What: fmt.Sprintf("the row was changed; it reads now %.80q", all[n])})
			}
		}
	} else {
		first := 0
		for first < min(len(was), len(now)) && was[first:first+rowDigits] == now[first:first+rowDigits] {
			first += rowDigits
		}
		n := (len(was) - len(now)) / rowDigits
		text := figure.Count(n, "row is", "rows are") + " missing from here on"
		if n < 0 {
			text = figure.Count(-n, "row was", "rows were") + " added from here on"
		}
		out = append(out, Difference{File: r.Path, Row: first/rowDigits + 1, What: text})
	}
	if len(out) == 0 {
		out = append(out, Difference{File: r.Path, What: "what stands in it was changed"})
	}
	return out
}

// Cells are the rows of a table by the names of its columns.
type Cells []map[string]string

// Table returns the rows of a table. It has exactly the columns that fields
// name; else it is an Invalid Problem.
func (p *Package) Table(name string, fields []Field) (Cells, error) {
	file := name + ".csv"
	data, ok := p.Files[file]
	if !ok {
		return nil, lab.Invalidf("package", askAgain, "the package has no %s", file)
	}
	if !utf8.Valid(data) {
		return nil, lab.Invalidf("package", askAgain, "%s is not written in UTF-8", file)
	}
	r := csv.NewReader(bytes.NewReader(data))
	r.FieldsPerRecord = len(fields)
	head, err := r.Read()
	if err != nil {
		return nil, lab.Invalidf("package", askAgain, "%s is not the table that it should be: it has other columns", file)
	}
	for i, f := range fields {
		if head[i] != f.Name {
			return nil, lab.Invalidf("package", askAgain, "column %d of %s is %.40q, not %q", i+1, file, head[i], f.Name)
		}
	}
	out := Cells{}
	for {
		row, err := r.Read()
		if err == io.EOF {
			return out, nil
		}
		if err != nil || len(out) == mostRows {
			return nil, lab.Invalidf("package", askAgain, "%s can not be read beyond row %d", file, len(out)+1)
		}
		cells := make(map[string]string, len(fields))
		for i, f := range fields {
			cells[f.Name] = row[i]
		}
		out = append(out, cells)
	}
}

// JSON reads NAME.json into v.
func (p *Package) JSON(name string, v any) error {
	file := name + ".json"
	data, ok := p.Files[file]
	if !ok {
		return lab.Invalidf("package", askAgain, "the package has no %s", file)
	}
	if err := json.Unmarshal(data, v); err != nil {
		return lab.Invalidf("package", askAgain, "%s is not written as it should be", file)
	}
	return nil
}
