package ingest

import (
	"bytes"
	"cmp"
	"encoding/binary"
	"fmt"
	"io"
	"strings"
	"unicode/utf16"
	"unicode/utf8"

	"pinset/internal/figure"
	"pinset/internal/lab"
	"pinset/internal/workbook"
)

const saveAsCSV = "open it in the spreadsheet and save the sheet as CSV (UTF-8)"

// readRaw returns all of src, bounded.
func readRaw(src io.Reader) ([]byte, error) {
	raw, err := io.ReadAll(io.LimitReader(src, maxBytes+1))
	if err != nil {
		return nil, fmt.Errorf("read the sheet: %w", err)
	}
	if len(raw) > maxBytes {
		return nil, lab.Invalidf("file", "save it in parts, by batch or by year", "the file is larger than %d MB", maxBytes>>20)
	}
	return raw, nil
}

// readText returns all of src as text.
func readText(src io.Reader) (string, []figure.Caution, error) {
	raw, err := readRaw(src)
	if err != nil {
		return "", nil, err
	}
	return textOf(raw)
}

// textOf returns raw as UTF-8 without a byte order mark, and doubts about its
// letters. UTF-16 needs a byte order mark. What is neither UTF-16 nor UTF-8
// is taken for Windows-1252.
func textOf(raw []byte) (string, []figure.Caution, error) {
	if order := byteOrder(raw); order != nil {
		return fromUTF16(raw[2:], order)
	}
	raw = bytes.TrimPrefix(raw, []byte("\xEF\xBB\xBF"))
	switch {
	case workbook.Is(raw):
		return "", nil, lab.Invalidf("file", saveAsCSV, "the file is a spreadsheet or an archive, not CSV")
	case bytes.IndexByte(raw, 0) >= 0:
		return "", nil, lab.Invalidf("file", saveAsCSV, "the file holds bytes that are no text")
	case utf8.Valid(raw):
		return string(raw), nil, nil
	}
	return fromBytes(raw)
}

// sheets are the texts of a file as CSV: the file itself, or the sheets of the
// workbook that it is.
type sheets struct {
	texts  []string
	doubts []figure.Caution
	book   *workbook.Book // nil if the file is text
}

func readSheets(src io.Reader) (sheets, error) {
	raw, err := readRaw(src)
	if err != nil {
		return sheets{}, err
	}
	if !workbook.Is(raw) {
		text, doubts, err := textOf(raw)
		return sheets{texts: []string{text}, doubts: doubts}, err
	}
	book, err := workbook.Read(raw)
	if err != nil {
		return sheets{}, lab.Invalidf("file", saveAsCSV, "the file can not be read as a workbook: %v", err)
	}
	out := sheets{book: &book}
	for _, s := range book.Sheets {
		out.texts = append(out.texts, s.CSV)
	}
	return out, nil
}

// readLayout returns the layout of the sheet in src: CSV, or the first sheet
// of a workbook whose header is understood.
func readLayout(src io.Reader, told Aliases) (*layout, []figure.Caution, error) {
	in, err := readSheets(src)
	if err != nil {
		return nil, nil, err
	}
	if in.book != nil {
		return bookLayout(*in.book, told)
	}
	l, err := findLayout(in.texts[0], told)
	return l, in.doubts, err
}

func bookLayout(book workbook.Book, told Aliases) (*layout, []figure.Caution, error) {
	if len(book.Sheets) == 0 {
		return nil, nil, lab.Invalidf("file", "choose the one with your jars", "no sheet of the workbook holds anything")
	}
	var first error
	for i, sheet := range book.Sheets {
		l, err := findLayout(sheet.CSV, told)
		if err == nil {
			return l, bookDoubts(book, i), nil
		}
		first = cmp.Or(first, err)
	}
	return nil, nil, first
}

// bookDoubts says what of a workbook was not read.
func bookDoubts(book workbook.Book, read int) []figure.Caution {
	var out []figure.Caution
	if len(book.Sheets) > 1 {
		var others []string
		for i, s := range book.Sheets {
			if i != read {
				others = append(others, s.Name)
			}
		}
		out = append(out, figure.Caution{
			Code: "other_sheets", Title: "One sheet of several", Weight: figure.Note,
			Text: fmt.Sprintf("The sheet %s is read. Not read: %s. Save the one that you mean as a file of its own.", book.Sheets[read].Name, clip(strings.Join(others, ", "))),
		})
	}
	if book.Macros {
		out = append(out, figure.Caution{
			Code: "macros", Title: "The workbook carries macros", Weight: figure.Note, Text: "They were not looked at. Of a formula its last result is taken.",
		})
	}
	return out
}

// byteOrder returns the order that a UTF-16 byte order mark states, or nil.
func byteOrder(raw []byte) binary.ByteOrder {
	switch {
	case bytes.HasPrefix(raw, []byte{0xFF, 0xFE}):
		return binary.LittleEndian
	case bytes.HasPrefix(raw, []byte{0xFE, 0xFF}):
		return binary.BigEndian
	}
	return nil
}

func fromUTF16(raw []byte, order binary.ByteOrder) (string, []figure.Caution, error) {
	var b strings.Builder
	b.Grow(len(raw))
	damaged := len(raw)%2 == 1
	for len(raw) >= 2 {
		r := rune(order.Uint16(raw))
		raw = raw[2:]
		switch {
		case r == 0:
			return "", nil, lab.Invalidf("file", saveAsCSV, "the file holds bytes that are no text")
		case utf16.IsSurrogate(r):
			low := rune(0)
			if len(raw) >= 2 {
				low = rune(order.Uint16(raw))
			}
			if r = utf16.DecodeRune(r, low); r == utf8.RuneError {
				damaged = true
			} else {
				raw = raw[2:]
			}
		}
		b.WriteRune(r)
	}
	var doubts []figure.Caution
	if damaged {
		doubts = append(doubts, unreadableLetters())
	}
	return b.String(), doubts, nil
}

// fromBytes reads text that is no valid UTF-8: with some sound letters beyond
// ASCII it is damaged UTF-8, with none it is an older one-byte code.
func fromBytes(raw []byte) (string, []figure.Caution, error) {
	for i := 0; i < len(raw); {
		r, n := utf8.DecodeRune(raw[i:])
		if n > 1 && r != utf8.RuneError {
			return strings.ToValidUTF8(string(raw), "\uFFFD"), []figure.Caution{unreadableLetters()}, nil
		}
		i += n
	}
	var b strings.Builder
	b.Grow(len(raw) + len(raw)/8)
	for _, c := range raw {
		if c >= 0x80 && c < 0xA0 {
			b.WriteRune(windows1252[c-0x80])
		} else {
			b.WriteRune(rune(c))
		}
	}
	return b.String(), []figure.Caution{{
		Code: "old_letters", Title: "Old letters", Weight: figure.Note,
		Text: "The file is not in UTF-8 and was read as Windows-1252: look whether letters such as é and signs such as ½ came out right; if not, save it as CSV (UTF-8).",
	}}, nil
}

func unreadableLetters() figure.Caution {
	return figure.Caution{
		Code: "damaged_letters", Title: "Damaged letters", Weight: figure.Care,
		Text: "Some letters of the file could not be read and show as \uFFFD: save it again as CSV (UTF-8) if a name is among them.",
	}
}

// windows1252 holds what the bytes 0x80 to 0x9F stand for; the others stand
// for themselves. Source: the Unicode mapping table of code page 1252, from
// memory; five bytes stand for nothing.
var windows1252 = [32]rune{
	'€', '\uFFFD', '‚', 'ƒ', '„', '…', '†', '‡', 'ˆ', '‰', 'Š', '‹', 'Œ', '\uFFFD', 'Ž', '\uFFFD',
	'\uFFFD', '‘', '’', '“', '”', '•', '–', '—', '˜', '™', 'š', '›', 'œ', '\uFFFD', 'ž', 'Ÿ',
}
