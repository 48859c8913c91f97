package ahead

import (
	"testing"
	"time"

	"tallywalk/traveler"
)

// What was found out of a line holds for that line and for a while; it is asked for again
// when the line changes or it grows old, but never twice within half a minute.
func TestAdviceIsOfALine(t *testing.T) {
	t.Parallel()
	line := func(cards ...traveler.Code) (out []nextBatch) {
		for _, c := range cards {
			out = append(out, nextBatch{Card: c, State: "waiting"})
		}
		return out
	}
	at := time.Date(2026, 11, 25, 12, 0, 0, 0, time.UTC)
	a := newAdvice()
	asked := func() bool {
		select {
		case <-a.wanted:
			return true
		default:
			return false
		}
	}
	for _, c := range []struct {
		what  string
		line  []nextBatch
		after time.Duration
		asks  bool // and is found out at once
		knows bool // before that
	}{
		{"one alone has nothing to be compared with", line("A"), 0, false, false},
		{"a line that nobody looked at", line("A", "B"), 0, true, false},
		{"the same line", line("A", "B"), time.Second, false, true},
		{"another, within half a minute", line("B", "A"), 20 * time.Second, false, false},
		{"another, later", line("B", "A"), 40 * time.Second, true, false},
		{"that, four minutes later", line("B", "A"), 280 * time.Second, false, true},
		{"that, six minutes later", line("B", "A"), 400 * time.Second, true, true},
		{"that, after a long time", line("B", "A"), time.Hour, true, false},
	} {
		now := at.Add(c.after)
		a.fill("M1", c.line, now)
		if knows := c.line[len(c.line)-1].First != nil; knows != c.knows {
			t.Errorf("%s: known %v", c.what, knows)
		}
		if c.line[0].First != nil {
			t.Errorf("%s: the first of a line is taken first anyway", c.what)
		}
		a.want("M1", c.line, now)
		if got := asked(); got != c.asks {
			t.Fatalf("%s: asked %v", c.what, got)
		}
		if a.want("M1", c.line, now); c.asks && asked() {
			t.Errorf("%s: asked twice", c.what)
		}
		if c.asks {
			cards := lineOf(c.line)
			a.keep("M1", cards, map[traveler.Code]takenFirst{cards[1]: {}}, now)
		}
	}
}

// What cannot be taken is not compared, and of a long line only the beginning.
func TestLineThatIsLookedAt(t *testing.T) {
	t.Parallel()
	var waiting []nextBatch
	for _, c := range "ABCDEFGH" {
		waiting = append(waiting, nextBatch{Card: traveler.Code(c), State: "waiting"})
	}
	waiting[1].State = "held"
	if got := lineOf(waiting); len(got) != candidates+1 || got[1] != "C" {
		t.Errorf("%v", got)
	}
}
