package live

import (
	"encoding/json"
	"fmt"
	"maps"
	"math/rand/v2"
	"reflect"
	"testing"

	"tallywalk/web/bigfloor"
)

// screen is a board as a page keeps it: the whole, then what changed.
type screen struct {
	seq   uint64
	rows  map[string]any
	lines map[string]any
	head  map[string]any
}

// take does with a message what web/lib/board.js does.
func (s *screen) take(t *testing.T, f *feed) {
	t.Helper()
	m, seq, _, err := f.next(s.seq, false)
	if err != nil || m == nil {
		s.seq = seq
		return
	}
	var got map[string]any
	if err := json.Unmarshal(m.message, &got); err != nil {
		t.Fatal(err)
	}
	s.seq = seq
	if got["whole"] == true {
		s.rows, _ = got["rows"].(map[string]any)
		s.head, s.lines = map[string]any{}, map[string]any{}
	} else {
		gone, _ := got["gone"].([]any)
		for _, key := range gone {
			delete(s.rows, fmt.Sprint(key))
		}
		set, _ := got["set"].(map[string]any)
		maps.Copy(s.rows, set)
	}
	lines, _ := got["lines"].(map[string]any)
	maps.Copy(s.lines, lines)
	for _, key := range []string{"lines", "rows", "set", "gone", "whole", "seq", "at"} {
		delete(got, key)
	}
	maps.Copy(s.head, got)
}

// Boards that follow what changes show, after any changes, what boards that are
// made of the whole floor show, to screens that keep up and to those that skip;
// and the desk's word alone brings them there, not the look at all.
func TestBoardsStayUpToDate(t *testing.T) {
	t.Parallel()
	for seed := range uint64(2) {
		rng := rand.New(rand.NewPCG(seed, 1))
		d, h := largeHub(t, 40)
		c := bigfloor.Shop(d.Now)
		quick, slow := map[string]*screen{}, map[string]*screen{}
		for name := range h.feeds {
			quick[name], slow[name] = &screen{}, &screen{}
		}
		for step := range 40 {
			if rng.IntN(6) == 0 {
				d.Leave(rng.IntN(len(d.Families)))
			}
			for range 1 + rng.IntN(3) {
				d.Stir(rng, c)
			}
			h.drawn = d.Now // the look at all places is not due
			h.pull()
			fresh := newHub(h.cfg, nil)
			for name, f := range h.feeds {
				quick[name].take(t, f)
				if rng.IntN(20) == 0 { // it is opened again, and gets a whole that may be older
					quick[name] = &screen{}
					quick[name].take(t, f)
					quick[name].take(t, f)
				}
				if rng.IntN(5) == 0 {
					slow[name].take(t, f)
				}
				want := &screen{}
				want.take(t, fresh.feeds[name])
				if !reflect.DeepEqual(quick[name].rows, want.rows) {
					t.Fatalf(
						"seed %d, step %d: the rows of %s differ: %s", seed, step, name,
						differ(quick[name].rows, want.rows),
					)
				}
				if !reflect.DeepEqual(quick[name].lines, want.lines) {
					t.Fatalf(
						"seed %d, step %d: the lines of %s differ: %s", seed, step, name,
						differ(quick[name].lines, want.lines),
					)
				}
				// Heads beside the sums hold for the day; open hours begin where the oldest row did.
				for _, key := range []string{"unplaced", "totals", "today"} {
					if !reflect.DeepEqual(quick[name].head[key], want.head[key]) {
						t.Fatalf(
							"seed %d, step %d: %s of %s is %v, want %v", seed, step, key, name,
							quick[name].head[key],
							want.head[key],
						)
					}
				}
			}
		}
		for name, f := range h.feeds {
			slow[name].take(t, f)
			quick[name].take(t, f)
			if !reflect.DeepEqual(slow[name].rows, quick[name].rows) {
				t.Errorf(
					"seed %d: a slow screen of %s differs: %s", seed, name, differ(slow[name].rows,
						quick[name].rows),
				)
			}
		}
	}
}

func differ(got, want map[string]any) string {
	for key, w := range want {
		if !reflect.DeepEqual(got[key], w) {
			return fmt.Sprintf("%s is %v, want %v", key, got[key], w)
		}
	}
	for key := range got {
		if _, ok := want[key]; !ok {
			return key + " is there still"
		}
	}
	return "nothing"
}
