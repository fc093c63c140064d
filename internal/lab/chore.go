package lab

// Chore is a thing that comes again on a jar while it grows.
type Chore string

// The chores. A grower who wants them says after how many days.
const (
	Air   Chore = "air"   // press the old air out, or fan
	Check Chore = "check" // look at it
)

// Chores lists them.
var Chores = []Chore{Air, Check}

// Stage is the word by which limits name the chore.
func (c Chore) Stage() Stage { return Stage(c) }

// Label says what to do, before the jars.
func (c Chore) Label() string {
	if c == Air {
		return "Air"
	}
	return "Look at"
}

// Done is the note that says it was done.
func (c Chore) Done() string {
	if c == Air {
		return "aired"
	}
	return "looked at"
}

// DoneBy reports whether s says that it was done: any entry is a look.
func (c Chore) DoneBy(s Seen) bool { return c == Check || s.Note == c.Done() }
