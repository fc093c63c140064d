package photo

import (
	"bytes"
	"encoding/binary"
	"regexp"
	"strings"
	"time"
)

// told is the little that is read of what a camera wrote beside its picture.
// Where it was taken, and all else, is passed over.
type told struct {
	orientation   int // 1 to 8; 1 if it was not said
	taken, offset string
}

// The tags that are read. Source: CIPA DC-008-2019 (Exif 2.32), tables 4, 8
// and 11.
const (
	tagOrientation  = 0x0112
	tagExif         = 0x8769 // where the tags of the exposure stand
	tagTaken        = 0x9003 // DateTimeOriginal
	tagTakenOffset  = 0x9011 // OffsetTimeOriginal
	typeASCII       = 2
	typeShort       = 3
	typeLong        = 4
	mostTags        = 512 // in one directory; cameras write a few dozen
	longestTagText  = 32
	exifClock       = "2006:01:02 15:04:05"
	keptClock       = time.DateTime
	bytesInTag      = 12
	bytesBeforeTags = 2
)

var offsetForm = regexp.MustCompile(`^[+-](0\d|1[0-4]):[0-5]\d$`)

// readExif reads what stands in a TIFF structure. What is damaged is left out:
// it is no reason to refuse a picture.
func readExif(raw []byte) told {
	t := told{orientation: 1}
	d, ok := directoryAt(raw)
	if !ok {
		return t
	}
	if n, ok := d.number(tagOrientation); ok && n >= 1 && n <= 8 {
		t.orientation = int(n)
	}
	at, ok := d.number(tagExif)
	if !ok {
		return t
	}
	exposure, ok := d.file.directory(at)
	if !ok {
		return t
	}
	if taken, err := time.Parse(exifClock, exposure.text(tagTaken)); err == nil {
		t.taken = taken.Format(keptClock)
		if o := exposure.text(tagTakenOffset); offsetForm.MatchString(o) {
			t.offset = o
		}
	}
	return t
}

// tiff is a TIFF structure: places in it count from its first byte.
type tiff struct {
	raw   []byte
	order binary.ByteOrder
}

// directory is the tags that stand together.
type directory struct {
	file tiff
	tags []byte // twelve bytes each
}

// directoryAt returns the first directory of raw.
func directoryAt(raw []byte) (directory, bool) {
	if len(raw) < 8 {
		return directory{}, false
	}
	f := tiff{raw: raw}
	switch string(raw[:4]) {
	case "II*\x00":
		f.order = binary.LittleEndian
	case "MM\x00*":
		f.order = binary.BigEndian
	default:
		return directory{}, false
	}
	return f.directory(f.order.Uint32(raw[4:]))
}

// part returns the n bytes at a place, nil if they are not there.
func (f tiff) part(at uint32, n int) []byte {
	from := uint64(at)
	if n < 0 || from > uint64(len(f.raw)) || uint64(n) > uint64(len(f.raw))-from {
		return nil
	}
	return f.raw[from : from+uint64(n)]
}

func (f tiff) directory(at uint32) (directory, bool) {
	head := f.part(at, bytesBeforeTags)
	if head == nil {
		return directory{}, false
	}
	n := int(f.order.Uint16(head))
	tags := f.part(at, bytesBeforeTags+bytesInTag*n)
	if n > mostTags || tags == nil {
		return directory{}, false
	}
	return directory{f, tags[bytesBeforeTags:]}, true
}

// find returns the type, the count and the four bytes of a tag's value.
func (d directory) find(tag uint16) (kind uint16, count uint32, value []byte) {
	for t := d.tags; len(t) >= bytesInTag; t = t[bytesInTag:] {
		if d.file.order.Uint16(t) == tag {
			return d.file.order.Uint16(t[2:]), d.file.order.Uint32(t[4:]), t[8:bytesInTag]
		}
	}
	return 0, 0, nil
}

// number returns the whole number of a tag that holds one.
func (d directory) number(tag uint16) (uint32, bool) {
	kind, count, value := d.find(tag)
	switch {
	case count != 1:
		return 0, false
	case kind == typeShort:
		return uint32(d.file.order.Uint16(value)), true
	case kind == typeLong:
		return d.file.order.Uint32(value), true
	}
	return 0, false
}

// text returns the short text of a tag, "" if it holds none.
func (d directory) text(tag uint16) string {
	kind, count, value := d.find(tag)
	if kind != typeASCII || count == 0 || count > longestTagText {
		return ""
	}
	if count > 4 {
		value = d.file.part(d.file.order.Uint32(value), int(count))
	} else {
		value = value[:count]
	}
	return strings.TrimSpace(string(bytes.TrimRight(value, "\x00")))
}
