package desk

import (
	"encoding/json"
	"testing"

	"tallywalk/store"
	"tallywalk/store/storetest"
	"tallywalk/traveler"
	"tallywalk/traveler/story"
)

// given is a log whose snapshot is another one.
type given struct {
	story.Log
	snap story.Snapshot
}

func (g given) Load() (*story.Snapshot, error) { return &g.snap, nil }
func (g given) Unwrap() story.Log              { return g.Log }

// FuzzSnapshotTaken: a desk that begins with a snapshot that fits by its head, whatever it
// says otherwise, refuses it, or can be asked for anything. That it says something false
// is what verify finds.
func FuzzSnapshotTaken(f *testing.F) {
	r := newRig(f, store.NewMem())
	r.opt.SnapshotEvery = 10
	r.reopen()
	for i := range 4 {
		card := r.release("bracket", "", 20)
		if i%2 == 0 {
			r.finish(card, 20)
		} else {
			r.kept(worker, r.scan("L1", string(card), traveler.ActSetup))
		}
	}
	r.reopen()
	good, err := r.log.Load()
	if err != nil || good == nil {
		f.Fatalf("no snapshot: %v", err)
	}
	data, err := json.Marshal(good)
	if err != nil {
		f.Fatal(err)
	}
	f.Add(data)
	f.Add([]byte(`{"shop":[1],"open":{"B7K2M9QXA":[2,1,999]},"loose":[0,3]}`))
	f.Add([]byte(`{"devices":{"L1":{}}}`))
	f.Fuzz(func(t *testing.T, data []byte) {
		var snap story.Snapshot
		if json.Unmarshal(data, &snap) != nil {
			return
		}
		snap.Seq, snap.Head, snap.Rules, snap.Format = good.Seq, good.Head, good.Rules, good.Format
		d, err := New(given{r.log, snap}, Options{Now: r.hand.now})
		if err != nil {
			if traveler.KindOf(err) == "" {
				t.Errorf("%v", err)
			}
			return
		}
		defer func() { _ = d.Close() }()
		d.Open(func(f *story.Family) bool {
			_ = f.Questions()
			return true
		})
		_ = d.Loose()
		_ = d.Facts(story.FactQuery{Open: true}, func(*story.BatchFact) bool { return true })
		_, _ = d.Scans(ctx, []story.Said{{By: worker, Scan: traveler.Scan{
			ID: storetest.UUID7(r.hand.now(), 1), Device: "L1", At: r.hand.now(), Station: "L1",
			Card: "B7K2M9QXA", Action: traveler.ActSetup,
		}}})
	})
}
