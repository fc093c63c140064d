package datapackage

import (
	"bytes"
	"crypto/sha256"
	"encoding/csv"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"strings"
	"time"
)

// DescriptorName is the file that describes a package.
const DescriptorName = "datapackage.json"

// Addresses of the profiles of version 2.0.
const (
	packageProfile  = "https://datapackage.org/profiles/2.0/datapackage.json"
	resourceProfile = "https://datapackage.org/profiles/2.0/dataresource.json"
	schemaProfile   = "https://datapackage.org/profiles/2.0/tableschema.json"
)

// Package is a description with the files that it describes.
type Package struct {
	Descriptor
	Files map[string][]byte // by path; without the descriptor
	raw   []byte            // the descriptor as it is sealed or was read
}

// Descriptor describes a package.
type Descriptor struct {
	Schema       string        `json:"$schema"`
	Profile      string        `json:"profile"` // as version 1 has it
	Name         string        `json:"name"`    // lower case, for addresses
	Title        string        `json:"title"`
	Description  string        `json:"description,omitempty"`
	Created      time.Time     `json:"created"`
	Contributors []Contributor `json:"contributors,omitempty"`
	Program      string        `json:"program"` // that wrote it, with the version of its form
	Format       int           `json:"format"`
	Sealed       string        `json:"seal"` // hash of the description itself, its seal taken as noughts
	Resources    []Resource    `json:"resources"`
}

// Contributor is whoever gave the data.
type Contributor struct {
	Title string   `json:"title"`
	Roles []string `json:"roles,omitempty"`
}

// Resource describes one file.
type Resource struct {
	Schema      string       `json:"$schema"`
	Profile     string       `json:"profile"` // as version 1 has it
	Name        string       `json:"name"`
	Type        string       `json:"type,omitempty"` // "table" for one
	Path        string       `json:"path"`
	Title       string       `json:"title"`
	Description string       `json:"description,omitempty"`
	Format      string       `json:"format"`
	MediaType   string       `json:"mediatype"`
	Encoding    string       `json:"encoding"`
	Bytes       int          `json:"bytes"`
	Hash        string       `json:"hash"` // "sha256:" and 64 digits
	Table       *TableSchema `json:"schema,omitempty"`
	// Rows holds eight hexadecimal digits for each row of a table, its head first.
	Rows string `json:"rows_sha256,omitempty"`
}

// TableSchema describes the columns of a table.
type TableSchema struct {
	Schema        string       `json:"$schema"`
	Fields        []Field      `json:"fields"`
	PrimaryKey    []string     `json:"primaryKey,omitempty"`
	ForeignKeys   []ForeignKey `json:"foreignKeys,omitempty"`
	MissingValues []string     `json:"missingValues"`
}

// Field is one column.
type Field struct {
	Name        string       `json:"name"`
	Type        string       `json:"type"` // string, integer, number, boolean or date
	Title       string       `json:"title,omitempty"`
	Description string       `json:"description,omitempty"`
	Unit        string       `json:"unit,omitempty"` // such as g or %
	Constraints *Constraints `json:"constraints,omitempty"`
}

// Constraints bound the cells of a column.
type Constraints struct {
	Required bool     `json:"required,omitempty"`
	Unique   bool     `json:"unique,omitempty"`
	Minimum  *float64 `json:"minimum,omitempty"`
	Maximum  *float64 `json:"maximum,omitempty"`
	Enum     []string `json:"enum,omitempty"`
}

// ForeignKey says that cells name rows of another table.
type ForeignKey struct {
	Fields    []string  `json:"fields"`
	Reference Reference `json:"reference"`
}

// Reference is the table that is named.
type Reference struct {
	Resource string   `json:"resource"`
	Fields   []string `json:"fields"`
}

// Table is a table with its description.
type Table struct {
	Name, Title, Description string
	Fields                   []Field
	Key                      []string // of a row; none if rows may repeat
	Refers                   []ForeignKey
	Rows                     [][]string
}

// New begins a package. name may be any text; what can not stand in an address
// becomes a hyphen.
func New(name, title, description, program string, format int, created time.Time) *Package {
	return &Package{
		Descriptor: Descriptor{
			Schema: packageProfile, Profile: "data-package", Name: Slug(name), Title: title, Description: description,
			Created: created.UTC().Truncate(time.Second), Program: program, Format: format,
		},
		Files: make(map[string][]byte),
	}
}

// Slug is text as it may stand in an address.
func Slug(text string) string {
	var b strings.Builder
	for _, r := range strings.ToLower(text) {
		switch {
		case r >= 'a' && r <= 'z' || r >= '0' && r <= '9':
			b.WriteRune(r)
		case b.Len() > 0 && !strings.HasSuffix(b.String(), "-"):
			b.WriteByte('-')
		}
	}
	if s := strings.Trim(b.String(), "-"); s != "" {
		return s[:min(len(s), 60)]
	}
	return "trial"
}

// AddTable writes t as NAME.csv.
func (p *Package) AddTable(t Table) error {
	var b bytes.Buffer
	w := csv.NewWriter(&b)
	head := make([]string, len(t.Fields))
	for i, f := range t.Fields {
		head[i] = f.Name
	}
	if err := w.WriteAll(append([][]string{head}, t.Rows...)); err != nil {
		return fmt.Errorf("datapackage: write %s: %w", t.Name, err)
	}
	path := t.Name + ".csv"
	p.Files[path] = b.Bytes()
	p.Resources = append(p.Resources, Resource{
		Schema: resourceProfile, Profile: "tabular-data-resource", Name: t.Name, Type: "table", Path: path, Title: t.Title, Description: t.Description,
		Format: "csv", MediaType: "text/csv", Encoding: "utf-8",
		Table: &TableSchema{Schema: schemaProfile, Fields: t.Fields, PrimaryKey: t.Key, ForeignKeys: t.Refers, MissingValues: []string{""}},
	})
	return nil
}

// AddJSON writes v as NAME.json.
func (p *Package) AddJSON(name, title, description string, v any) error {
	data, err := json.MarshalIndent(v, "", " ")
	if err != nil {
		return fmt.Errorf("datapackage: write %s: %w", name, err)
	}
	path := name + ".json"
	p.Files[path] = append(data, '\n')
	p.Resources = append(p.Resources, Resource{
		Schema: resourceProfile, Profile: "data-resource", Name: name, Path: path, Title: title, Description: description,
		Format: "json", MediaType: "application/json", Encoding: "utf-8",
	})
	return nil
}

// Seal fills in the length and the hashes of all files, writes the descriptor
// and seals it too. Nothing may be added after it.
func (p *Package) Seal() error {
	for i := range p.Resources {
		r := &p.Resources[i]
		data := p.Files[r.Path]
		r.Bytes, r.Hash = len(data), hashOf(data)
		if r.Table != nil {
			r.Rows = rowHashes(data)
		}
	}
	p.Sealed = noSeal
	raw, err := json.MarshalIndent(p.Descriptor, "", " ")
	if err != nil {
		return fmt.Errorf("datapackage: describe %s: %w", p.Name, err)
	}
	p.raw = append(raw, '\n')
	p.Sealed = hashOf(p.raw)
	p.raw = bytes.Replace(p.raw, []byte(noSeal), []byte(p.Sealed), 1)
	return nil
}

// noSeal stands in place of the seal while the description is hashed.
const noSeal = "sha256:0000000000000000000000000000000000000000000000000000000000000000"

// sealed reports whether the description is as it was sealed.
func (p *Package) sealed() bool {
	return len(p.Sealed) == len(noSeal) && hashOf(bytes.Replace(p.raw, []byte(p.Sealed), []byte(noSeal), 1)) == p.Sealed
}

// Raw returns the descriptor as it is sealed or was read.
func (p *Package) Raw() []byte { return p.raw }

// Hash is the SHA-256 of the sealed descriptor, which holds those of all files:
// one figure that stands for the whole package.
func (p *Package) Hash() string {
	sum := sha256.Sum256(p.raw)
	return hex.EncodeToString(sum[:])
}

func hashOf(data []byte) string {
	sum := sha256.Sum256(data)
	return "sha256:" + hex.EncodeToString(sum[:])
}

const rowDigits = 8

// rowHashes returns the first digits of the hash of each line, joined.
func rowHashes(data []byte) string {
	var b strings.Builder
	for _, line := range lines(data) {
		sum := sha256.Sum256(line)
		b.WriteString(hex.EncodeToString(sum[:rowDigits/2]))
	}
	return b.String()
}

// lines are the lines of a file, without their ends.
func lines(data []byte) [][]byte {
	if len(data) == 0 {
		return nil
	}
	return bytes.Split(bytes.TrimSuffix(data, []byte("\n")), []byte("\n"))
}
