package board

import (
	"encoding/json"
	"strings"
)

// Things are codes of the shop's list of what must be there. Rows are compared with ==,
// so they lie in one text; as JSON they are a list.
type Things string

// thingsOf puts codes together. A code holds no control characters.
func thingsOf(codes []string) Things { return Things(strings.Join(codes, "\n")) }

// List gives the codes one by one, nil for none.
func (t Things) List() []string {
	if t == "" {
		return nil
	}
	return strings.Split(string(t), "\n")
}

// MarshalJSON writes the codes as a list. It does not fail.
func (t Things) MarshalJSON() ([]byte, error) { return json.Marshal(append([]string{}, t.List()...)) }

// UnmarshalJSON reads them; it fails as json.Unmarshal does.
func (t *Things) UnmarshalJSON(data []byte) error {
	var codes []string
	err := json.Unmarshal(data, &codes)
	*t = thingsOf(codes)
	return err
}
