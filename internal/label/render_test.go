package label

import (
	"bytes"
	"errors"
	"fmt"
	"image"
	"image/draw"
	"image/png"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/makiuchi-d/gozxing"
	"github.com/makiuchi-d/gozxing/qrcode"

	"pinset/internal/app"
	"pinset/internal/lab"
)

// needs ends the test where a program is missing: in CI, and where all is
// required, as a failure.
func needs(t testing.TB, program string) {
	t.Helper()
	if _, err := exec.LookPath(program); err == nil {
		return
	}
	if os.Getenv("CI")+os.Getenv("PINSET_REQUIRE_ALL") == "" {
		t.Skipf("skipped: there is no %s here: run test/with-readers.sh", program)
	}
	t.Fatalf("there is no %s here: run test/with-readers.sh", program)
}

// dotsAnInch is the resolution of the pictures: 0.085 mm a dot.
const dotsAnInch = 300

const dotMM = 25.4 / dotsAnInch

// render returns the pages of a PDF as pictures, as a printer would make them.
func render(t testing.TB, pdf []byte) (pages []*image.Gray) {
	t.Helper()
	needs(t, "pdftoppm")
	dir := t.TempDir()
	if err := os.WriteFile(filepath.Join(dir, "labels.pdf"), pdf, 0o600); err != nil {
		t.Fatal(err)
	}
	out, err := exec.Command("pdftoppm", "-r", fmt.Sprint(dotsAnInch), "-gray", "-png", filepath.Join(dir, "labels.pdf"), filepath.Join(dir, "page")).CombinedOutput()
	if err != nil {
		t.Fatalf("pdftoppm: %v: %s", err, out)
	}
	files, err := filepath.Glob(filepath.Join(dir, "page*.png"))
	if err != nil {
		t.Fatal(err)
	}
	slices.Sort(files)
	for _, name := range files {
		raw, err := os.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		picture, _, err := image.Decode(bytes.NewReader(raw))
		if err != nil {
			t.Fatal(err)
		}
		grey := image.NewGray(picture.Bounds())
		draw.Draw(grey, grey.Bounds(), picture, picture.Bounds().Min, draw.Src)
		pages = append(pages, grey)
	}
	return pages
}

// cut returns what a page shows between two corners, in mm.
func cut(page *image.Gray, x, y, w, h float64) *image.Gray {
	px := func(mm float64) int { return int(math.Round(mm / dotMM)) }
	r := image.Rect(px(x), px(y), px(x+w), px(y+h)).Intersect(page.Bounds())
	out := image.NewGray(image.Rect(0, 0, r.Dx(), r.Dy()))
	draw.Draw(out, out.Bounds(), page, r.Min, draw.Src)
	return out
}

// ink returns the box of what is dark, in mm from the corner of the picture.
func ink(p *image.Gray) (x0, y0, x1, y1 float64, any bool) { return inkBelow(p, 128) }

// inkBelow is the box of what is darker than a grey.
func inkBelow(p *image.Gray, grey uint8) (x0, y0, x1, y1 float64, any bool) {
	b := image.Rectangle{Min: image.Pt(math.MaxInt, math.MaxInt)}
	for y := range p.Bounds().Dy() {
		for x := range p.Bounds().Dx() {
			if p.GrayAt(x, y).Y < grey {
				b.Min.X, b.Min.Y = min(b.Min.X, x), min(b.Min.Y, y)
				b.Max.X, b.Max.Y = max(b.Max.X, x+1), max(b.Max.Y, y+1)
				any = true
			}
		}
	}
	return float64(b.Min.X) * dotMM, float64(b.Min.Y) * dotMM, float64(b.Max.X) * dotMM, float64(b.Max.Y) * dotMM, any
}

// read reads the QR symbol in a picture with a reader that shares no code
// with the writer.
func read(p image.Image) (string, error) {
	bitmap, err := gozxing.NewBinaryBitmapFromImage(p)
	if err != nil {
		return "", err
	}
	result, err := qrcode.NewQRCodeReader().Decode(bitmap, map[gozxing.DecodeHintType]any{gozxing.DecodeHintType_TRY_HARDER: true})
	if err != nil {
		return "", err
	}
	return result.GetText(), nil
}

// zbar reads the squares in pictures with Debian's zbar, a third reader. The
// pictures get a white rim, as the label has a world around it.
func zbar(t testing.TB, pictures []*image.Gray) []string {
	t.Helper()
	needs(t, "zbarimg")
	const rim = 40 // dots
	dir := t.TempDir()
	arguments := []string{"--quiet", "--raw", "-Sdisable", "-Sqrcode.enable"}
	for i, p := range pictures {
		rimmed := image.NewGray(image.Rect(0, 0, p.Bounds().Dx()+2*rim, p.Bounds().Dy()+2*rim))
		draw.Draw(rimmed, rimmed.Bounds(), image.White, image.Point{}, draw.Src)
		draw.Draw(rimmed, p.Bounds().Add(image.Pt(rim, rim)), p, image.Point{}, draw.Src)
		var raw bytes.Buffer
		if err := png.Encode(&raw, rimmed); err != nil {
			t.Fatal(err)
		}
		name := filepath.Join(dir, fmt.Sprintf("%03d.png", i))
		if err := os.WriteFile(name, raw.Bytes(), 0o600); err != nil {
			t.Fatal(err)
		}
		arguments = append(arguments, name)
	}
	out, err := exec.Command("zbarimg", arguments...).Output()
	var exit *exec.ExitError // a picture without a square is one, too
	if err != nil && !errors.As(err, &exit) {
		t.Fatal(err)
	}
	return strings.Fields(string(out))
}

// TestEverySquareIsRead prints a full sheet on every grid and reads the
// square of every label by two readers, each cut out where the grid says that
// it lies. A grid whose labels are too small says so.
func TestEverySquareIsRead(t *testing.T) {
	all := append(Grids(), named(t, "roll 57x32"), named(t, "roll 40x40 round"), named(t, "roll 30x60"), named(t, "letter 2x4 90x60 10,10 100x65"))
	for _, g := range all {
		t.Run(g.Text(), func(t *testing.T) {
			labels := jars(min(g.Each(), 12))
			p := printed(t, labels, Options{Grid: g, Address: testAddress, Outlines: true})
			pages := render(t, p.PDF)
			if p.Square == "" {
				if g.H >= 20 {
					t.Errorf("labels of %g x %g mm have no square", g.W, g.H)
				}
				return
			}
			var alone []*image.Gray
			for i := range labels {
				x, y := g.place(i % g.Each())
				alone = append(alone, cut(pages[i/g.Each()], x, y, g.W, g.H))
			}
			byZbar := zbar(t, alone)
			for i, l := range labels {
				want := "HTTP://192.168.100.20:8470/" + l.Path
				if got, err := read(alone[i]); err != nil || got != want {
					t.Errorf("label %d reads as %q, %v, want %q", i+1, got, err, want)
				}
				if !slices.Contains(byZbar, want) {
					t.Errorf("label %d is not read by zbar: it reads %d of %d", i+1, len(byZbar), len(labels))
				}
			}
		})
	}
}

// TestReadByZbar has Debian's zbar read a whole page at once.
func TestReadByZbar(t *testing.T) {
	needs(t, "zbarimg")
	labels := jars(21)
	p := printed(t, labels, Options{Grid: named(t, "a4-3x7"), Address: testAddress})
	pages := render(t, p.PDF)
	got := zbar(t, pages[:1])
	for _, l := range labels {
		if want := "HTTP://192.168.100.20:8470/" + l.Path; !slices.Contains(got, want) {
			t.Errorf("zbar reads %d of %d, and not %s", len(got), len(labels), want)
		}
	}
}

// TestGeometry measures rendered labels on every sheet, in its corners and in
// its middle: the outline of each lies within
// 0.2 mm of where the grid has it, and the square is a whole number of the
// printer's dots, at least 15 mm, with nothing in its quiet zone.
func TestGeometry(t *testing.T) {
	const tol = 0.2 // mm, asked for; a rendered dot is 0.085 mm
	all := append(Grids(), named(t, "roll 57x32"), named(t, "letter 2x4 90x60 10,10 100x65"), named(t, "a4 2x3 80x80 15,12 90x92 round"))
	for _, g := range all {
		t.Run(g.Text(), func(t *testing.T) {
			blank := make([]app.LabelText, g.Each())
			for i := range blank {
				blank[i] = app.LabelText{Kind: lab.JarLabel, Path: "J/K73QF"}
			}
			p := printed(t, blank, Options{Grid: g, Outlines: true, Address: testAddress})
			pages := render(t, p.PDF)
			for _, i := range []int{0, g.Across - 1, g.Each() / 2, g.Each() - g.Across, g.Each() - 1} {
				x, y := g.place(i)
				x0, y0, x1, y1 := outlineOf(pages[0], g, x, y)
				for _, m := range []struct {
					what      string
					got, want float64
				}{{"left", x0, x}, {"top", y0, y}, {"right", x1, x + g.W}, {"bottom", y1, y + g.H}} {
					if edge := m.want < 0.3 || m.want > g.Wide-0.3 && m.what == "right" || m.want > g.Tall-0.3; !edge && !(abs(m.got-m.want) <= tol) {
						t.Errorf("label %d: %s edge at %.2f mm, want %.2f", i+1, m.what, m.got, m.want)
					}
				}
			}
		})
	}
}

// outlineOf returns where the outline of the label at x, y came out.
func outlineOf(p *image.Gray, g Grid, x, y float64) (x0, y0, x1, y1 float64) {
	if !g.Round {
		return frame(p, x, y, g.W, g.H)
	}
	const most = 0.7 // mm; nothing else is drawn that near, but the next label
	around := min(most, (g.StepX-g.W)/2, (g.StepY-g.H)/2)
	x, y = x-around, y-around
	const hairline = 230 // a thin grey line
	x0, y0, x1, y1, _ = inkBelow(cut(p, x, y, g.W+2*around, g.H+2*around), hairline)
	return x + x0, y + y0, x + x1, y + y1
}

// frame finds the middle of the four lines around a label: the darkest row
// and column near where they should be.
func frame(p *image.Gray, x, y, w, h float64) (x0, y0, x1, y1 float64) {
	line := func(at, from, to float64, upright bool) float64 {
		const search = 0.8 // mm
		best, sum := math.NaN(), math.Inf(1)
		for d := -search; d <= search; d += dotMM {
			total := 0.0
			for along := from; along <= to; along += dotMM {
				px, py := int((at+d)/dotMM), int(along/dotMM)
				if !upright {
					px, py = py, px
				}
				if !image.Pt(px, py).In(p.Bounds()) { // beside the paper
					total += 255
					continue
				}
				total += float64(p.GrayAt(px, py).Y)
			}
			if total < sum-1 {
				best, sum = (math.Floor((at+d)/dotMM)+0.5)*dotMM, total
			}
		}
		return best
	}
	// Only the upper left quarter of each line is looked at: no words are there.
	return line(x, y+1, y+h-1, true), line(y, x+1, x+w-1, false), line(x+w, y+1, y+h-1, true), line(y+h, x+1, x+w-1, false)
}

func TestSquareGeometry(t *testing.T) {
	for _, c := range []struct {
		grid string
		dots int
	}{{"a4-3x7", 600}, {"a4-3x7", 300}, {"letter-3x10", 600}, {"a4-5x13", 600}, {"roll 57x32", 203}, {"a4-round-4x6", 600}} {
		t.Run(fmt.Sprint(c.grid, " ", c.dots), func(t *testing.T) {
			g := named(t, c.grid)
			only := []app.LabelText{{Kind: lab.JarLabel, Path: "J/K73QF"}}
			o := Options{Grid: g, Address: testAddress, Printer: Printer{Dots: c.dots}}
			s := begin(o, 1)
			faces := facesOf(only, o)
			faces[0].side = Body
			q, err := s.squares(faces)
			if err != nil {
				t.Fatal(err)
			}
			if dots := q.Module() / o.Printer.dot(); abs(dots-math.Round(dots)) > 1e-6 || dots < 4 {
				t.Errorf("a module is %.3f dots of the printer", dots)
			}
			if q.MM() < 15 {
				t.Errorf("the square is %.2f mm wide", q.MM())
			}
			pages := render(t, printed(t, only, o).PDF)
			x, y := g.place(0)
			x0, y0, x1, y1, any := ink(cut(pages[0], x, y, g.W, g.H))
			if !any || abs(x1-x0-q.MM()) > 0.2 || abs(y1-y0-q.MM()) > 0.2 {
				t.Errorf("the square came out as %.2f x %.2f mm, want %.2f", x1-x0, y1-y0, q.MM())
			}
			quiet := 4*q.Module() - 0.1 // mm: rendering is not finer
			if !g.Round && (x0 < quiet || y0 < quiet || g.W-x1 < quiet || g.H-y1 < quiet) {
				t.Errorf("the square lies at %.2f, %.2f to %.2f, %.2f of %g x %g mm, %.2f must be blank around it", x0, y0, x1, y1, g.W, g.H, quiet)
			}
			if g.Round {
				r := g.W / 2
				if corner := math.Hypot(y1+quiet-r, x1+quiet-r); corner > r {
					t.Errorf("the blank corner of the square lies %.2f mm from the middle of a circle of %.2f", corner, r)
				}
			}
		})
	}
}

// TestFitMovesAll prints with a measured shift and measures that the labels
// moved against it.
func TestFitMovesAll(t *testing.T) {
	g := named(t, "a4-3x7")
	only := []app.LabelText{{Kind: lab.JarLabel, Path: "J/K73QF"}}
	box := func(f Fit) (float64, float64) {
		pages := render(t, printed(t, only, Options{Grid: g, Address: testAddress, Printer: Printer{Fit: f}}).PDF)
		x, y, _, _, _ := ink(pages[0])
		return x, y
	}
	x0, y0 := box(Fit{})
	x1, y1 := box(Fit{Left: 21.2, Top: 18.5, Across: 150, Down: 150})
	if abs(x0-x1-1.2) > 0.2 || abs(y1-y0-1.5) > 0.2 {
		t.Errorf("a cross 1.2 mm too far right and 1.5 mm too high moved the labels by %.2f, %.2f mm, want -1.2, 1.5", x1-x0, y1-y0)
	}
}

// TestCalibration measures the page that is to be measured.
func TestCalibration(t *testing.T) {
	pdf, err := Calibration(Options{Grid: named(t, "letter 1x1 20x20 190,250 20x20")})
	if err != nil {
		t.Fatal(err)
	}
	pages := render(t, pdf)
	line := cut(pages[0], 14, 18.2, 180, 3.6) // along the line across, with its ticks
	x0, _, x1, _, _ := ink(line)
	if abs(14+x0-15) > 0.2 || abs(14+x1-170) > 0.2 {
		t.Errorf("the line across reaches from %.2f to %.2f mm, want 15 to 170", 14+x0, 14+x1)
	}
	line = cut(pages[0], 18.2, 14, 3.6, 180)
	_, y0, _, y1, _ := ink(line)
	if abs(14+y0-15) > 0.2 || abs(14+y1-170) > 0.2 {
		t.Errorf("the line down reaches from %.2f to %.2f mm, want 15 to 170", 14+y0, 14+y1)
	}
}

// TestWordsStayOnTheLabel prints long names and looks for ink where none may
// be: within 1.3 mm of the edge of every label, and in the quiet zone.
func TestWordsStayOnTheLabel(t *testing.T) {
	long := app.LabelText{
		Kind: lab.JarLabel, Large: "12345", Over: "B1234 a mark of their own that is long", Code: "WWWWW", Day: "30 September 2026",
		About: []string{"wholegrain brown rice with millet and oats, version 12", "half-litre jar with a wide mouth"}, Path: "J/WWWWW",
	}
	for _, name := range []string{"a4-3x7", "a4-5x13", "letter-4x20", "letter-2x3", "roll 30x60", "a4-round-4x6"} {
		for _, side := range []Side{Body, Lid} {
			g := named(t, name)
			pages := render(t, printed(t, []app.LabelText{long}, Options{Grid: g, Side: side, Address: testAddress}).PDF)
			x, y := g.place(0)
			x0, y0, x1, y1, _ := ink(cut(pages[0], x, y, g.W, g.H))
			if x0 < 1.3 || y0 < 1.3 || g.W-x1 < 1.3 || g.H-y1 < 1.3 {
				t.Errorf("%s, %s: there is ink from %.2f, %.2f to %.2f, %.2f of %g x %g mm", name, side, x0, y0, x1, y1, g.W, g.H)
			}
			if _, err := read(cut(pages[0], x, y, g.W, g.H)); name != "letter-4x20" && err != nil {
				t.Errorf("%s, %s: with long words the square is not read: %v", name, side, err)
			}
		}
	}
}

// TestTailsAreClear: a name with letters that hang below the line touches
// neither the line below it nor the rim.
func TestTailsAreClear(t *testing.T) {
	for _, name := range []string{"a4-3x7", "a4-5x13", "letter-2x3", "letter-4x20", "roll 30x60", "a4-round-4x6", "letter-round-4x6", "letter-round-3x4"} {
		for _, large := range []string{"top", "Jyg", "a long name of a shelf, gypsum"} {
			g := named(t, name)
			l := app.LabelText{Kind: lab.ShelfLabel, Large: large, Code: "shelf", Path: "S/TOP"}
			pages := render(t, printed(t, []app.LabelText{l}, Options{Grid: g, Address: testAddress}).PDF)
			x, y := g.place(0)
			words := cut(pages[0], x, y, g.W, g.H)
			if _, y0, _, y1, _ := ink(words); y0 < 1.3 || g.H-y1 < 1.3 {
				t.Errorf("%s, %q: there is ink from %.2f to %.2f of %g mm", name, large, y0, y1, g.H)
			}
			if name == "letter-4x20" { // its words stand side by side
				continue
			}
			if g.W > g.H && !g.Round { // the square stands beside them
				words = cut(pages[0], x, y, g.W*0.5, g.H)
			}
			if n := bands(words); n < 2 {
				t.Errorf("%s, %q runs into the line below it", name, large)
			} else if (g.Round || g.H > g.W) && n < 3 {
				t.Errorf("%s, %q: name, kind and square stand in %d bands", name, large, n)
			}
		}
	}
}

// bands counts the lines of ink with a blank between them.
func bands(p *image.Gray) (n int) {
	dark := false
	for y := range p.Bounds().Dy() {
		row := false
		for x := range p.Bounds().Dx() {
			row = row || p.GrayAt(x, y).Y < 128
		}
		if row && !dark {
			n++
		}
		dark = row
	}
	return n
}

// TestEdgesOfThePaper prints a grid that reaches to the edges of the paper and
// looks for ink within the 5 mm that printers leave blank.
func TestEdgesOfThePaper(t *testing.T) {
	g := named(t, "a4-4x10")
	pages := render(t, printed(t, jars(40), Options{Grid: g, Address: testAddress}).PDF)
	if x0, y0, x1, y1, _ := ink(pages[0]); x0 < 4.9 || y0 < 4.9 || g.Wide-x1 < 4.9 || g.Tall-y1 < 4.9 {
		t.Errorf("there is ink from %.2f, %.2f to %.2f, %.2f mm of %g x %g", x0, y0, x1, y1, g.Wide, g.Tall)
	}
}
