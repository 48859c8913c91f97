package people

import (
	"encoding/json"
	"testing"

	"tallywalk/traveler"
	"tallywalk/traveler/rows/rowstest"
)

// A scanner types a badge wherever the cursor stands, and a person may type its
// code in groups: it stays out of texts all the same.
func TestBadgeInMiddleOfText(t *testing.T) {
	var code traveler.Code
	for n, ok := uint64(4711), false; !ok; n++ {
		code, ok = traveler.NewCode(traveler.KindPerson, n)
	}
	tables := &rowstest.Tables{}
	row, err := json.Marshal(Person{ID: "31", Code: code, Name: "I. Inspector", Role: traveler.RoleInspector})
	if err != nil {
		t.Fatal(err)
	}
	if err := tables.Put(tablePeople, string(code), row); err != nil {
		t.Fatal(err)
	}
	c := string(code)
	for text, want := range map[string]string{
		c:                                  "31",
		"see" + c:                          "see31",
		c + "x":                            "31x",
		c + c:                              "3131",
		"pp" + c + "!":                     "pp31!",
		c[:4] + "-" + c[4:] + " agreed":    "31 agreed",
		c[:1] + " " + c[1:5] + "-" + c[5:]: "31",
		"part P-100, pieces 8":             "part P-100, pieces 8",
		c[:8]:                              c[:8],
	} {
		if got := NewBadges(tables).Text(text); got != want {
			t.Errorf("%q: %q, want %q", text, got, want)
		}
	}
}
