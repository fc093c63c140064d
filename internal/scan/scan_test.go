package scan

import (
	"bytes"
	"encoding/binary"
	"errors"
	"hash/crc32"
	"image"
	"image/color"
	"image/draw"
	"image/jpeg"
	"image/png"
	"math/rand/v2"
	"testing"

	"github.com/makiuchi-d/gozxing"
	"github.com/makiuchi-d/gozxing/qrcode"
)

const address = "HTTP://192.168.1.20:8470/J/K73QF"

// shotOf is a picture of a symbol of px pixels a side, on a grey ground of w x
// h, unevenly lit and noisy as a photograph is.
func shotOf(t testing.TB, px, w, h, x0, y0 int) *image.Gray {
	t.Helper()
	m, err := qrcode.NewQRCodeWriter().EncodeWithoutHint(address, gozxing.BarcodeFormat_QR_CODE, px, px)
	if err != nil {
		t.Fatal(err)
	}
	out := image.NewGray(image.Rect(0, 0, w, h))
	draw.Draw(out, out.Bounds(), image.NewUniform(color.Gray{120}), image.Point{}, draw.Src)
	r := rand.New(rand.NewPCG(1, 2))
	for y := range px {
		for x := range px {
			v := 205
			if m.Get(x, y) {
				v = 45
			}
			v += (x0+x)*30/w - r.IntN(20)
			out.SetGray(x0+x, y0+y, color.Gray{uint8(v)})
		}
	}
	return out
}

func encoded(t testing.TB, p image.Image) []byte {
	t.Helper()
	var b bytes.Buffer
	if err := jpeg.Encode(&b, p, nil); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

func pngOf(t testing.TB, p image.Image) []byte {
	t.Helper()
	var b bytes.Buffer
	if err := png.Encode(&b, p); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

func TestRead(t *testing.T) {
	for name, p := range map[string]*image.Gray{
		"fills it":          shotOf(t, 800, 1000, 1000, 100, 100),
		"phone, in a sharp": shotOf(t, 1200, 4000, 3000, 1400, 900),
		"phone, small":      shotOf(t, 330, 4000, 3000, 3100, 2200),
	} {
		if got, err := Read(encoded(t, p)); err != nil || got != address {
			t.Errorf("%s: %q, %v, want %q", name, got, err, address)
		}
	}
	var b bytes.Buffer
	if err := png.Encode(&b, shotOf(t, 400, 600, 600, 50, 60)); err != nil {
		t.Fatal(err)
	}
	if got, err := Read(b.Bytes()); err != nil || got != address {
		t.Errorf("PNG: %q, %v, want %q", got, err, address)
	}
}

// A picture on its side is read as well: phones turn them.
func TestReadTurned(t *testing.T) {
	p := shotOf(t, 500, 700, 900, 60, 80)
	turned := image.NewGray(image.Rect(0, 0, 900, 700))
	for y := range 900 {
		for x := range 700 {
			turned.SetGray(899-y, x, p.GrayAt(x, y))
		}
	}
	if got, err := Image(turned); err != nil || got != address {
		t.Errorf("turned: %q, %v, want %q", got, err, address)
	}
}

func TestReadNothing(t *testing.T) {
	bare := image.NewGray(image.Rect(0, 0, 500, 300))
	if _, err := Read(encoded(t, bare)); !errors.Is(err, ErrNone) {
		t.Errorf("a bare picture: %v, want ErrNone", err)
	}
	for name, raw := range map[string][]byte{"gif": []byte("GIF89a\x01\x00\x01\x00\x00\x00\x00"), "text": []byte("hello"), "nothing": nil, "cut off": encoded(t, shotOf(t, 400, 600, 600, 50, 60))[:900]} {
		if _, err := Read(raw); !errors.Is(err, ErrFormat) {
			t.Errorf("%s: %v, want ErrFormat", name, err)
		}
	}
	// The head of a JPEG that claims 30000 x 30000 pixels.
	huge := encoded(t, image.NewGray(image.Rect(0, 0, 8, 8)))
	at := bytes.Index(huge, []byte{0xff, 0xc0})
	copy(huge[at+5:], []byte{0x75, 0x30, 0x75, 0x30})
	if _, err := Read(huge); !errors.Is(err, ErrLarge) {
		t.Errorf("900 megapixels: %v, want ErrLarge", err)
	}
	// Few bytes, and within the pixels: a PNG of 16 bits that unpacks to half a gigabyte.
	deep := pngOf(t, image.NewNRGBA64(image.Rect(0, 0, 8, 8)))
	binary.BigEndian.PutUint32(deep[16:], 8000)
	binary.BigEndian.PutUint32(deep[20:], 7000)
	binary.BigEndian.PutUint32(deep[29:], crc32.ChecksumIEEE(deep[12:29]))
	if _, err := Read(deep); !errors.Is(err, ErrLarge) {
		t.Errorf("56 megapixels of 16 bits: %v, want ErrLarge", err)
	}
}

func FuzzRead(f *testing.F) {
	f.Add(encoded(f, shotOf(f, 200, 240, 240, 10, 10)))
	f.Add([]byte("\x89PNG\r\n\x1a\n"))
	f.Fuzz(func(t *testing.T, raw []byte) {
		if len(raw) < 100_000 {
			_, _ = Read(raw)
		}
	})
}

func BenchmarkRead12Megapixels(b *testing.B) {
	raw := encoded(b, shotOf(b, 900, 4000, 3000, 1400, 900))
	for b.Loop() {
		if _, err := Read(raw); err != nil {
			b.Fatal(err)
		}
	}
}
