package stream

import (
	"testing"

	"tallywalk/store"
	"tallywalk/traveler/story"
)

// FuzzMessage reads what another server might write: nothing that is read ends the program.
func FuzzMessage(f *testing.F) {
	claimed, err := jsonMessage(kindClaim,
		claim{Term: 1, Server: "one", Instance: "x", Link: linkText(story.Hash{})})
	if err != nil {
		f.Fatal(err)
	}
	f.Add(claimed)
	f.Add([]byte{form, kindGroup, 1, 0, 1, 2, '{', '}'})
	f.Add([]byte{form, kindEnd, '{', '}'})
	f.Fuzz(func(t *testing.T, data []byte) {
		kind, rest, err := kindOf(data)
		if err != nil {
			return
		}
		if c, err := claimIn(rest); kind == kindClaim && err == nil {
			again, err := jsonMessage(kindClaim, c)
			if err != nil {
				t.Fatal(err)
			}
			if d, err := claimIn(again[2:]); err != nil || d.Term != c.Term || d.Seq != c.Seq {
				t.Fatalf("a claim reads back as %+v: %v", d, err)
			}
		}
		if _, group, err := termOf(rest); kind == kindGroup && err == nil {
			_, _ = store.ReadGroup(group, 0, story.Hash{})
		}
		if table, key, ok := rowOf(subjectOf("B-tables", string(rest)), "B-tables"); ok &&
			!rowFits(table, key) {
			t.Fatalf("a row %q %q that no file takes", table, key)
		}
	})
}
