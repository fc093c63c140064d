package app

import (
	"context"
	"crypto/subtle"
	"encoding/base64"
	"encoding/json"
	"fmt"
	"io"
	"slices"
	"time"

	"pinset/internal/lab"
	"pinset/internal/store"
)

// TokenRole is what the bearer of a token may do.
type TokenRole string

// The roles of tokens.
const (
	MayRead  TokenRole = "read"  // see records, and compute
	MayEnter TokenRole = "enter" // and write
)

// Token lets one program or device in. The token itself is shown once and not
// kept; its hash is.
type Token struct {
	Name string    `json:"name"`
	Role TokenRole `json:"role"`
	Made time.Time `json:"made"`
	Hash string    `json:"hash"` // SHA-256, hex
}

const settingTokens = "tokens"

func readTokens(ctx context.Context, r store.Reader) ([]Token, error) {
	kept, err := r.Setting(ctx, settingTokens)
	if err != nil || kept == "" {
		return nil, err
	}
	var all []Token
	return all, json.Unmarshal([]byte(kept), &all)
}

// Tokens lists the tokens, the oldest first.
func (f *Farm) Tokens(ctx context.Context) (all []Token, err error) {
	err = f.store.Read(ctx, func(r store.Reader) (err error) {
		all, err = readTokens(ctx, r)
		return err
	})
	return all, err
}

// tokenMark begins every token, so that one that leaks can be told for what it is.
const tokenMark = "pinset_"

// AddToken makes a token and returns it: the only time that it is told.
func (f *Farm) AddToken(ctx context.Context, name string, role TokenRole) (string, error) {
	name, err := lab.Name("token", name)
	if err != nil {
		return "", err
	}
	if role != MayRead && role != MayEnter {
		return "", lab.Invalidf("role", "choose read or enter", "%q is no role of a token", clipTyped(string(role)))
	}
	secret := make([]byte, 32)
	if _, err := io.ReadFull(f.chance, secret); err != nil {
		return "", fmt.Errorf("draw a token: %w", err)
	}
	token := tokenMark + base64.RawURLEncoding.EncodeToString(secret)
	return token, f.changeTokens(ctx, func(all []Token) ([]Token, error) {
		if slices.ContainsFunc(all, func(t Token) bool { return lab.NameKey(t.Name) == lab.NameKey(name) }) {
			return nil, lab.Conflictf("choose another name, or end that one first", "a token is called %s already", name)
		}
		return append(all, Token{name, role, f.clock(), hashOf(token)}), nil
	})
}

// EndToken ends the token called name at once.
func (f *Farm) EndToken(ctx context.Context, name string) error {
	return f.changeTokens(ctx, func(all []Token) ([]Token, error) {
		left := slices.DeleteFunc(slices.Clone(all), func(t Token) bool { return lab.NameKey(t.Name) == lab.NameKey(name) })
		if len(left) == len(all) {
			return nil, lab.NotFoundf("look at the list of tokens", "no token is called %s", clipTyped(name))
		}
		return left, nil
	})
}

func (f *Farm) changeTokens(ctx context.Context, change func([]Token) ([]Token, error)) error {
	return f.store.Write(ctx, func(w store.Writer) error {
		all, err := readTokens(ctx, w)
		if err != nil {
			return err
		}
		if all, err = change(all); err != nil {
			return err
		}
		text, err := json.Marshal(all)
		if err != nil {
			return err
		}
		return w.SetSetting(ctx, settingTokens, string(text))
	})
}

// TokenFor returns whose token it is, and whether it is one that holds.
func (f *Farm) TokenFor(ctx context.Context, token string) (Token, bool, error) {
	all, err := f.Tokens(ctx)
	hash := []byte(hashOf(token))
	for _, t := range all {
		if subtle.ConstantTimeCompare([]byte(t.Hash), hash) == 1 {
			return t, true, err
		}
	}
	return Token{}, false, err
}
