package cli

import (
	"fmt"
	"io"
	"io/fs"
	"path/filepath"
	"strings"

	"pinset/internal/app"
	"pinset/internal/datapackage"
	"pinset/internal/lab"
)

type trialPackageCmd struct {
	records
	Name string `arg:"" help:"Name of the trial."`
	To   string `arg:"" help:"Folder that is empty or not there yet, or a file that ends in .zip." placeholder:"DIR"`
}

func (c *trialPackageCmd) Run(r *run) error {
	return r.onFarm(c.records, func(f *app.Farm) error {
		p, err := f.PackageTrial(r.ctx, c.Name)
		if err != nil {
			return err
		}
		if strings.HasSuffix(strings.ToLower(c.To), ".zip") {
			data, err := p.Zip()
			if err == nil {
				err = r.WriteFile(c.To, data)
			}
			if err != nil {
				return lab.Invalidf("to", "choose another file or folder", "%v", err)
			}
		} else if err := r.writePackage(c.To, p); err != nil {
			return err
		}
		out := struct {
			To    string   `json:"to"`
			Hash  string   `json:"package_sha256"`
			Files []string `json:"files"`
		}{c.To, p.Hash(), []string{datapackage.DescriptorName}}
		for _, x := range p.Resources {
			out.Files = append(out.Files, x.Path)
		}
		return r.print(out, func(w io.Writer) {
			wrap(w, "", fmt.Sprintf("Written: %d files. Package %s.", len(out.Files), out.Hash[:16]))
		})
	})
}

// writePackage writes the files of p into a folder, which holds nothing yet.
func (r *run) writePackage(to string, p *app.Package) error {
	if here := r.Folder(to); here != nil {
		if entries, err := fs.ReadDir(here, "."); err != nil || len(entries) > 0 {
			return lab.Conflictf("name a folder that is empty or not there yet", "there is something in %s already", filepath.Base(to))
		}
	}
	err := r.MakeFolder(to)
	if err == nil {
		err = r.WriteFile(filepath.Join(to, datapackage.DescriptorName), p.Raw())
	}
	for _, x := range p.Resources {
		if err == nil {
			err = r.WriteFile(filepath.Join(to, x.Path), p.Files[x.Path])
		}
	}
	if err != nil {
		return lab.Invalidf("to", "choose another folder", "%v", err)
	}
	return nil
}

type trialVerifyCmd struct {
	From string `arg:"" help:"Folder or zip file of the package." placeholder:"DIR"`
}

func (c *trialVerifyCmd) Run(r *run) error {
	p, err := r.readPackage(c.From)
	if err != nil {
		return err
	}
	v, err := app.Verify(p)
	if err != nil {
		return err
	}
	return r.print(v, func(w io.Writer) {
		wrap(w, "", v.Trial)
		wrap(w, "", v.Sentence)
		fmt.Fprintln(w)
		wrap(w, "", fmt.Sprintf("%s Package %s, data %s.", v.Says(), v.Hash[:16], v.DataHash[:16]))
	})
}

// readPackage reads a package from a folder or a zip file.
func (r *run) readPackage(name string) (*app.Package, error) {
	if here := r.Folder(name); here != nil {
		return datapackage.Read(here)
	}
	data, err := r.readInput(name, "the zip file of a package")
	if err != nil {
		return nil, err
	}
	return datapackage.FromZip(data)
}
