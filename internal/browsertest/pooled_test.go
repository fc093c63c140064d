package browsertest

import (
	"archive/zip"
	"bytes"
	"context"
	"path"
	"testing"

	"pinset/internal/app"
)

// fromAnotherFarm is a package of another farm's trial, as it comes by post.
func fromAnotherFarm(t *testing.T) []byte {
	t.Helper()
	x := newSite(t)
	if err := x.farm.SaveSettings(context.Background(), app.NewSettings{Name: "North barn"}); err != nil {
		t.Fatal(err)
	}
	in := trial("Up north", 6)
	in.Seed = "7"
	x.keep(t, in)
	x.cook(t, "1")
	x.inoculate(t, "B1")
	x.pick(t, "B1")
	data, err := must[*app.Package](t)(x.farm.PackageTrial(context.Background(), "Up north")).Zip()
	if err != nil {
		t.Fatal(err)
	}
	return data
}

// within is a byte in the middle of what a zip file holds of one of its files.
func within(t *testing.T, data []byte, name string) int64 {
	t.Helper()
	z := must[*zip.Reader](t)(zip.NewReader(bytes.NewReader(data), int64(len(data))))
	for _, f := range z.File {
		if path.Base(f.Name) == name {
			return must[int64](t)(f.DataOffset()) + int64(f.CompressedSize64)/2
		}
	}
	t.Fatalf("the package holds no %s", name)
	return 0
}

// TestPackageIsTakenIn takes a friend's package in by thumb, reads what it adds up
// to with the farm's own trial, on both screens and in all themes, and sets it
// aside again.
func TestPackageIsTakenIn(t *testing.T) {
	t.Parallel()
	data := fromAnotherFarm(t)
	x := newSite(t)
	x.keep(t, trial("rice or millet", 6))
	x.cook(t, "1")
	x.inoculate(t, "B1")
	x.pick(t, "B1")
	b := newTab(t, x, phone)
	altered := append([]byte{}, data...)
	altered[within(t, data, "jars.csv")] ^= 1
	b.open("/elsewhere")
	b.attach("The package, as a zip file", b.file("altered.zip", altered))
	b.follow("Take it in", 422)
	b.says("Ask for the package again")
	b.attach("The package, as a zip file", b.file("north.zip", data))
	b.follow("Take it in", 200)
	b.says("Not a trial of this farm: from North barn")
	guest := b.path()
	b.open("/pooled")
	b.follow("millet cake against brown rice cake", 200)
	b.says("Over 2 trials, 1 of them from elsewhere")
	b.says("from elsewhere: North barn")
	sum := b.path()
	for _, path := range []string{sum, guest, "/elsewhere", "/pooled"} {
		b.open(path)
		for _, s := range []screen{phone, desk} {
			b.show(s)
			b.look("taken in "+s.name+" "+path, path)
		}
	}
	b.open(guest)
	b.follow("Set it aside", 200)
	b.open("/pooled")
	b.follow("millet cake against brown rice cake", 200)
	b.says("One trial so far")
	b.quiet("taking a package in")
}
