package cli

import (
	"bytes"
	"cmp"
	"fmt"
	"io"
	"time"

	"pinset/internal/app"
	"pinset/internal/lab"
)

type photoCmds struct {
	Add     photoAddCmd     `cmd:"" help:"Keep photos of one jar."`
	List    photoListCmd    `cmd:"" help:"List the photos of a jar or a batch, the latest first."`
	Show    photoShowCmd    `cmd:"" help:"Say what is known of a photo, or write its picture to a file."`
	Correct photoCorrectCmd `cmd:"" help:"Correct when a photo was taken, or its note."`
	Remove  photoRemoveCmd  `cmd:"" help:"Take a photo off the pages."`
	Sweep   photoSweepCmd   `cmd:"" help:"Remove files that no photo is made of."`
}

type photoAddCmd struct {
	signed
	Jar   string   `arg:"" help:"Jar: B12·13 or a code."`
	Files []string `arg:"" help:"JPEG, PNG or WebP files; - reads one from standard input." name:"file" type:"path"`
	Note  string   `help:"What is to be seen in them." placeholder:"TEXT"`
	At    string   `help:"When they were taken: what the camera says, or now, if left out." placeholder:"TIME"`
}

func (c *photoAddCmd) Run(r *run) error {
	in := app.PhotosInput{}
	for _, name := range c.Files {
		raw, err := r.readInput(name, "a picture")
		if err != nil {
			return err
		}
		in.Photos = append(in.Photos, app.NewPhoto{Jar: c.Jar, Picture: bytes.NewReader(raw), Note: c.Note, At: c.At})
	}
	return r.onFarm(c.records, func(f *app.Farm) error {
		done, err := f.AddPhotos(r.ctx, c.act(), in)
		if err != nil {
			return err
		}
		return r.printDone(done)
	})
}

// photoView is a photo as JSON.
type photoView struct {
	ID     lab.EntryID `json:"id"`
	Jar    string      `json:"jar"`
	Code   lab.Code    `json:"code"`
	At     *string     `json:"at"`
	Camera string      `json:"camera"`
	By     string      `json:"by"`
	Age    *int        `json:"age_days"`
	Since  string      `json:"age_since"`
	Width  int         `json:"width_px"`
	Height int         `json:"height_px"`
	Note   string      `json:"note"`
	Hash   string      `json:"sha256"`
}

func viewPhoto(p app.PhotoRow) photoView {
	v := photoView{ID: p.ID, Jar: p.Name, Code: p.Code, At: viewWhen(p.At), Camera: p.Taken, By: p.By, Since: p.Since, Width: p.Width, Height: p.Height, Note: p.Note, Hash: p.Whole}
	if p.Since != "" {
		v.Age = &p.Age
	}
	return v
}

// photoLine says of a photo when, whose and how old it was.
func photoLine(p app.PhotoRow, zone *time.Location) string {
	age := ""
	if p.Since != "" {
		age = fmt.Sprintf("day %d since %s", p.Age, p.Since)
	}
	return joined(" ", joined(", ", p.At.Show(zone), p.Name, age, p.Note), initials(p.By))
}

type photoListCmd struct {
	records
	Of    string      `arg:"" help:"Jar or batch: B12·13, a code, B12." name:"jar-or-batch"`
	Limit int         `help:"At most so many, up to 48." default:"48"`
	After lab.EntryID `help:"Only those behind this photo, as more_after says." placeholder:"PHOTO"`
}

func (c *photoListCmd) Run(r *run) error {
	return r.onFarm(c.records, func(f *app.Farm) error {
		found, err := f.Find(r.ctx, c.Of)
		if err != nil {
			return err
		}
		var page app.PhotoPage
		switch found.Kind {
		case "jar":
			page, err = f.PhotosOfJar(r.ctx, found.Name, c.After, c.Limit)
		case "batch":
			page, err = f.PhotosOfBatch(r.ctx, found.Name, c.After, c.Limit)
		default:
			err = lab.Invalidf("jar_or_batch", "write B12·13, a code or B12", "%s is neither a jar nor a batch", c.Of)
		}
		if err != nil {
			return err
		}
		out := struct {
			All    int         `json:"photos"`
			Photos []photoView `json:"shown"`
			More   lab.EntryID `json:"more_after"`
		}{page.All, []photoView{}, page.More}
		for _, p := range page.Photos {
			out.Photos = append(out.Photos, viewPhoto(p))
		}
		return r.print(out, func(w io.Writer) {
			for _, p := range page.Photos {
				wrap(w, "", photoLine(p, f.Zone(r.ctx)))
				fmt.Fprintf(w, "  %s\n", p.ID)
			}
			switch {
			case page.All == 0:
				fmt.Fprintln(w, "no photos")
			case page.More != "":
				fmt.Fprintf(w, "%d of %d; more with --after %s\n", len(page.Photos), page.All, page.More)
			}
		})
	})
}

type photoShowCmd struct {
	records
	Photo lab.EntryID `arg:"" help:"Photo, as pinset photo list prints it."`
	To    string      `help:"Write the picture, a JPEG, to this file." type:"path" placeholder:"FILE"`
}

func (c *photoShowCmd) Run(r *run) error {
	return r.onFarm(c.records, func(f *app.Farm) error {
		v, err := f.Photo(r.ctx, c.Photo)
		if err != nil {
			return err
		}
		if c.To != "" {
			data, err := f.PhotoFile(r.ctx, v.ID, v.Whole)
			if err != nil {
				return err
			}
			if err := r.WriteFile(c.To, data); err != nil {
				return err
			}
		}
		return r.printPhoto(f, v, c.To)
	})
}

// printPhoto prints what is known of a photo.
func (r *run) printPhoto(f *app.Farm, v app.PhotoView, file string) error {
	out := struct {
		photoView
		Doubt string `json:"camera_doubt"`
		File  string `json:"file"`
	}{viewPhoto(v.PhotoRow), v.Doubt, file}
	return r.print(out, func(w io.Writer) {
		wrap(w, "", photoLine(v.PhotoRow, f.Zone(r.ctx)))
		if v.Clock != "" {
			wrap(w, "", joined(": ", "the camera said "+v.Clock, v.Doubt))
		}
		fmt.Fprintf(w, "%d x %d pixels, SHA-256 %s\n", v.Width, v.Height, v.Whole)
		if file != "" {
			fmt.Fprintln(w, "written:", file)
		}
	})
}

type photoCorrectCmd struct {
	signed
	Photo lab.EntryID `arg:"" help:"Photo, as pinset photo list prints it."`
	At    string      `help:"When it was taken; as before if left out." placeholder:"TIME"`
	Note  *string     `help:"What is to be seen in it; as before if left out." placeholder:"TEXT"`
}

func (c *photoCorrectCmd) Run(r *run) error {
	return r.onFarm(c.records, func(f *app.Farm) error {
		v, err := f.Photo(r.ctx, c.Photo)
		if err != nil {
			return err
		}
		if v, err = f.CorrectPhoto(r.ctx, c.act(), c.Photo, c.At, *cmp.Or(c.Note, &v.Note)); err != nil {
			return err
		}
		return r.printPhoto(f, v, "")
	})
}

type photoRemoveCmd struct {
	signed
	Photo  lab.EntryID `arg:"" help:"Photo, as pinset photo list prints it."`
	Delete bool        `help:"Delete its files too; that can not be taken back."`
}

func (c *photoRemoveCmd) Run(r *run) error {
	return r.onFarm(c.records, func(f *app.Farm) error {
		done, err := f.RemovePhoto(r.ctx, c.act(), c.Photo, c.Delete)
		if err != nil {
			return err
		}
		return r.printDone(done)
	})
}

type photoSweepCmd struct{ records }

// settled is how long ago a file was put that no photo that is being entered
// can still want.
const settled = time.Hour

func (c *photoSweepCmd) Run(r *run) error {
	return r.onFarm(c.records, func(f *app.Farm) error {
		s, err := f.SweepPhotos(r.ctx, time.Now().Add(-settled))
		if err != nil {
			return err
		}
		out := map[string]int{"files": s.Files, "swept": s.Swept, "missing": s.Missing}
		return r.print(out, func(w io.Writer) {
			fmt.Fprintf(w, "%d files of photos, %d that no photo is made of removed\n", s.Files, s.Swept)
			if s.Missing > 0 {
				fmt.Fprintf(w, "%d files are missing: bring the folder of the photos back from a backup\n", s.Missing)
			}
		})
	})
}
