// Package health says how the program itself is: what is wrong in plain words with what to
// do, and the copies of its record.
//
// # Decisions, with their reasons
//
//   - What is wrong are conditions, each with a sentence of what it means for the shop and
//     one of what to do; numbers stand below them, for whoever is asked for help.
//   - Someone who cannot mend it does not see it on each page: the bar shows the
//     conditions to those who enrol stations, supervisors and administrators.
//   - A copy is late when two of its times have passed without one. That nothing new was
//     recorded since the last copy counts as a copy: a shop that is closed is not unwell.
package health

import (
	"sync"
	"time"

	"tallywalk/traveler"
	"tallywalk/web/ask"
	"tallywalk/web/door"
)

// Keeper makes copies of the record and knows of them.
type Keeper interface {
	Copies() Copies
	// Copy makes one now. It fails with KindConflict where no folder was named, and as
	// store.File.Backup does.
	Copy() error
}

// Copies are the copies of the record, and how they are made.
type Copies struct {
	Every   time.Duration // 0 = they are made by hand only
	Rule    string        // by which they are kept, such as 24h,14d,8w,24m
	Last    time.Time     // when all that is recorded was last known to lie in one; zero = never
	Next    time.Time     // when the next one is made; zero = nobody knows
	Running bool          // one is being made
	Failed  error         // how the last try ended
	At      time.Time     // when that was
	Restore time.Duration // how long putting one back takes, by how long making the last took; 0 = not measured yet
	Kept    []Copy        // the newest first
}

// Copy is one of them.
type Copy struct {
	Name    string // of its file
	At      time.Time
	Entries traveler.Seq
	Bytes   int64
	Ours    bool // of this record, as far as it goes
}

// Disk is what the disk of the record has, in bytes; zero = not known.
type Disk struct{ Free, Record int64 }

// Config is what the room is given by others.
type Config struct {
	Keeper Keeper // nil = nothing is kept, as in the demo
	Disk   func() Disk
	Room   func() error // why the disk takes no more
	// Measured is what is counted while the server runs.
	Measured *Measured
	Sockets  func() int // boards that are open
	Since    time.Time  // when the server was started
}

type room struct {
	*door.Door
	Config
}

// Routes are the ways to what is wrong, and to the copies.
func Routes(d *door.Door, cfg Config) []ask.Route {
	s := &room{Door: d, Config: cfg}
	s.Measured.once.Do(s.standing)
	return []ask.Route{
		{
			Method: "GET", Path: "/api/v1/health", Deed: traveler.DeedEnrol, Handle: s.getHealth,
			Does:   "what is wrong with the program itself, with what to do, and its numbers",
			Answer: conditionsView{}, Example: ask.Example{At: "/api/v1/health"},
		},
		{
			Method: "GET", Path: "/metrics", Deed: traveler.DeedLook, Handle: s.getMetrics,
			Does: "figures of the running program for a monitoring system, in the text format of Prometheus",
			More: "Sign in with a token of a watcher.", Gives: []string{"text/plain"},
		},
		{
			Method: "GET", Path: "/api/v1/copies", Deed: traveler.DeedEnrol, Handle: s.getCopies,
			Does:   "the copies of the record, and how they are made",
			Answer: copiesView{}, Example: ask.Example{At: "/api/v1/copies"},
		},
		{
			Method: "POST", Path: "/api/v1/copies", Deed: traveler.DeedAccounts, Handle: s.postCopy,
			Does:   "make a copy now",
			More:   "The answer comes when the copy was written, opened and walked.",
			Answer: copiesView{},
		},
	}
}

// Commits remembers how long the latest commits took. The zero value is ready; it is safe
// for concurrent use.
type Commits struct {
	mu   sync.Mutex
	took [256]commit
	n    int
}

type commit struct {
	took time.Duration
	at   time.Time
}

// Note takes one in, that ended at a moment.
func (c *Commits) Note(took time.Duration, at time.Time) {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.took[c.n%len(c.took)] = commit{took, at}
	c.n++
}

// Since gives how long those took that it remembers since a moment, in no order.
func (c *Commits) Since(from time.Time) (out []time.Duration) {
	c.mu.Lock()
	defer c.mu.Unlock()
	for _, x := range c.took[:min(c.n, len(c.took))] {
		if x.at.After(from) {
			out = append(out, x.took)
		}
	}
	return out
}
