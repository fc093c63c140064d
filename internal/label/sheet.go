package label

import (
	"bytes"
	"fmt"
	"math"
	"runtime"
	"strconv"
	"strings"
	"sync"
	"time"

	"codeberg.org/go-pdf/fpdf"
	"github.com/go-fonts/dejavu/dejavusans"
	"github.com/go-fonts/dejavu/dejavusansbold"
	"github.com/go-fonts/dejavu/dejavusansmonobold"

	"pinset/internal/figure"
	"pinset/internal/picture"
)

// Blank edges, mm.
const (
	inset   = 1.5 // within a label: cutting and feeding are not exact
	unprint = 5.0 // of a sheet of paper: printers leave it blank
)

const (
	sans = "sans"
	mono = "mono"
)

// sheet is a PDF being written, in mm.
type sheet struct {
	*fpdf.Fpdf
	o      Options
	area   box  // what can be printed on, within one label
	lacks  bool // a letter could not be printed
	narrow bool // a text did not fit and was cut
}

// box is a rectangle within a label, from its top left corner.
type box struct{ x, y, w, h float64 }

func begin(o Options, labels int) *sheet {
	s := &sheet{o: o, area: o.Grid.area()}
	size := fpdf.SizeType{Wd: o.Grid.Wide, Ht: o.Grid.Tall}
	s.Fpdf = fpdf.NewCustom(&fpdf.InitType{OrientationStr: "P", UnitStr: "mm", Size: size})
	s.SetCompression(!o.plain)
	s.SetCatalogSort(true)
	when := time.Date(2000, 1, 1, 0, 0, 0, 0, time.UTC)
	s.SetCreationDate(when)
	s.SetModificationDate(when)
	s.SetTitle(fmt.Sprintf("Labels, %d", labels), true)
	s.SetProducer("Pinset", true)
	s.SetLang("en")
	s.SetMargins(0, 0, 0)
	s.SetAutoPageBreak(false, 0)
	s.AddUTF8FontFromBytes(sans, "", dejavusans.TTF)
	s.AddUTF8FontFromBytes(sans, "B", dejavusansbold.TTF)
	s.AddUTF8FontFromBytes(mono, "B", dejavusansmonobold.TTF)
	return s
}

// area returns what can be printed on in every label of the grid, so that all
// look alike: labels at the edge of a sheet reach into what printers leave
// blank.
func (g Grid) area() box {
	edge := unprint
	if g.OnRoll {
		edge = 0
	}
	right := g.Wide - (g.Left + float64(g.Across-1)*g.StepX + g.W)
	low := g.Tall - (g.Top + float64(g.Down-1)*g.StepY + g.H)
	x, y := max(inset, edge-g.Left), max(inset, edge-g.Top)
	return box{x, y, g.W - x - max(inset, edge-right), g.H - y - max(inset, edge-low)}
}

// squares encodes what each label holds, all with one level and module, and
// returns the largest of them. It is not sized if there is no room for one.
func (s *sheet) squares(faces []face) (Square, error) {
	longest := 0
	texts := make([]string, len(faces))
	for i, f := range faces {
		texts[i] = strings.ToUpper(strings.TrimSuffix(s.o.Address, "/"))
		if texts[i] != "" {
			texts[i] += "/"
		}
		texts[i] += f.Path
		longest = max(longest, len(texts[i]))
	}
	level, module := s.room().choose(longest, s.o.Printer.dot())
	if module == 0 {
		return Square{}, nil
	}
	if err := encode(faces, texts, level, module); err != nil {
		return Square{}, err
	}
	largest := faces[0].square
	for _, f := range faces {
		if f.square.Side > largest.Side {
			largest = f.square
		}
	}
	return largest, nil
}

// encode encodes each text, on all processors: it takes longer than all else.
func encode(faces []face, texts []string, level string, module float64) error {
	var wait sync.WaitGroup
	errs := make([]error, len(faces))
	workers := runtime.GOMAXPROCS(0)
	for w := range workers {
		wait.Go(func() {
			for i := w; i < len(faces); i += workers {
				faces[i].square, errs[i] = NewSquare(texts[i], level)
				faces[i].square.module = module
			}
		})
	}
	wait.Wait()
	for _, err := range errs {
		if err != nil {
			return err
		}
	}
	return nil
}

// label draws the face at place n, counted over all sheets.
func (s *sheet) label(n int, f face) {
	at := n % s.o.Grid.Each()
	if at == 0 || s.PageNo() == 0 {
		s.page()
	}
	x, y := s.o.Grid.place(at)
	if s.o.Outlines {
		s.outline(x, y)
	}
	s.draw(f, x, y)
}

// page begins a sheet, drawn so that it comes out where it should.
func (s *sheet) page() {
	s.AddPage()
	if s.o.Printer.Fit.IsZero() {
		return
	}
	x0, y0 := s.o.Printer.Fit.mends(0, 0)
	x1, y1 := s.o.Printer.Fit.mends(1, 1)
	ax, ay := x1-x0, y1-y0
	k := s.GetConversionRatio()
	s.RawWriteStr(fmt.Sprintf("%.6f 0 0 %.6f %.4f %.4f cm", ax, ay, x0*k, (s.o.Grid.Tall*(1-ay)-y0)*k))
}

func (s *sheet) outline(x, y float64) {
	s.SetDrawColor(150, 150, 150)
	s.SetLineWidth(0.1)
	if s.o.Grid.Round {
		s.Circle(x+s.o.Grid.W/2, y+s.o.Grid.H/2, s.o.Grid.W/2, "D")
		return
	}
	s.Rect(x, y, s.o.Grid.W, s.o.Grid.H, "D")
}

// square draws q with its top left dark module at x, y, moved by less than a
// dot so that its modules begin where the printer's dots do. All modules are
// one filled path: seams between them would show.
func (s *sheet) square(q Square, x, y float64) {
	dot := s.o.Printer.dot()
	x, y = math.Round(x/dot)*dot, math.Round(y/dot)*dot
	k := s.GetConversionRatio()
	var b strings.Builder
	fmt.Fprintf(&b, "q 0 g %.6f 0 0 %.6f %.5f %.5f cm\n", q.module*k, -q.module*k, x*k, (s.o.Grid.Tall-y)*k)
	for row := range q.Side {
		for from := 0; from < q.Side; from++ {
			if !q.Dark(from, row) {
				continue
			}
			to := from
			for to < q.Side && q.Dark(to, row) {
				to++
			}
			b.WriteString(strconv.Itoa(from) + " " + strconv.Itoa(row) + " " + strconv.Itoa(to-from) + " 1 re\n")
			from = to
		}
	}
	b.WriteString("f Q")
	s.RawWriteStr(b.String())
}

func (s *sheet) bytes() ([]byte, error) {
	var b bytes.Buffer
	if err := s.Output(&b); err != nil {
		return nil, fmt.Errorf("label: write the PDF: %w", err)
	}
	return b.Bytes(), nil
}

// cautions say what to know about the labels that were drawn. jar is the
// diameter of the thinnest jar, mm.
func (s *sheet) cautions(q Square, jar float64) []figure.Caution {
	var out []figure.Caution
	add := func(code, title, text string, w figure.Weight) {
		out = append(out, figure.Caution{Code: code, Title: title, Text: text, Weight: w})
	}
	if q.module == 0 {
		add("no_square", "No square code on these labels",
			fmt.Sprintf("A phone needs 15 mm with a blank edge around it, in dots that the printer has, and the label is %s x %s mm. Number and code can be typed.", num(s.o.Grid.W), num(s.o.Grid.H)), figure.Care)
	}
	if most, ok := q.curve(jar); !ok {
		add("curve", "The jar is too round for this square",
			fmt.Sprintf("It is %.1f mm wide; on a jar of %.0f mm it should be %.1f mm at most, or it bends out of sight. Stick it on the lid.", q.MM(), jar, most), figure.Care)
	}
	if q.module > 0 && s.o.Address == "" {
		add("no_address", "The squares hold no address",
			"The camera in Pinset's own page reads them; a phone's camera by itself opens nothing. Keep the farm's address first, then print.", figure.Care)
	}
	if s.narrow {
		add("cut", "Some words are cut short", "They did not fit. Number and code are whole.", figure.Note)
	}
	if s.lacks {
		add("letters", "Letters are missing", "A □ stands for a letter that the printed font does not have.", figure.Note)
	}
	return out
}

// printable is text with a box for each letter that the font lacks.
func (s *sheet) printable(text string) string {
	clean := picture.Printable(text)
	s.lacks = s.lacks || clean != text
	return clean
}
