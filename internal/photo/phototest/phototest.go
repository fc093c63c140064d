// Package phototest makes pictures for tests, as phones send them.
package phototest

import (
	"bytes"
	"encoding/binary"
	"image"
	"image/color"
	"image/jpeg"
	"math/rand/v2"
)

// Shot is a picture to make.
type Shot struct {
	Width, Height int    // pixels in the file
	Seed          uint64 // what it shows
	Orientation   int    // as in EXIF; 0 says nothing
	Taken         string // by the camera's clock, such as "2026:03:04 14:30:05"; "" says nothing
}

// JPEG returns a picture with what a camera writes beside it: how it was held,
// when, and where.
func JPEG(s Shot) []byte {
	p := image.NewRGBA(image.Rect(0, 0, s.Width, s.Height))
	chance := rand.New(rand.NewPCG(s.Seed, 1))
	tone := color.RGBA{uint8(80 + chance.IntN(120)), uint8(60 + chance.IntN(120)), uint8(30 + chance.IntN(80)), 255}
	for y := range s.Height {
		for x := range s.Width {
			c := tone
			c.G += uint8(40 * x / s.Width)
			c.R += uint8(40 * y / s.Height)
			p.SetRGBA(x, y, c)
		}
	}
	var b bytes.Buffer
	if err := jpeg.Encode(&b, p, &jpeg.Options{Quality: 85}); err != nil {
		panic(err) // a buffer takes everything
	}
	raw := b.Bytes()
	if s.Orientation == 0 && s.Taken == "" {
		return raw
	}
	body := append([]byte("Exif\x00\x00"), exif(s)...)
	head := binary.BigEndian.AppendUint16([]byte{0xff, 0xd8, 0xff, 0xe1}, uint16(len(body)+2))
	return append(append(head, body...), raw[2:]...)
}

// exif returns two directories of one tag each, and a place on the map.
//
// Source: CIPA DC-008-2019 (Exif 2.32), tables 4 and 8.
func exif(s Shot) []byte {
	const first, second, text = 8, 8 + 2 + 24 + 4, 8 + 2 + 24 + 4 + 2 + 12 + 4
	be := binary.BigEndian
	b := be.AppendUint32([]byte("MM\x00*"), first)
	tag := func(tag, kind uint16, count, value uint32) {
		b = be.AppendUint32(be.AppendUint32(be.AppendUint16(be.AppendUint16(b, tag), kind), count), value)
	}
	b = be.AppendUint16(b, 2)
	tag(0x0112, 3, 1, uint32(max(1, s.Orientation))<<16)
	tag(0x8769, 4, 1, second)
	b = be.AppendUint32(b, 0)
	b = be.AppendUint16(b, 1)
	tag(0x9003, 2, uint32(len(s.Taken)+1), text)
	b = be.AppendUint32(b, 0)
	return append(append(b, s.Taken...), "\x00GPS 51.5 N"...)
}
