// Package scan reads the QR symbol in a picture, for phones whose browser
// gives the page no camera: they send a photograph instead.
package scan

import (
	"errors"
	"fmt"
	"image"

	"github.com/makiuchi-d/gozxing"
	"github.com/makiuchi-d/gozxing/qrcode"

	"pinset/internal/photo"
)

// Why a picture gives nothing.
var (
	ErrFormat = errors.New("the picture is no JPEG, PNG or WebP that can be read")
	ErrLarge  = errors.New("the picture is too large to be unpacked")
	ErrNone   = errors.New("no square code is seen in the picture")
)

// Read returns the text of the QR symbol in the picture that raw holds. The
// error is ErrFormat, ErrLarge or ErrNone. What a picture unfolds to is bounded
// as for photos that are kept.
func Read(raw []byte) (string, error) {
	seen, err := photo.Unpack(raw)
	switch {
	case errors.Is(err, photo.ErrLarge):
		return "", fmt.Errorf("%w: %w", ErrLarge, err)
	case err != nil:
		return "", fmt.Errorf("%w: %w", ErrFormat, err)
	}
	return Image(seen)
}

// Image returns the text of the QR symbol in a picture, or ErrNone. It looks
// at the picture in several sizes: a symbol that fills a sharp picture is
// read best when it is small, one in a corner when it is large.
func Image(picture image.Image) (string, error) {
	for _, longest := range []int{900, 1800, 3600} {
		grey := shrink(picture, longest)
		for _, hints := range []map[gozxing.DecodeHintType]any{nil, {gozxing.DecodeHintType_TRY_HARDER: true}} {
			if text, err := decode(grey, hints); err == nil {
				return text, nil
			}
		}
		if b := picture.Bounds(); max(b.Dx(), b.Dy()) <= longest {
			break
		}
	}
	return "", ErrNone
}

func decode(grey *image.Gray, hints map[gozxing.DecodeHintType]any) (text string, err error) {
	bitmap, err := gozxing.NewBinaryBitmapFromImage(grey)
	if err != nil {
		return "", err
	}
	defer func() { // a picture from outside must not end the program
		if p := recover(); p != nil {
			err = fmt.Errorf("scan: %v", p)
		}
	}()
	result, err := qrcode.NewQRCodeReader().Decode(bitmap, hints)
	if err != nil {
		return "", err
	}
	return result.GetText(), nil
}

// shrink returns the picture in grey, its longer side no longer than longest:
// each pixel is the mean of those that it stands for.
func shrink(picture image.Image, longest int) *image.Gray {
	b := picture.Bounds()
	factor := max(1, (max(b.Dx(), b.Dy())+longest-1)/longest)
	w, h := max(1, b.Dx()/factor), max(1, b.Dy()/factor)
	out := image.NewGray(image.Rect(0, 0, w, h))
	light := lightOf(picture)
	for y := range h {
		for x := range w {
			sum := 0
			for dy := range factor {
				for dx := range factor {
					sum += int(light(min(b.Max.X-1, b.Min.X+x*factor+dx), min(b.Max.Y-1, b.Min.Y+y*factor+dy)))
				}
			}
			out.Pix[y*out.Stride+x] = uint8(sum / (factor * factor))
		}
	}
	return out
}

// lightOf returns how bright a pixel is, 0 to 255. JPEG keeps it as such.
func lightOf(picture image.Image) func(x, y int) uint8 {
	switch p := picture.(type) {
	case *image.YCbCr:
		return func(x, y int) uint8 { return p.Y[p.YOffset(x, y)] }
	case *image.Gray:
		return func(x, y int) uint8 { return p.Pix[p.PixOffset(x, y)] }
	}
	return func(x, y int) uint8 {
		r, g, b, _ := picture.At(x, y).RGBA()
		return uint8((299*r + 587*g + 114*b) / 1000 >> 8) // ITU-R BT.601
	}
}
