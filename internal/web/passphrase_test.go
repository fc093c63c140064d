package web

import (
	"encoding/hex"
	"net/http"
	"net/url"
	"strings"
	"testing"
	"time"
)

// TestPassphraseIsStretched compares with OpenSSL's Argon2id of 2 passes,
// 19 456 KiB and 1 lane, called by Python's cryptography 48.0.0:
//
//	Argon2id(salt=b"sixteen of chanc", length=32, iterations=2, lanes=1,
//		memory_cost=19*1024).derive(b"oak and barley").hex()
func TestPassphraseIsStretched(t *testing.T) {
	const want = "16d481f047384e97afb61289455fe20463a0824b4c16b6227e1e46d6a2aefbe4"
	if got := hex.EncodeToString(stretch("oak and barley", []byte("sixteen of chanc"))); got != want {
		t.Errorf("stretched to %s, want %s", got, want)
	}
	a, b := must[*door](t)(newDoor(passphrase)), must[*door](t)(newDoor(passphrase))
	if string(a.salt) == string(b.salt) || len(a.salt) != 16 {
		t.Errorf("salts %x and %x", a.salt, b.salt)
	}
}

func TestCheckPassphrase(t *testing.T) {
	for _, c := range []struct {
		passphrase, refused string // part of the sentence, "" if it may
	}{
		{"", ""},
		{"oak and barley", ""},
		{"elf letters", "at least 12"},
		{"zwölf Zeiche", ""}, // characters, not bytes
		{"紫 陽 花 の 咲 く 庭", ""},
		{strings.Repeat("oak and barley ", 8)[:119] + "and steel", ""}, // 128
		{strings.Repeat("oak and barley ", 8)[:119] + "and steels", "at most 128"},
		{"aaaaaaaaaaaa", "first that somebody"},
		{"abababababab", "first that somebody"},
		{"passwordpassword", "first that somebody"},
		{"Passwordpassword", "first that somebody"},
		{"passwordpasswords", ""},
		{"123456789012", "first that somebody"},
		{"qwertyuiopas", "first that somebody"},
		{"Qwertzuiopas", "first that somebody"},
		{"bcdefghijklmn", "first that somebody"},
		{"Four words that do not belong together", "first that somebody"},
	} {
		err := checkPassphrase(c.passphrase)
		if (err == nil) != (c.refused == "") || err != nil && !strings.Contains(err.Error(), c.refused) {
			t.Errorf("checkPassphrase(%q) = %v, want %q", c.passphrase, err, c.refused)
		}
	}
}

// TestALongPassphraseIsNotCut tries one that differs in its last character.
func TestALongPassphraseIsNotCut(t *testing.T) {
	long := strings.Repeat("oak and barley ", 8)[:119] + "and steel"
	x := newSite(t, Options{Listen: "0.0.0.0:8470", Passphrase: long})
	for _, wrong := range []string{long[:len(long)-1] + "k", long[:72], long + " ", strings.ReplaceAll(long, " ", "  ")} {
		x.post("/login", url.Values{"passphrase": {wrong}}).status(http.StatusForbidden)
	}
	x.post("/login", url.Values{"passphrase": {long}}).to("/")
}

// TestWrongTriesAreFewInAnHour tries from many addresses: the standard asks
// for at most 100 an hour, and an address alone can not close the door.
func TestWrongTriesAreFewInAnHour(t *testing.T) {
	d := must[*door](t)(newDoor(passphrase))
	start := time.Unix(1e9, 0)
	tries := make(map[string]int)
	all := 0
	for second := 0; second < 3600; second += 2 {
		now := start.Add(time.Duration(second) * time.Second)
		for _, who := range []string{"10.0.0.2", "10.0.0.3", "10.0.0.4"} {
			if d.mayTry(who, now) == 0 {
				d.wrong.take(who, now)
				tries[who]++
				all++
			}
		}
	}
	if all > 100 || all != wrongAll || tries["10.0.0.2"] > wrongEach {
		t.Errorf("%d wrong tries in an hour, %v", all, tries)
	}
	if wait := d.mayTry("10.0.0.9", start.Add(50*time.Minute)); wait != 10*time.Minute {
		t.Errorf("another has to wait %v, want 10 minutes", wait)
	}
	if wait := d.mayTry("10.0.0.9", start.Add(time.Hour)); wait != 0 {
		t.Errorf("after an hour %v are to be waited", wait)
	}
}

// TestOneAddressDoesNotCloseTheDoor uses up what one address may try.
func TestOneAddressDoesNotCloseTheDoor(t *testing.T) {
	d := must[*door](t)(newDoor(passphrase))
	now := time.Unix(1e9, 0)
	for range 100 {
		now = now.Add(10 * time.Second)
		if d.mayTry("10.0.0.2", now) == 0 {
			d.wrong.take("10.0.0.2", now)
		}
	}
	if wait := d.mayTry("10.0.0.3", now); wait != 0 {
		t.Errorf("the others wait %v", wait)
	}
	if wait := d.mayTry("10.0.0.2", now); wait == 0 {
		t.Error("it may go on")
	}
}
