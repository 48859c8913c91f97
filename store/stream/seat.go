package stream

import (
	"crypto/rand"
	"encoding/binary"
	"encoding/json"
	"errors"
	"time"

	"tallywalk/store/stream/fit"
	"tallywalk/traveler"
)

// How long a server waits for a sign of the one that decides before it claims: Patience
// and up to seven twentieths more, so that seldom two do it at once, and some more where
// its node is not the one through which all messages go.
const (
	Patience    = 2 * time.Second
	patienceFar = 400 * time.Millisecond
)

// late is when there should have been a claim of someone.
func (l *Log) late() time.Duration { return l.opt.Patience + l.opt.Patience*7/20 + patienceFar }

const (
	seatEvery  = 50 * time.Millisecond
	beatEvery  = 500 * time.Millisecond
	leaveAfter = 3 * time.Second // without an append that went well, a server tries another node
	homeEvery  = time.Minute     // it looks whether the nearest node is there again
	clockSlack = 5 * time.Second // a clock that is further off another's does not decide
	peerGone   = 10 * time.Minute
	peerLate   = 2 * time.Second // without a beat a server is not heard
)

var errTerm = errors.New("a group of a server that did not decide")

// beat is what servers report to each other; nothing rests on it but when to try what.
type beat struct {
	Server   string       `json:"server"`
	Instance string       `json:"instance"`
	Address  string       `json:"address"`
	Writes   bool         `json:"writes"`
	Term     uint64       `json:"term"`
	Pos      uint64       `json:"pos"`
	Seq      traveler.Seq `json:"seq"`
	Link     string       `json:"link"`
	At       time.Time    `json:"at"`
}

// peer is another server as it was heard last.
type peer struct {
	beat
	heard time.Time
	ahead time.Duration // its clock against this one's
}

// claimOf reads a claim.
func (l *Log) claimOf(rest []byte) (c claim, err error) {
	if c, err = claimIn(rest); err != nil {
		return c, err
	}
	if now := l.marked().Term; c.Term <= now {
		return c, errTerm
	}
	seq, link := l.Head()
	if c.Seq != seq || c.Link != linkText(link) {
		return c, errHeads
	}
	return c, nil
}

var errHeads = errors.New(
	"another server has another record at the same place; compare both with `tallywalk verify`")

// claimed takes note of a claim that was taken in.
func (l *Log) claimed(c claim) {
	l.mu.Lock()
	defer l.mu.Unlock()
	l.decider = c
	l.writes = c.Instance == l.instance
	l.lost = false
	l.heard = l.opt.Real()
	l.good = l.heard
	l.turnLocked()
	l.opt.Log.Info("a server decides from now on", "server", c.Server, "term", c.Term, "self", l.writes)
}

// goneOn takes note that the record goes on elsewhere.
func (l *Log) goneOn(m *message, rest []byte) error {
	var e end
	if err := json.Unmarshal(rest, &e); err != nil {
		return err
	}
	next := l.marked()
	next.Pos = m.seq
	l.Mark(next.bytes())
	l.set(next)
	l.mu.Lock()
	defer l.mu.Unlock()
	l.ended, l.writes = e.To, false
	l.turnLocked()
	return nil
}

// sit claims when nobody decides, and reports to the others how things are.
func (l *Log) sit() {
	defer l.done.Done()
	sub, err := l.link.nc.Subscribe(beats(l.opt.Stream), l.hear)
	if err == nil {
		defer func() { _ = sub.Unsubscribe() }()
	}
	every := time.NewTicker(seatEvery)
	defer every.Stop()
	var beaten, homed time.Time
	patience := l.patience()
	for {
		select {
		case <-l.stop:
			return
		case <-every.C:
		}
		now := l.opt.Real()
		if now.Sub(beaten) >= beatEvery {
			if !l.opt.Watch {
				l.beat()
			}
			l.nudge()
			beaten = now
		}
		if l.due(patience + time.Duration(l.far.Load())) {
			l.claim()
			patience = l.patience()
		}
		l.leave(now)
		if now.Sub(homed) >= homeEvery {
			l.goHome()
			homed = now
		}
	}
}

// nudge says once more that there is news: the desk may have been unable to take it in,
// as when its file could not be written for a while.
func (l *Log) nudge() {
	if l.first() != nil {
		l.signal()
	}
}

func (l *Log) patience() time.Duration {
	var b [8]byte
	_, _ = rand.Read(b[:]) // it never fails
	return l.opt.Patience + time.Duration(binary.BigEndian.Uint64(b[:])%uint64(l.opt.Patience*7/20))
}

// due reports whether this server should claim: it lost its own turn, or there was no
// sign of the one that decides for so long; and it holds all that it knows of, can write
// its own file, and has a clock that can be believed.
func (l *Log) due(patience time.Duration) bool {
	l.mu.Lock()
	defer l.mu.Unlock()
	quiet := l.opt.Real().Sub(l.heard)
	switch {
	case l.opt.Watch || l.writes || l.broken != nil || l.ended != "":
		return false
	case len(l.queue) > 0 && l.queue[len(l.queue)-1].seq > l.mark.Pos:
		return false
	case !l.lost && quiet < patience:
		return false
	}
	return l.Fault() == nil && l.link.nc.IsConnected() && !l.offClock() && (l.doubt == nil || !l.doubt())
}

// offClock reports whether most clocks that this server knows contradict its own, those of
// servers that were heard some minutes ago among them, and one of the others is there to
// decide. Of two clocks nobody can say which is right. It is called with the lock held.
func (l *Log) offClock() bool {
	now, agree, there := l.opt.Real(), 1, false
	for _, p := range l.peers {
		if p.ahead.Abs() <= clockSlack {
			agree++
		} else if now.Sub(p.heard) < peerLate {
			there = true
		}
	}
	return there && 2*agree < 1+len(l.peers)
}

// claim appends a claim.
func (l *Log) claim() {
	l.sending.Lock()
	defer func() {
		l.sending.Unlock()
		l.signal()
	}()
	now := l.marked()
	seq, link := l.Head()
	c := claim{Term: now.Term + 1, Server: l.opt.Name, Instance: l.instance, Seq: seq, Link: linkText(link),
		At: l.opt.Now().UTC()}
	data, err := jsonMessage(kindClaim, c)
	if err != nil {
		return
	}
	at, err := l.link.publish(fit.Subject(l.opt.Stream), nil, data, int64(now.Pos))
	if err != nil {
		// It may stand all the same; what stands is read.
		l.tail.look()
		return
	}
	l.took(message{seq: at, data: data})
}

// leave tries another node where none of this one's appends went well for long.
func (l *Log) leave(now time.Time) {
	if l.stuck(now) && len(l.opt.URLs) > 1 {
		_ = l.link.nc.ForceReconnect() // only a closed connection cannot
	}
}

// stuck reports whether this server's node may be what keeps it from hearing and being
// heard; one that decides and has nothing to append hears nobody and is well.
func (l *Log) stuck(now time.Time) bool {
	l.mu.Lock()
	defer l.mu.Unlock()
	// Where nobody decides, who watches still reads.
	waits := l.opt.Watch || (l.lost || now.Sub(l.heard) > l.late()) && now.Sub(l.heard) > leaveAfter
	if l.writes || !waits || now.Sub(l.good) <= leaveAfter {
		return false
	}
	l.good = now
	return true
}

// beat reports to the others how things are here.
func (l *Log) beat() {
	seq, link := l.Head()
	l.mu.Lock()
	// One that cannot believe its clock takes nothing, and leaves it to another.
	writes := l.writes && (l.doubt == nil || !l.doubt())
	b := beat{
		Server: l.opt.Name, Instance: l.instance, Address: l.opt.Address, Writes: writes, Term: l.mark.Term,
		Pos: l.mark.Pos,
		Seq: seq, Link: linkText(link), At: l.opt.Real().UTC(),
	}
	l.mu.Unlock()
	if data, err := json.Marshal(b); err == nil {
		_ = l.link.nc.Publish(beats(l.opt.Stream), data) // the next one says the same
	}
}

// beats is the subject on which servers report how things are.
func beats(stream string) string { return stream + ".beat" }
