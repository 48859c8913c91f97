// Package live keeps the live boards up to date with the record: the hub pulls what
// changed since, makes its rows once, and every socket takes what it has not
// seen.
//
// # Decisions, with their reasons
//
//   - Boards are compressed on the wire when they are whole, not when they change; hard,
//     since one deflation serves all sockets, and a whole board serves for fifty
//     changes: what changed since follows it.
//   - Lines before the work centres are said apart from the rows: one batch that leaves
//     moves all others up, and none of their rows is sent.
//   - Why a row waits is said where the whole is asked for; a page that follows works it
//     out of the lines by its own clock, by the same rules, which a test holds.
//   - Sockets get the raw connection: fiber's adaptors lose deadlines or hang on
//     shutdown, so web/live/socket.go hands fasthttp's hijacked connection to gorilla
//     itself.
package live

import (
	"context"
	"sync/atomic"

	"tallywalk/traveler"
	"tallywalk/traveler/board"
	"tallywalk/web/door"
)

// Live is the boards and the sockets that show them.
type Live struct {
	*door.Door
	hub  *hub
	open atomic.Int64 // sockets
}

// Foreseen says of batches, by their cards, whether they are expected to be late; it has
// none that nothing is expected of, and is nil while nothing is.
type Foreseen map[traveler.Code]bool

// New makes the boards as the record is now; Run keeps them up to date. foresee is asked now
// and then, and nil where nothing is foreseen here.
func New(d *door.Door, foresee func() Foreseen) *Live {
	return &Live{Door: d, hub: newHub(d.House, foresee)}
}

// Sockets is how many boards are open.
func (s *Live) Sockets() int { return int(s.open.Load()) }

// Run follows the record until ctx ends.
func (s *Live) Run(ctx context.Context) { s.hub.run(ctx) }

// Close asks every socket to go.
func (s *Live) Close() { s.hub.close() }

// WaitingAt lists what waits before a work centre, in the order of the rule. It
// is safe for concurrent use.
func (s *Live) WaitingAt(wc traveler.WorkCentre) []board.Row { return s.hub.waitingAt(wc) }
