package app

import (
	"cmp"
	"context"
	"encoding/json"
	"maps"
	"slices"
	"strings"

	"pinset/internal/lab"
	"pinset/internal/store"
)

const settingTargets = "strain_targets"

// ownTargets are the grower's own targets as typed: by strain, then by target.
type ownTargets map[string]map[string]string

// strainKey names a strain of a species; "" as the strain is all of them.
func strainKey(p lab.Profile, strain string) string { return p.Key + "/" + lab.NameKey(strain) }

func readTargets(ctx context.Context, r store.Reader) (ownTargets, error) {
	kept, err := r.Setting(ctx, settingTargets)
	if err != nil {
		return nil, err
	}
	return parseTargets(kept)
}

// parseTargets reads what a setting keeps, "" for none.
func parseTargets(kept string) (ownTargets, error) {
	own := ownTargets{}
	if kept == "" {
		return own, nil
	}
	err := json.Unmarshal([]byte(kept), &own)
	return own, err
}

// of returns the targets of a strain: its own first, then those set for the
// whole species.
func (o ownTargets) of(p lab.Profile, strain string) []lab.Target {
	var out []lab.Target
	keys := []string{strainKey(p, strain)}
	if strain != "" {
		keys = append(keys, strainKey(p, ""))
	}
	for _, k := range keys {
		for _, key := range slices.Sorted(maps.Keys(o[k])) {
			if t, err := lab.ParseTarget(key, o[k][key]); err == nil && !slices.ContainsFunc(out, func(x lab.Target) bool { return x.Key() == t.Key() }) {
				out = append(out, t)
			}
		}
	}
	return out
}

// profiles are what the species of each culture wants, with the grower's own
// targets for its strain. Of a species that is not known there is its name only.
type profiles struct {
	byCulture map[lab.CultureID]lab.Profile // shared, not to be changed
	basis     string                        // all that they were made of
}

// readProfiles reads them, and makes them anew if their basis changed. r must
// not write.
func (f *Farm) readProfiles(ctx context.Context, r store.Reader) (profiles, error) {
	cultures, err := r.Cultures(ctx)
	if err != nil {
		return profiles{}, err
	}
	kept, err := r.Setting(ctx, settingTargets)
	if err != nil {
		return profiles{}, err
	}
	parts := []string{kept}
	for _, c := range cultures {
		parts = append(parts, string(c.ID), c.Species, c.Strain)
	}
	basis := hashOf(strings.Join(parts, "\x00"))
	f.memo.mu.Lock()
	defer f.memo.mu.Unlock()
	if f.memo.profiles.basis != basis {
		own, err := parseTargets(kept)
		if err != nil {
			return profiles{}, err
		}
		f.memo.profiles = profiles{profilesByCulture(cultures, own), basis}
	}
	return f.memo.profiles, nil
}

func profilesByCulture(cultures []lab.Culture, own ownTargets) map[lab.CultureID]lab.Profile {
	out := make(map[lab.CultureID]lab.Profile, len(cultures))
	for _, c := range cultures {
		out[c.ID] = lab.Profile{Species: c.Species}
		if p, ok := lab.ProfileOf(c.Species); ok {
			out[c.ID] = p.With(own.of(p, c.Strain))
		}
	}
	return out
}

// SpeciesView is what a species wants, for one strain or in general.
type SpeciesView struct {
	lab.Profile
	Strain  string   // "" for the species in general
	Strains []string // that the farm has, or has set targets for
}

// SpeciesOf returns what is aimed at for a species and, if one is named, a
// strain of it.
func (f *Farm) SpeciesOf(ctx context.Context, species, strain string) (SpeciesView, error) {
	p, ok := lab.ProfileOf(species)
	if !ok {
		return SpeciesView{}, lab.NotFoundf("choose one from the list of species", "nothing is known of %q", clipTyped(species))
	}
	v := SpeciesView{Profile: p, Strain: strings.TrimSpace(strain)}
	err := f.store.Read(ctx, func(r store.Reader) error {
		own, err := readTargets(ctx, r)
		if err != nil {
			return err
		}
		v.Profile = p.With(own.of(p, v.Strain))
		cultures, err := r.Cultures(ctx)
		for _, c := range cultures {
			of, known := lab.ProfileOf(c.Species)
			if known && of.Key == p.Key && c.Strain != "" && !slices.Contains(v.Strains, c.Strain) {
				v.Strains = append(v.Strains, c.Strain)
			}
		}
		slices.SortFunc(v.Strains, func(a, b string) int { return cmp.Compare(lab.NameKey(a), lab.NameKey(b)) })
		return err
	})
	return v, err
}

// SetTarget keeps what the grower aims at for a strain, or with none for the
// whole species: key such as "run.temperature", typed as lab.ParseTarget reads
// it. A dash takes it back.
func (f *Farm) SetTarget(ctx context.Context, species, strain, key, typed string) error {
	p, ok := lab.ProfileOf(species)
	if !ok {
		return lab.NotFoundf("choose one from the list of species", "nothing is known of %q", clipTyped(species))
	}
	strain, err := lab.Text("strain", strain)
	if err != nil {
		return err
	}
	t, err := lab.TargetOf(key)
	if err != nil {
		return err
	}
	typed = strings.TrimSpace(typed)
	takeBack := typed == "-" || typed == "–"
	if !takeBack {
		if t, err = lab.ParseTarget(key, typed); err != nil {
			return err
		}
	}
	return f.store.Write(ctx, func(w store.Writer) error {
		own, err := readTargets(ctx, w)
		if err != nil {
			return err
		}
		k := strainKey(p, strain)
		if own[k] == nil {
			own[k] = make(map[string]string)
		}
		if own[k][t.Key()] = typed; takeBack {
			delete(own[k], t.Key())
		}
		kept, err := json.Marshal(own)
		if err != nil {
			return err
		}
		return w.SetSetting(ctx, settingTargets, string(kept))
	})
}
