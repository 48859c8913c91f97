package desk

import (
	"maps"
	"slices"
	"testing"

	"tallywalk/store"
	"tallywalk/traveler"
)

// What changed since a version is what a reader of the whole floor would find
// changed; version 0, one that is too old, and one from before a replay are not
// known.
func TestChangedSince(t *testing.T) {
	r := newRig(t, store.NewMem())
	one, two := r.release("bracket", "", 50), r.release("bracket", "", 50)
	if _, _, ok := r.desk.ChangedSince(0); ok {
		t.Error("version 0 is known")
	}
	_, at, _ := r.desk.ChangedSince(0)
	if fs, now, ok := r.desk.ChangedSince(at); !ok || len(fs) != 0 || now != at {
		t.Errorf("nothing happened: %v, %d after %d, %v", fs, now, at, ok)
	}
	r.kept(supervisor, r.scan("L1", string(one), traveler.ActRun))
	fs, now, ok := r.desk.ChangedSince(at)
	f, err := r.desk.Family(one)
	r.must(err)
	if !ok || now <= at || len(fs) != 1 || fs[one] != f {
		t.Errorf("a run at one: %v, %d after %d, %v", slices.Collect(maps.Keys(fs)), now, at, ok)
	}
	r.kept(supervisor, r.scan("L1", string(two), traveler.ActRun))
	if fs, _, ok := r.desk.ChangedSince(at); !ok || len(fs) != 2 {
		t.Errorf("both since then: %v, %v", fs, ok)
	}
	if fs, _, ok := r.desk.ChangedSince(now); !ok || len(fs) != 1 || fs[two] == nil {
		t.Errorf("the second alone: %v, %v", fs, ok)
	}
	r.desk.left([]*folded{{f: f}}, nil)
	if fs, _, ok := r.desk.ChangedSince(now); !ok || len(fs) != 2 || fs[one] != nil {
		t.Errorf("one left the floor: %v, %v", fs, ok)
	}
	_, now, _ = r.desk.ChangedSince(0)
	if _, _, ok := r.desk.ChangedSince(now + 1); ok {
		t.Error("a version to come is known")
	}
	r.desk.showAll(r.desk.shown.clone())
	if _, _, ok := r.desk.ChangedSince(now); ok {
		t.Error("a replay changed nothing")
	}
}

// The oldest changes are forgotten, and a reader that is older hears of it.
func TestChangesAreForgotten(t *testing.T) {
	c := newChanges()
	for range 5 * changesKept {
		c.note("X")
	}
	if _, ok := c.since(1); ok || len(c.roots) > 2*changesKept {
		t.Errorf("%d are remembered", len(c.roots))
	}
	now := c.version()
	if roots, ok := c.since(now - changesKept); !ok || len(roots) != changesKept {
		t.Errorf("of the last %d: %d, %v", changesKept, len(roots), ok)
	}
}
