package desktest

import (
	"testing"
	"time"

	"tallywalk/store"
	"tallywalk/traveler"
	"tallywalk/traveler/story"
)

// follower is a log that takes what another server decided, from a list, and decides
// itself once it was given its claim.
type follower struct {
	*store.Buffered
	coming  []store.News
	ready   chan struct{}
	decides bool
	mine    chan struct{} // closed once its claim is taken
}

func newFollower(t testing.TB) *follower {
	f, err := store.Open(t.TempDir(), store.Options{})
	if err != nil {
		t.Fatal(err)
	}
	return &follower{Buffered: store.NewBuffered(f, 0), ready: make(chan struct{}, 1),
		mine: make(chan struct{})}
}

func (f *follower) Decides() bool { return f.decides }

func (f *follower) News() <-chan struct{} { return f.ready }

// Next gives the first of the list. A group is read as it goes between servers.
func (f *follower) Next() (store.News, bool) {
	if len(f.coming) == 0 {
		return store.News{}, false
	}
	return f.coming[0], true
}

func (f *follower) Take(n store.News, rows []story.Row) error {
	f.coming = f.coming[1:]
	if n.Group == nil {
		f.decides = n.Mine
		close(f.mine)
		return nil
	}
	return f.Keep(n.Group, rows, nil)
}

// give hands entries on by pages, ends with a claim of its own, and waits until all is
// taken.
func (r *run) give(f *follower, all []*traveler.Entry, page int) {
	seq, link := f.Head()
	for len(all) > 0 {
		n := min(page, len(all))
		from := seq
		// A log of its own links the page, as the server that decided did.
		g, err := f.at(from, link, all[:n])
		r.must(err)
		f.coming = append(f.coming, store.News{Group: g})
		seq, link = g.End()
		all = all[n:]
	}
	f.coming = append(f.coming, store.News{Mine: true})
	r.waitFor(f)
}

// at makes the group of entries that follow some end.
func (f *follower) at(seq traveler.Seq, link story.Hash, entries []*traveler.Entry) (*store.Group, error) {
	g, err := store.LinkAfter(seq, link, entries)
	if err != nil {
		return nil, err
	}
	return store.ReadGroup(g.Append(nil), seq, link)
}

func (r *run) waitFor(f *follower) {
	limit := time.After(time.Minute)
	for {
		select {
		case f.ready <- struct{}{}:
		case <-f.mine:
			return
		case <-limit:
			r.Fatalf("%s: the follower did not take its claim", r.set.name)
		}
	}
}

// handOver goes on at a follower that was given the record.
func (r *run) handOver(page int) {
	var all []*traveler.Entry
	r.must(r.log.Entries(1, func(e *traveler.Entry) bool {
		all = append(all, e)
		return true
	}))
	r.close()
	f := newFollower(r.TB)
	r.log = f
	r.open()
	r.give(f, all, page)
}
