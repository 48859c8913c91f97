package web

import (
	"encoding/json"
	"fmt"
	"maps"
	"math/rand/v2"
	"reflect"
	"testing"

	"tallywalk/traveler"
)

// screen is a board as a page keeps it: the whole, then what changed.
type screen struct {
	seq  uint64
	rows map[string]any
	head map[string]any
}

// take does with a message what static/board.js does.
func (s *screen) take(t *testing.T, f *feed) {
	t.Helper()
	m, seq, _, err := f.next(s.seq)
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
		s.head = map[string]any{}
	} else {
		gone, _ := got["gone"].([]any)
		for _, key := range gone {
			delete(s.rows, fmt.Sprint(key))
		}
		set, _ := got["set"].(map[string]any)
		maps.Copy(s.rows, set)
	}
	for _, key := range []string{"rows", "set", "gone", "whole", "seq", "at"} {
		delete(got, key)
	}
	maps.Copy(s.head, got)
}

// leave takes a family off the floor that nothing was said of for long: boards
// have seen it as it is.
func (d *floor) leave(i int) {
	f := d.families[i]
	d.families = append(d.families[:i:i], d.families[i+1:]...)
	d.left, d.moved = append(d.left, f), append(d.moved, f.Root)
}

// stir does something at random: a scan somewhere, or a batch is released.
func (d *floor) stir(rng *rand.Rand, c *traveler.Change) {
	i := rng.IntN(len(d.families))
	f := d.families[i]
	switch machine := d.shop.Machines(d.now)[rng.IntN(12)].ID; rng.IntN(8) {
	case 0:
		d.families = append(d.families, d.batch(c, 1000+len(d.moved)))
		d.moved = append(d.moved, d.families[len(d.families)-1].Root)
	case 1:
		d.families[i] = d.hear(f, f.Root, machine, traveler.ActArrive, 0, d.now)
		d.moved = append(d.moved, f.Root)
	case 2:
		d.families[i] = d.hear(f, f.Root, machine, traveler.ActFinish, 60, d.now)
		d.moved = append(d.moved, f.Root)
	case 3:
		d.families[i] = d.hear(f, f.Root, machine, traveler.ActHold, 0, d.now)
		d.moved = append(d.moved, f.Root)
	default:
		d.change(i)
	}
}

// Boards that follow what changes show, after any changes, what boards that are
// made of the whole floor show, to screens that keep up and to those that skip;
// and the desk's word alone brings them there, not the look at all.
func TestBoardsStayInStep(t *testing.T) {
	t.Parallel()
	for seed := range uint64(2) {
		rng := rand.New(rand.NewPCG(seed, 1))
		d, h := largeHub(t, 40)
		c := largeChange(d.now)
		quick, slow := map[string]*screen{}, map[string]*screen{}
		for name := range h.feeds {
			quick[name], slow[name] = &screen{}, &screen{}
		}
		for step := range 40 {
			if rng.IntN(6) == 0 {
				d.leave(rng.IntN(len(d.families)))
			}
			for range 1 + rng.IntN(3) {
				d.stir(rng, c)
			}
			h.drawn = d.now // the look at all places is not due
			h.pull()
			fresh := newHub(h.s)
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
					t.Fatalf("seed %d, step %d: the rows of %s differ: %s", seed, step, name, differ(quick[name].rows, want.rows))
				}
				// Heads beside the sums hold for the day; open hours begin where the oldest row did.
				for _, key := range []string{"unplaced", "totals", "today"} {
					if !reflect.DeepEqual(quick[name].head[key], want.head[key]) {
						t.Fatalf("seed %d, step %d: %s of %s is %v, want %v", seed, step, key, name, quick[name].head[key], want.head[key])
					}
				}
			}
		}
		for name, f := range h.feeds {
			slow[name].take(t, f)
			quick[name].take(t, f)
			if !reflect.DeepEqual(slow[name].rows, quick[name].rows) {
				t.Errorf("seed %d: a slow screen of %s differs: %s", seed, name, differ(slow[name].rows, quick[name].rows))
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
