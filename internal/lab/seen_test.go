package lab

import "testing"

// A cover is a stage: some of it is growth, all of it is full cover.
func TestCoverIsAStage(t *testing.T) {
	for covered, want := range map[int]struct {
		stage Stage
		about string
	}{40: {Growth, "40 % covered"}, 100: {Cover, "full cover"}} {
		s, err := Seen{Covered: covered}.Check()
		if err != nil || s.Stage != want.stage || s.About() != want.about {
			t.Errorf("%d %%: stage %q, %q, %v; want %v", covered, s.Stage, s.About(), err, want)
		}
	}
}
