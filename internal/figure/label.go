package figure

import (
	"encoding/json"
	"fmt"
	"strings"
)

// Label names something in a table: a jar, an arm, a layer. In JSON it may be a
// text or a number, since sheets hold both; null and "" mean not recorded.
// Blanks at the ends do not count.
type Label string

// UnmarshalJSON takes a text, a number as it was written, or null.
func (l *Label) UnmarshalJSON(b []byte) error {
	var v any
	d := json.NewDecoder(strings.NewReader(string(b)))
	d.UseNumber()
	if err := d.Decode(&v); err != nil {
		return err
	}
	switch v := v.(type) {
	case nil:
		*l = ""
	case string:
		*l = Label(strings.TrimSpace(v))
	case json.Number:
		*l = Label(v)
	default:
		return fmt.Errorf("a name is a text or a number, not %s", b)
	}
	return nil
}

// Trimmed returns the label without blanks at its ends.
func (l Label) Trimmed() string { return strings.TrimSpace(string(l)) }
