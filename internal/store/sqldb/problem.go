package sqldb

import (
	"context"
	"fmt"

	"pinset/internal/lab"
)

// trouble is what sort of trouble an error of a driver is.
type trouble int

const (
	otherTrouble trouble = iota
	busy                 // another process is writing
	full                 // no space left
	broken               // the disk or file can not be read or written
	readOnly             // the file may not be written
	unreachable          // the server is gone
	noEntry              // the server does not know the name or password
	noDatabase           // the server has no such database
	damaged              // the file is not what it was
	foreignKey           // names a record that is not stored
	outOfRange           // a check, a NULL or a type
	taken                // a unique value
)

// problems says each trouble in words for people. Those that are not here
// are faults of the program.
var problems = map[trouble]lab.Problem{
	busy:        {Kind: lab.Busy, What: "the data are being written by another program just now", Mend: "wait a moment and send it again; nothing was stored"},
	full:        {Kind: lab.Busy, What: "there is no space left on the disk that holds the data", Mend: "free some space and send it again; nothing of this entry was stored"},
	broken:      {Kind: lab.Busy, What: "the disk that holds the data can not be read or written", Mend: "check the disk, its cable and its free space, and that the folder is still there; then send it again"},
	readOnly:    {Kind: lab.Refused, What: "the data may only be read: the file or its folder is write-protected", Mend: "give Pinset the right to write there, then send it again; nothing was stored"},
	unreachable: {Kind: lab.Busy, What: "the database server can not be reached", Mend: "check that it runs, then send it again; what was stored before is not stored twice"},
	noEntry:     {Kind: lab.Refused, What: "the database server does not let Pinset in", Mend: "check the user name and the password in the URL"},
	noDatabase:  {Kind: lab.Refused, What: "the database server has no database of that name", Mend: "make it, or check the name at the end of the URL"},
	damaged:     {Kind: lab.Refused, What: "the data file is damaged", Mend: "stop Pinset, keep a copy of the file as it is, and go back to the last backup"},
	foreignKey:  {Kind: lab.NotFound, What: "this entry names a record that is not stored", Mend: "reload the page and enter it again"},
	outOfRange:  {Kind: lab.Invalid, What: "this entry holds a value that can not be kept", Mend: "check what was entered"},
	taken:       {Kind: lab.Conflict, What: "this entry takes a name or number that is in use", Mend: "reload the page and enter it again"},
}

// fault is an error of a driver with what it means for people.
type fault struct {
	doing   string
	problem *lab.Problem // nil for a fault of the program
	cause   error
}

// Error returns both: what it means and what the driver said.
func (f *fault) Error() string {
	if f.problem == nil {
		return fmt.Sprintf("sqldb: %s: %v", f.doing, f.cause)
	}
	return fmt.Sprintf("%v (sqldb: %s: %v)", f.problem, f.doing, f.cause)
}

// Unwrap makes lab.AsProblem find the Problem and errors.As the cause.
func (f *fault) Unwrap() []error {
	if f.problem == nil {
		return []error{f.cause}
	}
	return []error{f.problem, f.cause}
}

// explain wraps an error of the driver with what was being done and, where
// people can do something about it, a Problem. When ctx is done, that is the
// cause, whatever the driver says: it may have heard of it as "interrupted" or
// "transaction is over".
func explain(ctx context.Context, d dialect, err error, doing string) error {
	if err == nil {
		return nil
	}
	if done := ctx.Err(); done != nil {
		return &fault{doing: doing, cause: done}
	}
	f := &fault{doing: doing, cause: err}
	if p, ok := problems[d.trouble(err)]; ok {
		f.problem = &p
	}
	return f
}
