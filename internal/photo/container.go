package photo

import (
	"bytes"
	"encoding/binary"
	"strings"
)

// frame says how a JPEG is packed.
type frame int

const (
	sequential frame = iota
	progressive
)

// Markers of a JPEG. Source: ITU-T T.81, table B.1.
const (
	markProgressive = 0xc2
	markScan        = 0xda
	markEnd         = 0xd9
	markApp1        = 0xe1
)

const exifHead = "Exif\x00\x00"

// segments calls f for each segment before the first scan, until f returns
// false. body is what stands behind the two bytes of its length.
func segments(raw []byte, f func(mark byte, body []byte) bool) {
	for at := 2; at+4 <= len(raw); {
		if raw[at] != 0xff {
			return
		}
		mark := raw[at+1]
		if mark == 0xff { // filling
			at++
			continue
		}
		if mark == markScan || mark == markEnd {
			return
		}
		n := int(binary.BigEndian.Uint16(raw[at+2:]))
		if n < 2 || at+2+n > len(raw) || !f(mark, raw[at+4:at+2+n]) {
			return
		}
		at += 2 + n
	}
}

// frameOfJPEG returns how raw is packed, and how many passes it seems to
// have. Within the packed pixels 0xff is followed by a zero, so that a mark
// of a scan is one, or stands in a small picture within the file.
func frameOfJPEG(raw []byte) (f frame, scans int) {
	segments(raw, func(mark byte, _ []byte) bool {
		if mark == markProgressive {
			f = progressive
		}
		return true
	})
	return f, bytes.Count(raw, []byte{0xff, markScan})
}

func exifOfJPEG(raw []byte) (found []byte) {
	segments(raw, func(mark byte, body []byte) bool {
		if mark == markApp1 && bytes.HasPrefix(body, []byte(exifHead)) {
			found = body[len(exifHead):]
		}
		return found == nil
	})
	return found
}

// exifOfPNG reads the chunk eXIf. Source: PNG, third edition, section 11.3.4.5.
func exifOfPNG(raw []byte) []byte {
	const head, before, after = 8, 8, 4 // the signature; length and name; checksum
	for at := head; at+before <= len(raw); {
		n := uint64(binary.BigEndian.Uint32(raw[at:]))
		if n > uint64(len(raw)-at-before) {
			return nil
		}
		body := raw[at+before:][:n]
		switch string(raw[at+4 : at+before]) {
		case "eXIf":
			return body
		case "IEND":
			return nil
		}
		at += before + int(n) + after
	}
	return nil
}

// exifOfWebP reads the chunk EXIF. Source: WebP container, RFC 9649, section 2.7.
func exifOfWebP(raw []byte) []byte {
	const head, before = 12, 8
	for at := head; at+before <= len(raw); {
		n := uint64(binary.LittleEndian.Uint32(raw[at+4:]))
		if n > uint64(len(raw)-at-before) {
			return nil
		}
		body := raw[at+before:][:n]
		if string(raw[at:at+4]) == "EXIF" {
			return []byte(strings.TrimPrefix(string(body), exifHead))
		}
		at += before + int(n+n%2)
	}
	return nil
}
