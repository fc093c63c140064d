package ingest

import (
	"errors"
	"io"
	"strings"
	"testing"
	"testing/iotest"
	"unicode/utf16"

	"pinset/internal/figure"
)

func TestReadText(t *testing.T) {
	for _, c := range []struct{ raw, want, doubt string }{
		{"jar ½", "jar ½", ""},
		{"\xEF\xBB\xBFjar ½", "jar ½", ""},
		{"\xFF\xFEj\x00\xBD\x00", "j½", ""},
		{"\xFE\xFF\x00j\x00\xBD", "j½", ""},
		{"\xFF\xFE\x3D\xD8\x00\xDE", "😀", ""},              // a pair of surrogates
		{"\xFF\xFE\x3D\xD8x\x00", "�x", "damaged_letters"}, // half a pair
		{"\xFF\xFEj\x00x", "j", "damaged_letters"},         // half a letter
		{"", "", ""},
		{"caf\xE9 \xBD \x93x\x94 \x80", "café ½ “x” €", "old_letters"},
		{"bad \x81", "bad �", "old_letters"},
		{"½ and \xE9", "½ and �", "damaged_letters"},
	} {
		got, doubts, err := readText(strings.NewReader(c.raw))
		if err != nil || got != c.want || (len(doubts) == 1) != (c.doubt != "") || c.doubt != "" && doubts[0].Code != c.doubt {
			t.Errorf("%q: %q %v %v, want %q %q", c.raw, got, doubts, err, c.want, c.doubt)
		}
	}
}

// Letters of every plane come through UTF-16 as the standard library writes it.
func TestUTF16RoundTrip(t *testing.T) {
	text := "jar,½ °C\n茶,\U0001F344,\uFFFD,\U0010FFFF\n"
	for _, big := range []bool{false, true} {
		raw := []byte{0xFF, 0xFE}
		if big {
			raw = []byte{0xFE, 0xFF}
		}
		for _, u := range utf16.Encode([]rune(text)) {
			low, high := byte(u), byte(u>>8)
			if big {
				low, high = high, low
			}
			raw = append(raw, low, high)
		}
		got, doubts, err := readText(strings.NewReader(string(raw)))
		if err != nil || got != text || len(doubts) > 0 {
			t.Errorf("big %t: %q %v %v", big, got, doubts, err)
		}
	}
}

func TestReaderFails(t *testing.T) {
	broken := errors.New("the card was pulled out")
	_, err := ReadJars(io.MultiReader(strings.NewReader("jar\n1\n"), iotest.ErrReader(broken)), "x", asUsual)
	if !errors.Is(err, broken) {
		t.Errorf("%v, want the error of the reader", err)
	}
}

// Doubts about letters reach the sheet.
func TestDoubtfulLetters(t *testing.T) {
	s := read(t, "jar,arm\n1,caf\xE9\n", asUsual)
	if s.Rows[0].Arm != "café" || len(s.Doubts) == 0 || s.Doubts[0].Code != "old_letters" || s.Doubts[0].Weight != figure.Note {
		t.Errorf("%+v", s)
	}
}
