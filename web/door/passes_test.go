package door

import (
	"testing"
	"time"

	"tallywalk/traveler/rows/rowstest"
	"tallywalk/web/ask"
)

// counted counts what is looked up.
type counted struct {
	*rowstest.Tables
	gets int
}

func (c *counted) Get(table, key string) ([]byte, error) {
	c.gets++
	return c.Tables.Get(table, key)
}

// Who is let in is looked up once in a while only; a write through the server
// is known at once, one beside it after a quarter of a second; and a pass ends
// when its time comes, looked up or not.
func TestPassesAreRemembered(t *testing.T) {
	t.Parallel()
	now := time.Date(2026, 11, 25, 9, 0, 0, 0, time.UTC)
	under := &counted{Tables: &rowstest.Tables{}}
	s := &Door{House: &ask.House{Now: func() time.Time { return now }, Real: func() time.Time { return now }}}
	s.Tables = heard{under, &s.letIn}
	key := sumOf("secret")
	put := func(p pass) { write(t, under, tableTokens, key, p) }
	in := func() bool { return s.byPass(tableTokens, byToken, "secret").How == byToken }

	put(pass{Name: "cell", Role: "operator", Until: now.Add(time.Hour)})
	for range 5 {
		if !in() {
			t.Fatal("a good pass does not let in")
		}
	}
	if under.gets != 1 {
		t.Errorf("looked up %d times", under.gets)
	}
	if err := s.Tables.Delete(tableTokens, key); err != nil {
		t.Fatal(err)
	}
	if in() {
		t.Error("revoked here, and still in")
	}
	put(pass{Name: "cell", Role: "operator", Until: now.Add(time.Hour)})
	if !in() {
		t.Error("a refusal was remembered")
	}
	if err := under.Delete(tableTokens, key); err != nil { // by a command
		t.Fatal(err)
	}
	if now = now.Add(passFor); in() {
		t.Error("revoked by a command, and still in after a quarter of a second")
	}
	put(pass{Name: "cell", Role: "operator", Until: now.Add(passFor / 2)})
	if !in() {
		t.Error("a pass that still holds does not let in")
	}
	if now = now.Add(passFor / 2); in() {
		t.Error("its time has come, and it lets in")
	}
}

// What was read before a write is not remembered after it.
func TestPassesReadBeforeAWrite(t *testing.T) {
	t.Parallel()
	var p passes
	now := time.Date(2026, 11, 25, 9, 0, 0, 0, time.UTC)
	_, turn, _ := p.find(tableTokens, "k", now, now)
	p.forget() // someone writes
	p.note(tableTokens, "k", turn, known{Principal{How: byToken}, time.Time{}, now})
	if _, _, ok := p.find(tableTokens, "k", now, now); ok {
		t.Error("an old row is remembered")
	}
}
