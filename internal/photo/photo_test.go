package photo

import (
	"bytes"
	"encoding/binary"
	"errors"
	"hash/crc32"
	"image"
	"image/color"
	"image/jpeg"
	"image/png"
	"runtime"
	"strings"
	"testing"
)

// The corners of the picture that the tests look at, as seen.
var corners = map[image.Point]color.RGBA{
	{0, 0}: {200, 30, 30, 255}, {1, 0}: {30, 180, 30, 255},
	{0, 1}: {30, 30, 200, 255}, {1, 1}: {220, 210, 40, 255},
}

// scene is what is seen, w by h: a colour in each quarter.
func scene(w, h int) *image.RGBA {
	p := image.NewRGBA(image.Rect(0, 0, w, h))
	for y := range h {
		for x := range w {
			p.SetRGBA(x, y, corners[image.Pt(2*x/w, 2*y/h)])
		}
	}
	return p
}

// sides says for each orientation at which side of what is seen the first row
// and the first column of the file lie.
//
// Source: CIPA DC-008-2019 (Exif 2.32), section 4.6.4.A, tag 274 Orientation.
var sides = map[int][2]string{
	1: {"top", "left"}, 2: {"top", "right"}, 3: {"bottom", "right"}, 4: {"bottom", "left"},
	5: {"left", "top"}, 6: {"right", "top"}, 7: {"right", "bottom"}, 8: {"left", "bottom"},
}

// filed is seen as a camera held in that way writes it.
func filed(seen *image.RGBA, orientation int) *image.RGBA {
	w, h := seen.Rect.Dx(), seen.Rect.Dy()
	rows, columns := h, w
	if orientation >= 5 {
		rows, columns = w, h
	}
	out := image.NewRGBA(image.Rect(0, 0, columns, rows))
	for row := range rows {
		for column := range columns {
			x, y := 0, 0
			for i, side := range sides[orientation] {
				switch away := [2]int{row, column}[i]; side {
				case "top":
					y = away
				case "bottom":
					y = h - 1 - away
				case "left":
					x = away
				case "right":
					x = w - 1 - away
				}
			}
			out.SetRGBA(column, row, seen.RGBAAt(x, y))
		}
	}
	return out
}

// exif is a TIFF structure as cameras write it, with a place on the map that
// must not be kept.
func exif(order binary.AppendByteOrder, orientation int, taken, offset string) []byte {
	magic := "MM\x00*"
	if order == binary.AppendByteOrder(binary.LittleEndian) {
		magic = "II*\x00"
	}
	b := order.AppendUint32([]byte(magic), 8)
	entry := func(tag, kind uint16, count, value uint32) {
		b = order.AppendUint16(order.AppendUint16(b, tag), kind)
		b = order.AppendUint32(order.AppendUint32(b, count), value)
	}
	short := func(v int) uint32 { // left-justified in its four bytes
		w := order.AppendUint16(nil, uint16(v))
		return le(order, append(w, 0, 0))
	}
	const second = 8 + 2 + 2*12 + 4
	text := uint32(second + 2 + 2*12 + 4)
	b = order.AppendUint16(b, 2)
	entry(tagOrientation, typeShort, 1, short(orientation))
	entry(tagExif, typeLong, 1, second)
	b = order.AppendUint32(b, 0)
	b = order.AppendUint16(b, 2)
	entry(tagTaken, typeASCII, uint32(len(taken)+1), text)
	entry(tagTakenOffset, typeASCII, uint32(len(offset)+1), text+uint32(len(taken)+1))
	b = order.AppendUint32(b, 0)
	b = append(append(b, taken...), 0)
	b = append(append(b, offset...), 0)
	return append(b, "GPS 51.5007 N"...)
}

// le reads four bytes as order does.
func le(order binary.AppendByteOrder, b []byte) uint32 {
	if order == binary.AppendByteOrder(binary.LittleEndian) {
		return binary.LittleEndian.Uint32(b)
	}
	return binary.BigEndian.Uint32(b)
}

// jpegOf is p as JPEG with tiff in it, nil for none.
func jpegOf(t testing.TB, p image.Image, tiff []byte) []byte {
	t.Helper()
	var b bytes.Buffer
	if err := jpeg.Encode(&b, p, &jpeg.Options{Quality: 95}); err != nil {
		t.Fatal(err)
	}
	raw := b.Bytes()
	if tiff == nil {
		return raw
	}
	body := append([]byte(exifHead), tiff...)
	head := binary.BigEndian.AppendUint16([]byte{0xff, 0xd8, 0xff, markApp1}, uint16(len(body)+2))
	return append(append(head, body...), raw[2:]...)
}

func pngOf(t testing.TB, p image.Image) []byte {
	t.Helper()
	var b bytes.Buffer
	if err := png.Encode(&b, p); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

// upright fails t unless raw shows the scene, w by h.
func upright(t *testing.T, raw []byte, w, h int) {
	t.Helper()
	p, err := jpeg.Decode(bytes.NewReader(raw))
	if err != nil {
		t.Fatal(err)
	}
	if p.Bounds().Dx() != w || p.Bounds().Dy() != h {
		t.Fatalf("it is %v, want %d x %d", p.Bounds(), w, h)
	}
	for at, want := range corners {
		r, g, b, _ := p.At((1+2*at.X)*w/4, (1+2*at.Y)*h/4).RGBA()
		for i, got := range []uint32{r >> 8, g >> 8, b >> 8} {
			const off = 25 // JPEG loses a little, twice
			if d := int(got) - []int{int(want.R), int(want.G), int(want.B)}[i]; d > off || d < -off {
				t.Errorf("the quarter at %v is %d %d %d, want %v", at, r>>8, g>>8, b>>8, want)
			}
		}
	}
}

func TestEveryOrientationStandsUpright(t *testing.T) {
	for o := 1; o <= 8; o++ {
		for _, order := range []binary.AppendByteOrder{binary.LittleEndian, binary.BigEndian} {
			raw := jpegOf(t, filed(scene(300, 200), o), exif(order, o, "2026:03:04 14:30:05", "+01:00"))
			p, err := Read(raw)
			if err != nil {
				t.Fatalf("orientation %d: %v", o, err)
			}
			upright(t, p.Whole, 300, 200)
			upright(t, p.Small, 240, 160)
			if p.Width != 300 || p.Height != 200 || p.Taken != "2026-03-04 14:30:05" || p.Offset != "+01:00" {
				t.Errorf("orientation %d: %d x %d, taken %q %q", o, p.Width, p.Height, p.Taken, p.Offset)
			}
		}
	}
}

func TestThreeSizes(t *testing.T) {
	p, err := Read(jpegOf(t, scene(4000, 3000), nil))
	if err != nil {
		t.Fatal(err)
	}
	upright(t, p.Whole, 2560, 1920)
	upright(t, p.Middle, 960, 720)
	upright(t, p.Small, 240, 180)
	if p.Taken != "" || p.Offset != "" {
		t.Errorf("taken %q %q, want nothing said", p.Taken, p.Offset)
	}
}

func TestASliverKeepsAPixel(t *testing.T) {
	p, err := Read(jpegOf(t, scene(6000, 2), nil))
	if err != nil {
		t.Fatal(err)
	}
	if p.Width != 2560 || p.Height != 1 {
		t.Errorf("%d x %d", p.Width, p.Height)
	}
}

func TestOtherForms(t *testing.T) {
	seen := scene(64, 48)
	withExif := func() []byte { // a PNG with what a camera says
		raw := pngOf(t, filed(seen, 6))
		body := append([]byte("eXIf"), exif(binary.BigEndian, 6, "2026:03:04 14:30:05", "")...)
		chunk := binary.BigEndian.AppendUint32(nil, uint32(len(body)-4))
		chunk = append(chunk, body...)
		chunk = binary.BigEndian.AppendUint32(chunk, crc32.ChecksumIEEE(body))
		const head = 8 + 8 + 13 + 4 // signature and IHDR
		return append(append(append([]byte{}, raw[:head]...), chunk...), raw[head:]...)
	}
	p, err := Read(withExif())
	if err != nil {
		t.Fatal(err)
	}
	upright(t, p.Whole, 64, 48)
	if p.Taken != "2026-03-04 14:30:05" {
		t.Errorf("taken %q", p.Taken)
	}
	grey := image.NewGray(image.Rect(0, 0, 10, 10))
	if p, err := Read(jpegOf(t, grey, nil)); err != nil || p.Width != 10 {
		t.Errorf("a grey picture: %v", err)
	}
	clear := image.NewNRGBA(image.Rect(0, 0, 10, 10)) // nothing in it: white paper
	p, err = Read(pngOf(t, clear))
	if err != nil {
		t.Fatal(err)
	}
	white, err := jpeg.Decode(bytes.NewReader(p.Whole))
	if err != nil {
		t.Fatal(err)
	}
	if r, _, _, _ := white.At(5, 5).RGBA(); r>>8 < 250 {
		t.Errorf("what is clear became %d, want white", r>>8)
	}
}

// TestWebP reads one grey pixel as lossless WebP, with what a camera says.
//
// Source: written by hand after RFC 9649, section 3: signature 0x2f, 1 x 1
// pixels, no transform, no cache, and five codes of one symbol each.
func TestWebP(t *testing.T) {
	// The bits, least first: width-1 (14), height-1 (14), alpha (1), version
	// (3), transform (1), cache (1), meta codes (1), then for each of green,
	// red, blue, alpha and distance a simple code: 1, symbols-1, is 8 bits, symbol.
	var bits []byte
	put := func(v, n int) {
		for i := range n {
			bits = append(bits, byte(v>>i&1))
		}
	}
	put(0, 14)
	put(0, 14)
	put(0, 1)
	put(0, 3)
	put(0, 3)
	for _, symbol := range []int{128, 128, 128, 255} {
		put(1, 1)
		put(0, 1)
		put(1, 1)
		put(symbol, 8)
	}
	put(1, 1)
	put(0, 1)
	put(0, 1)
	put(0, 1)
	data := []byte{0x2f}
	for i := 0; i < len(bits); i += 8 {
		var b byte
		for k := range min(8, len(bits)-i) {
			b |= bits[i+k] << k
		}
		data = append(data, b)
	}
	chunk := func(name string, body []byte) []byte {
		out := binary.LittleEndian.AppendUint32([]byte(name), uint32(len(body)))
		out = append(out, body...)
		if len(body)%2 == 1 {
			out = append(out, 0)
		}
		return out
	}
	body := append([]byte("WEBP"), chunk("VP8L", data)...)
	body = append(body, chunk("EXIF", exif(binary.LittleEndian, 1, "2026:03:04 14:30:05", ""))...)
	raw := append(binary.LittleEndian.AppendUint32([]byte("RIFF"), uint32(len(body))), body...)
	p, err := Read(raw)
	if err != nil {
		t.Fatal(err)
	}
	if p.Width != 1 || p.Height != 1 || p.Taken != "2026-03-04 14:30:05" {
		t.Errorf("%d x %d, taken %q", p.Width, p.Height, p.Taken)
	}
}

// TestNothingElseIsKept looks for what the file carried beside its pixels.
func TestNothingElseIsKept(t *testing.T) {
	raw := append(jpegOf(t, scene(300, 200), exif(binary.BigEndian, 1, "2026:03:04 14:30:05", "")), "<script>alert(1)</script>PK\x03\x04"...)
	p, err := Read(raw)
	if err != nil {
		t.Fatal(err)
	}
	for _, kept := range [][]byte{p.Whole, p.Middle, p.Small} {
		for _, trace := range []string{"Exif", "GPS", "2026", "<script", "PK\x03\x04"} {
			if bytes.Contains(kept, []byte(trace)) {
				t.Errorf("%q is still in the file", trace)
			}
		}
	}
}

func TestSameFileGivesSamePicture(t *testing.T) {
	raw := jpegOf(t, scene(800, 600), nil)
	a, err := Read(raw)
	if err != nil {
		t.Fatal(err)
	}
	b, err := Read(raw)
	if err != nil {
		t.Fatal(err)
	}
	if !bytes.Equal(a.Whole, b.Whole) || !bytes.Equal(a.Small, b.Small) {
		t.Error("read twice it differs: a photo sent twice would be kept twice")
	}
}

// wide is raw with other measures in its header.
func wideJPEG(raw []byte, w, h int) []byte {
	out := bytes.Clone(raw)
	at := bytes.Index(out, []byte{0xff, 0xc0})
	if at < 0 {
		at = bytes.Index(out, []byte{0xff, markProgressive})
	}
	binary.BigEndian.PutUint16(out[at+5:], uint16(h))
	binary.BigEndian.PutUint16(out[at+7:], uint16(w))
	return out
}

func widePNG(raw []byte, w, h int) []byte {
	out := bytes.Clone(raw)
	binary.BigEndian.PutUint32(out[16:], uint32(w))
	binary.BigEndian.PutUint32(out[20:], uint32(h))
	binary.BigEndian.PutUint32(out[29:], crc32.ChecksumIEEE(out[12:29]))
	return out
}

func TestWhatIsNotTaken(t *testing.T) {
	whole := jpegOf(t, scene(300, 200), nil)
	manyPasses := bytes.Clone(whole)
	for range mostScans + 1 {
		manyPasses = append(manyPasses, 0xff, markScan)
	}
	passes := bytes.Clone(whole)
	passes[bytes.Index(passes, []byte{0xff, 0xc0})+1] = markProgressive
	for _, c := range []struct {
		name string
		raw  []byte
		want error
	}{
		{"nothing", nil, ErrFormat},
		{"a page", []byte("<!DOCTYPE html><script>alert(1)</script>"), ErrFormat},
		{"a drawing", []byte(`<svg xmlns="http://www.w3.org/2000/svg" onload="alert(1)"/>`), ErrFormat},
		{"GIF", []byte("GIF89a\x01\x00\x01\x00\x00\x00\x00;"), ErrFormat},
		{"a page called JPEG", append([]byte("\xff\xd8\xff"), "<html>"...), ErrBroken},
		{"HEIC", []byte("\x00\x00\x00\x18ftypheic\x00\x00\x00\x00mif1heic"), ErrApple},
		{"HEIC of several", []byte("\x00\x00\x00\x18ftypmif1\x00\x00\x00\x00mif1heic"), ErrApple},
		{"AVIF", []byte("\x00\x00\x00\x1cftypavif\x00\x00\x00\x00avifmif1"), ErrAVIF},
		{"cut off", whole[:len(whole)/2], ErrBroken},
		{"cut in its header", whole[:30], ErrBroken},
		{"PNG cut off", pngOf(t, scene(300, 200))[:200], ErrBroken},
		{"WebP cut off", []byte("RIFF\x10\x00\x00\x00WEBPVP8 \x04\x00\x00\x00abcd"), ErrBroken},
		{"12 000 x 12 000", wideJPEG(whole, 12000, 12000), ErrLarge},
		{"12 000 x 12 000 PNG", widePNG(pngOf(t, scene(8, 8)), 12000, 12000), ErrLarge},
		{"65 535 x 65 535", wideJPEG(whole, 65535, 65535), ErrLarge},
		{"PNG of the largest measures", widePNG(pngOf(t, scene(8, 8)), 1<<31-1, 1<<31-1), ErrBroken},
		{"50 megapixels in several passes", wideJPEG(passes, 8000, 6000), ErrLarge},
		{"too many passes", manyPasses, ErrLarge},
		{"no pixels", wideJPEG(whole, 0, 0), ErrBroken},
	} {
		if _, err := Read(c.raw); !errors.Is(err, c.want) {
			t.Errorf("%s: %v, want %v", c.name, err, c.want)
		}
	}
}

// TestBombsCostNothing: what a header alone refuses takes no memory.
func TestBombsCostNothing(t *testing.T) {
	bomb := widePNG(pngOf(t, scene(8, 8)), 12000, 12000)
	const runs, most = 100, 64 << 10
	var before, after runtime.MemStats
	runtime.ReadMemStats(&before)
	for range runs {
		if _, err := Read(bomb); !errors.Is(err, ErrLarge) {
			t.Fatal(err)
		}
	}
	runtime.ReadMemStats(&after)
	if took := (after.TotalAlloc - before.TotalAlloc) / runs; took > most {
		t.Errorf("refusing it took %d bytes, want at most %d", took, most)
	}
}

func TestDamagedExifIsLeftOut(t *testing.T) {
	good := exif(binary.LittleEndian, 6, "2026:03:04 14:30:05", "+01:00")
	if got := readExif(good); got != (told{6, "2026-03-04 14:30:05", "+01:00"}) {
		t.Fatalf("the sound one says %+v", got)
	}
	for _, c := range []struct {
		name string
		raw  []byte
		want told
	}{
		{"none", nil, told{orientation: 1}},
		{"cut", good[:12], told{orientation: 1}},
		{"a clock that was never set", exif(binary.BigEndian, 1, "0000:00:00 00:00:00", ""), told{orientation: 1}},
		{"a clock of blanks", exif(binary.BigEndian, 3, "    :  :     :  :  ", ""), told{orientation: 3}},
		{"no such orientation", exif(binary.BigEndian, 9, "2026:03:04 14:30:05", "mid"), told{1, "2026-03-04 14:30:05", ""}},
		{"an offset that no zone has", exif(binary.BigEndian, 1, "2026:03:04 14:30:05", "+99:00"), told{1, "2026-03-04 14:30:05", ""}},
		{"a place beyond its end", append([]byte("II*\x00"), 0xff, 0xff, 0xff, 0xff), told{orientation: 1}},
		{"too many tags", append([]byte("II*\x00\x08\x00\x00\x00\xff\xff"), make([]byte, 12*0xffff)...), told{orientation: 1}},
	} {
		if got := readExif(c.raw); got != c.want {
			t.Errorf("%s: %+v, want %+v", c.name, got, c.want)
		}
	}
}

func FuzzReadExif(f *testing.F) {
	for _, order := range []binary.AppendByteOrder{binary.LittleEndian, binary.BigEndian} {
		f.Add(exif(order, 6, "2026:03:04 14:30:05", "+01:00"))
	}
	f.Add([]byte("II*\x00\x08\x00\x00\x00\x01\x00"))
	f.Fuzz(func(t *testing.T, raw []byte) {
		got := readExif(raw)
		if got.orientation < 1 || got.orientation > 8 || len(got.taken) > 0 && len(got.taken) != len(keptClock) || len(got.offset) > 6 {
			t.Errorf("%+v", got)
		}
	})
}

// FuzzContainers walks what holds pictures: no file may end the program.
func FuzzContainers(f *testing.F) {
	f.Add(jpegOf(f, scene(8, 8), exif(binary.LittleEndian, 6, "2026:03:04 14:30:05", "")))
	f.Add(pngOf(f, scene(8, 8)))
	f.Add([]byte("RIFF\x10\x00\x00\x00WEBPEXIF\x04\x00\x00\x00abcd"))
	f.Fuzz(func(t *testing.T, raw []byte) {
		for _, find := range []func([]byte) []byte{exifOfJPEG, exifOfPNG, exifOfWebP} {
			if found := find(raw); len(found) > len(raw) {
				t.Errorf("found %d bytes in %d", len(found), len(raw))
			}
		}
		if _, scans := frameOfJPEG(raw); scans > len(raw)/2 {
			t.Errorf("%d passes in %d bytes", scans, len(raw))
		}
	})
}

func BenchmarkRead(b *testing.B) {
	for _, c := range []struct {
		name string
		w, h int
	}{{"12MP", 4032, 3024}, {"2MP", 1600, 1200}} {
		raw := jpegOf(b, scene(c.w, c.h), nil)
		b.Run(c.name, func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				if _, err := Read(raw); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}

func TestErrorsSayWhatIsWrong(t *testing.T) {
	_, err := Read(widePNG(pngOf(t, scene(8, 8)), 12000, 12000))
	if err == nil || !strings.Contains(err.Error(), "12000 x 12000") {
		t.Errorf("error %v does not say the measures", err)
	}
}
