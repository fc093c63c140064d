// Package photo makes a picture that a phone sends fit to be kept: known by
// its content and not by its name, turned upright, and drawn anew in three
// sizes, so that nothing else that the file carried is kept with it.
package photo

import (
	"bytes"
	"errors"
	"fmt"
	"image"
	"image/color"
	"image/jpeg"
	"image/png"
	"io"

	"golang.org/x/image/webp"
)

// The bounds on a picture that is read. They are held by its header, before
// any of it is unpacked.
const (
	MostPixels = 64_000_000 // of any form
	mostMemory = 256 << 20  // bytes that unpacking may take
	mostScans  = 200        // of a JPEG in several passes; cameras write about ten
)

// Why a picture is not taken.
var (
	ErrFormat = errors.New("the file is no JPEG, PNG or WebP picture")
	ErrApple  = errors.New("the picture is HEIC")
	ErrAVIF   = errors.New("the picture is AVIF")
	ErrLarge  = errors.New("the picture has too many pixels")
	ErrBroken = errors.New("the picture can not be read to its end")
)

// Picture is a picture as it is kept: three JPEG files, upright, with nothing
// in them but pixels.
type Picture struct {
	Whole, Middle, Small []byte
	Width, Height        int    // of Whole, pixels
	Taken                string // by the camera's clock, such as "2026-03-04 14:30:05"; "" if it did not say
	Offset               string // of that clock from UTC, such as "+01:00"; "" if it did not say
}

// The longer side of each size, pixels. A smaller picture keeps its size.
const (
	WholeSide  = 2560
	MiddleSide = 960
	SmallSide  = 240
)

// The quality of the JPEG of each size.
const wholeQuality, middleQuality, smallQuality = 84, 80, 76

// Read returns the picture that raw holds. The error is one of those above,
// wrapped. One call may take 256 MB: the caller bounds how many run at once.
func Read(raw []byte) (Picture, error) {
	form, seen, err := unpack(raw)
	if err != nil {
		return Picture{}, err
	}
	told := readExif(form.exif(raw))
	return drawn(seen, told)
}

// Unpack returns the pixels of the picture that raw holds, as they lie there.
// The error, and what it may take, are those of Read.
func Unpack(raw []byte) (image.Image, error) {
	_, seen, err := unpack(raw)
	return seen, err
}

func unpack(raw []byte) (form, image.Image, error) {
	form, err := formOf(raw)
	if err != nil {
		return form, nil, err
	}
	config, err := form.config(bytes.NewReader(raw))
	if err != nil {
		return form, nil, fmt.Errorf("%w: %w", ErrBroken, err)
	}
	if err := fits(raw, form, config); err != nil {
		return form, nil, err
	}
	seen, err := decode(form, raw)
	if err != nil {
		return form, nil, fmt.Errorf("%w: %w", ErrBroken, err)
	}
	return form, seen, nil
}

// decode unpacks a picture. A fault in a decoder must not end the program.
func decode(form form, raw []byte) (seen image.Image, err error) {
	defer func() {
		if p := recover(); p != nil {
			err = fmt.Errorf("photo: %v", p)
		}
	}()
	return form.decode(bytes.NewReader(raw))
}

// drawn returns the three sizes of a picture.
func drawn(seen image.Image, told told) (Picture, error) {
	whole := turn(shrink(seen, WholeSide), told.orientation)
	middle := shrink(whole, MiddleSide)
	small := shrink(middle, SmallSide)
	p := Picture{Width: whole.Rect.Dx(), Height: whole.Rect.Dy(), Taken: told.taken, Offset: told.offset}
	for _, s := range []struct {
		to      *[]byte
		picture *image.RGBA
		quality int
	}{{&p.Whole, whole, wholeQuality}, {&p.Middle, middle, middleQuality}, {&p.Small, small, smallQuality}} {
		var b bytes.Buffer
		if err := jpeg.Encode(&b, s.picture, &jpeg.Options{Quality: s.quality}); err != nil {
			return Picture{}, fmt.Errorf("photo: encode: %w", err)
		}
		*s.to = b.Bytes()
	}
	return p, nil
}

// form is one way in which pictures are packed.
type form struct {
	config func(io.Reader) (image.Config, error)
	decode func(io.Reader) (image.Image, error)
	exif   func(raw []byte) []byte // what the camera said, in the form of TIFF; nil if nothing
	weight func(raw []byte, c image.Config) int
}

// formOf says what raw is by how it begins. Only these forms are tried,
// whatever decoders other packages have registered.
func formOf(raw []byte) (form, error) {
	begins := func(at int, s string) bool { return len(raw) >= at+len(s) && string(raw[at:at+len(s)]) == s }
	switch {
	case begins(0, "\xff\xd8\xff"):
		return form{jpeg.DecodeConfig, jpeg.Decode, exifOfJPEG, weightOfJPEG}, nil
	case begins(0, "\x89PNG\r\n\x1a\n"):
		return form{png.DecodeConfig, png.Decode, exifOfPNG, weightOfPNG}, nil
	case begins(0, "RIFF") && begins(8, "WEBP"):
		return form{webp.DecodeConfig, webp.Decode, exifOfWebP, weightOfWebP}, nil
	case begins(4, "ftypavif"), begins(4, "ftypavis"):
		return form{}, ErrAVIF
	case begins(4, "ftyphe"), begins(4, "ftypmif1"), begins(4, "ftypmsf1"):
		return form{}, ErrApple
	}
	return form{}, ErrFormat
}

// fits refuses what its header says can not be unpacked within the bounds.
func fits(raw []byte, form form, c image.Config) error {
	if c.Width < 1 || c.Height < 1 {
		return fmt.Errorf("%w: it is %d x %d pixels", ErrBroken, c.Width, c.Height)
	}
	if c.Width > MostPixels/c.Height || form.weight(raw, c) > mostMemory/(c.Width*c.Height) {
		return fmt.Errorf("%w: %d x %d", ErrLarge, c.Width, c.Height)
	}
	return nil
}

// weightOfJPEG is the bytes that one pixel takes while a JPEG is unpacked. One
// in several passes keeps 32 bits of every coefficient until the last.
func weightOfJPEG(raw []byte, c image.Config) int {
	channels := 3
	if c.ColorModel == color.CMYKModel {
		channels = 4
	}
	switch frame, scans := frameOfJPEG(raw); {
	case scans > mostScans:
		return mostMemory // each pass takes its time
	case frame == progressive:
		return 5 * channels
	}
	return channels
}

// weightOfPNG counts twice what a pixel takes: an interlaced one is unpacked
// in passes of their own.
func weightOfPNG(_ []byte, c image.Config) int {
	switch c.ColorModel {
	case color.RGBA64Model, color.NRGBA64Model, color.Gray16Model:
		return 16
	}
	return 8
}

func weightOfWebP([]byte, image.Config) int { return 8 }
