package live

import (
	"bytes"
	"compress/flate"
	"fmt"
	"log/slog"
	"testing"
	"time"

	"tallywalk/traveler/board"
	"tallywalk/traveler/ground"
	"tallywalk/traveler/rows/rowstest"
	"tallywalk/web/ask"
	"tallywalk/web/bigfloor"
)

func largeHub(tb testing.TB, batches int) (*bigfloor.Floor, *hub) {
	tb.Helper()
	d := bigfloor.New(batches)
	return d, hubOf(d)
}

// hubOf is a new one over the floor as it is now.
func hubOf(d *bigfloor.Floor) *hub {
	return newHub(&ask.House{
		Desk: d, Tables: &rowstest.Tables{}, Floors: &ground.Floors{}, Now: func() time.Time { return d.Now },
		Zone: time.UTC, Log: slog.New(slog.DiscardHandler),
	}, nil)
}

// What a page gets first of a shop with 60 machines and 500 open batches stays
// under 60 kB as it goes over the wire (deflated), and a change under 2 kB as it
// is.
func TestBoardsOfALargeShopAreSmall(t *testing.T) {
	d, h := largeHub(t, bigfloor.Batches)
	at := map[string]uint64{}
	for name, f := range h.feeds {
		message, seq, _, err := f.next(0, false)
		if err != nil {
			t.Fatal(err)
		}
		at[name] = seq
		if n := deflated(t, message.message); n > 60<<10 {
			t.Errorf("%s: %d bytes first, %d deflated", name, len(message.message), n)
		} else {
			t.Logf("%s: %d bytes first, %d deflated", name, len(message.message), n)
		}
	}
	for i := range 200 {
		d.Count(i * 7)
		h.pull()
		for name, f := range h.feeds {
			message, seq, _, err := f.next(at[name], false)
			if err != nil {
				t.Fatal(err)
			}
			at[name] = seq
			if len(message.message) > 2<<10 {
				t.Fatalf("%s: a change of %d bytes: %s", name, len(message.message), message.message)
			}
		}
	}
}

// What a page gets first of a floor of 10,000 open batches stays under 400 kB as
// it goes over the wire.
func TestBoardsOfAFullFloorAreSmall(t *testing.T) {
	t.Parallel()
	_, h := largeHub(t, 10_000)
	for name, f := range h.feeds {
		message, _, _, err := f.next(0, false)
		if err != nil {
			t.Fatal(err)
		}
		n := deflated(t, message.message)
		t.Logf("%s: %d bytes first, %d deflated", name, len(message.message), n)
		if n > 400<<10 {
			t.Errorf("%s: %d bytes deflated", name, n)
		}
	}
}

func deflated(t *testing.T, b []byte) int {
	t.Helper()
	var out bytes.Buffer
	w, err := flate.NewWriter(&out, deflateHard)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := w.Write(b); err != nil {
		t.Fatal(err)
	}
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
	return out.Len()
}

// BenchmarkHubChange is what a change costs the server, whatever the number of
// boards: all three boards brought up to it, and their messages made once. Goal:
// under 1 ms with 10,000 open batches.
func BenchmarkHubChange(b *testing.B) {
	for _, batches := range []int{bigfloor.Batches, 10_000} {
		b.Run(fmt.Sprint(batches), func(b *testing.B) {
			d, h := largeHub(b, batches)
			at := map[string]uint64{}
			for name, f := range h.feeds {
				_, at[name], _, _ = f.next(0, false)
			}
			i := 0
			for b.Loop() {
				b.StopTimer()
				i++
				d.Count(i * 7)
				h.drawn = d.Now // every place is looked at each half minute only
				b.StartTimer()
				h.pull()
				for name, f := range h.feeds {
					_, at[name], _, _ = f.next(at[name], false)
				}
			}
		})
	}
}

// What is foreseen of a batch comes onto the boards with the next look, and goes again; of
// a batch that nothing is foreseen of, the planned work that is left says so.
func TestForeseenOnTheBoards(t *testing.T) {
	d, h := largeHub(t, 20)
	row := func(i int) (out board.Row) {
		for _, r := range h.feeds[boardWaits].snapshot(false)["rows"].(map[string]any) {
			if r, ok := r.(board.Row); ok && r.Card == d.Families[i].Root {
				return r
			}
		}
		t.Fatalf("batch %d is on no board", i)
		return out
	}
	// Due in 20 days, as the floor has it: nothing of the plan says that it will be late.
	const far = 19
	said := Foreseen{}
	h.foresee = func() Foreseen { return said }
	for _, c := range []struct {
		said Foreseen
		soon bool
	}{{Foreseen{}, false}, {Foreseen{d.Families[far].Root: true}, true},
		{Foreseen{d.Families[far].Root: false}, false}, {nil, false}} {
		said = c.said
		d.Now = d.Now.Add(boardTick)
		h.pull()
		if r := row(far); r.LateFrom.IsZero() == c.soon || r.LateFrom.After(d.Now) {
			t.Errorf("foreseen %v: late from %v", c.said, r.LateFrom)
		}
	}
}
