package stream

import (
	"errors"
	"log/slog"
	"sync"
	"sync/atomic"
	"time"

	"tallywalk/store"
	"tallywalk/store/secret"
	"tallywalk/store/stream/fit"
	"tallywalk/traveler"
	"tallywalk/traveler/story"
)

// Options say of which record a server keeps a part, and what it is called. Name, Stream
// and URLs must be set.
type Options struct {
	URLs   []string // of nodes of the engine, the nearest first
	Stream string
	Secret *secret.Secret // that the nodes have too; nil = none
	// Monitors are addresses at which engines that are not of this program say how they
	// are set; none = they are.
	Monitors []string
	Name     string           // of this server, another for each
	Address  string           // where stations and screens reach this server
	Now      func() time.Time // the shop's clock
	Real     func() time.Time // the computer's clock
	Log      *slog.Logger
	// Progress is called while much is read at the start: messages of how many.
	Progress func(done, of uint64)
	// FlushEvery is how often the server's own file is written; 0 = each second.
	FlushEvery time.Duration
	// Patience is how long a server waits for a sign of the one that decides; 0 = Patience.
	Patience time.Duration
	// Watch is for a server that only shows the record: it never decides, reports nothing
	// to the others, and opens from its own file where no engine answers.
	Watch bool
}

// Log is a record in a stream, with the server's own file of it. It is a store.Shared.
type Log struct {
	*store.Buffered
	opt      Options
	instance string
	link     *link
	tail     *tail

	far     atomic.Int64 // what it waits longer before it claims
	reached traveler.Seq // end of the newest group that was read before there was a desk

	news chan struct{}
	stop chan struct{}
	done sync.WaitGroup

	// sending is held while a message is on its way, and while what came is taken in: what
	// a server sends and what it reads stand in one order.
	sending sync.Mutex
	peeked  *message

	mu      sync.Mutex
	mark    mark      // of what is taken in
	queue   []message // that follow it
	writes  bool      // the newest claim that was taken in is this server's, and no append failed since
	lost    bool      // an append failed: claim again
	decider claim     // whose the newest claim is
	heard   time.Time // when there was a sign of the decider
	twin    time.Time // when another server of this one's name was heard
	silent  time.Time // since when the engine does not answer for the stream; zero while it does
	good    time.Time // when an append went well last; a read, where it only watches
	whole   time.Time // when all that the stream has was taken in
	missing error     // why the stream was not found yet, where it only watches
	ended   string    // where the record went on; empty while it goes on here
	broken  error     // a message that cannot be; nothing is taken in after it
	moved   chan struct{}
	turned  func() // called when another may decide
	doubt   func() bool
	peers   map[string]*peer // by instance
}

var _ store.Shared = (*Log)(nil)

// queueLen is how many messages wait for the desk; what comes on top is read again.
const queueLen = 4096

// News is ready when there may be something to take in.
func (l *Log) News() <-chan struct{} { return l.news }

func (l *Log) signal() {
	select {
	case l.news <- struct{}{}:
	default:
	}
}

// next is the sequence that is to be read next.
func (l *Log) next() uint64 {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.nextLocked()
}

func (l *Log) nextLocked() uint64 {
	if n := len(l.queue); n > 0 {
		return l.queue[n-1].seq + 1
	}
	return l.mark.Pos + 1
}

// took puts a message that was read where the desk finds it.
func (l *Log) took(m message) (more bool) {
	l.mu.Lock()
	defer l.mu.Unlock()
	if len(l.queue) >= queueLen {
		l.signal()
		return false
	}
	if m.seq == l.nextLocked() {
		l.queue = append(l.queue, m)
		l.heard = l.opt.Real()
	}
	l.signal()
	return true
}

// Next is what follows what was taken in; see store.Shared.
func (l *Log) Next() (n store.News, ok bool) {
	if !l.sending.TryLock() {
		return n, false // a message is on its way, which says that there is news when it came
	}
	defer l.sending.Unlock()
	for {
		m := l.first()
		if m == nil {
			return n, false
		}
		n, skip, err := l.read(m)
		if err != nil {
			l.breakOff(err)
			return n, false
		}
		if !skip {
			l.peeked = m
			l.follows()
			return n, true
		}
	}
}

// follows lets the server decide no more, since another's message came.
func (l *Log) follows() {
	l.mu.Lock()
	defer l.mu.Unlock()
	if l.writes {
		l.writes = false
		l.turnLocked()
	}
}

// Decides reports whether this server decides; see store.Shared.
func (l *Log) Decides() bool {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.writes
}

// first is the first message that was not taken in; nil when there is none, or none is
// taken any more.
func (l *Log) first() *message {
	l.mu.Lock()
	defer l.mu.Unlock()
	for len(l.queue) > 0 && l.queue[0].seq <= l.mark.Pos {
		l.queue = l.queue[1:]
	}
	if len(l.queue) == 0 || l.broken != nil {
		return nil
	}
	m := l.queue[0]
	return &m
}

// read is what a message says. skip is true for one that needs no desk.
func (l *Log) read(m *message) (n store.News, skip bool, err error) {
	kind, rest, err := kindOf(m.data)
	if err != nil {
		return n, false, err
	}
	switch kind {
	case kindGroup:
		term, data, err := termOf(rest)
		if err != nil {
			return n, false, err
		}
		if now := l.marked().Term; term != now {
			return n, false, errTerm
		}
		seq, link := l.Head()
		n.Group, err = store.ReadGroup(data, seq, link)
		return n, false, err
	case kindClaim:
		c, err := l.claimOf(rest)
		n.Mine = c.Instance == l.instance
		return n, false, err
	case kindEnd:
		return n, true, l.goneOn(m, rest)
	}
	return n, false, errForm
}

// Take takes in what Next gave; see store.Shared. It fails as that says.
func (l *Log) Take(n store.News, rows []story.Row) error {
	l.sending.Lock()
	defer l.sending.Unlock()
	m := l.peeked
	next := l.marked()
	next.Pos = m.seq
	if n.Group != nil {
		if err := l.Keep(n.Group, rows, next.bytes()); err != nil {
			return err
		}
		l.set(next)
		return nil
	}
	_, rest, err := kindOf(m.data)
	if err != nil {
		return err
	}
	c, err := l.claimOf(rest)
	if err != nil {
		return err
	}
	next.Term = c.Term
	l.Mark(next.bytes())
	l.set(next)
	l.claimed(c)
	return nil
}

func (l *Log) marked() mark {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.mark
}

func (l *Log) set(m mark) {
	l.mu.Lock()
	defer l.mu.Unlock()
	l.mark = m
	if len(l.queue) > 0 && l.queue[0].seq == m.Pos {
		l.queue = l.queue[1:]
	}
}

// Append keeps entries in the stream; rows alone in the server's own file. See story.Log.
// After an error nobody knows whether entries were kept: the server decides no more before
// it has read the stream up to a claim of its own, which settles that.
func (l *Log) Append(last traveler.Seq, entries []*traveler.Entry, rows []story.Row) error {
	if len(entries) == 0 {
		return l.Buffered.Append(last, nil, rows)
	}
	l.sending.Lock()
	defer func() {
		l.sending.Unlock()
		l.signal()
	}()
	return l.append(last, entries, rows)
}

func (l *Log) append(last traveler.Seq, entries []*traveler.Entry, rows []story.Row) error {
	if l.opt.Watch {
		return watches()
	}
	next, ok := l.turn()
	if !ok {
		return nobodyKept(store.ErrElsewhere)
	}
	if err := l.Fault(); err != nil {
		l.stepBack() // who cannot write a file of its own leaves it to the others
		return err
	}
	g, err := l.Link(last, entries, rows)
	if err != nil {
		return err
	}
	data := groupMessage(next.Term, g)
	if most := l.link.nc.MaxPayload(); int64(len(data)) > most {
		return traveler.Fail(traveler.KindTooLarge, "stream.large")
	}
	seq, err := l.link.publish(fit.Subject(l.opt.Stream), nil, data, int64(next.Pos))
	if err != nil {
		l.stepBack()
		return nobodyKept(errors.Join(store.ErrElsewhere, err)) // said again once the claim stands
	}
	next.Pos = seq
	if err := l.Keep(g, rows, next.bytes()); err != nil {
		l.stepBack()
		return err
	}
	l.set(next)
	l.mu.Lock()
	defer l.mu.Unlock()
	l.good = l.opt.Real()
	l.heard = l.good
	return nil
}

// turn is the mark that a message of this server follows, if it may send one.
func (l *Log) turn() (mark, bool) {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.mark, l.writes
}

func nobodyKept(err error) error {
	return &traveler.Error{Kind: traveler.KindBusy, Doing: "append to the shared record",
		Say: traveler.Msg{Key: "stream.nobody"}, Err: err}
}

// stepBack lets the server decide no more, and lets it claim again at once.
func (l *Log) stepBack() {
	l.mu.Lock()
	l.writes, l.lost = false, true
	l.turnLocked()
	l.mu.Unlock()
	l.tail.look()
}

// turnLocked wakes those who wait for another to decide.
func (l *Log) turnLocked() {
	close(l.moved)
	l.moved = make(chan struct{})
	if l.turned != nil {
		go l.turned()
	}
}

// OnTurn calls a function each time that another server may decide than before.
func (l *Log) OnTurn(turned func()) {
	l.mu.Lock()
	defer l.mu.Unlock()
	l.turned = turned
}

// breakOff notes that nothing can be taken in any more.
func (l *Log) breakOff(err error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	if l.broken == nil {
		l.broken, l.writes = err, false
		l.opt.Log.Error("the shared record cannot be read on", "stream", l.opt.Stream, "error", err)
		l.turnLocked()
	}
}

// Reopen opens the server's own file again where writing it failed; the desk then goes on
// from what was taken in. It fails as story.Log says.
func (l *Log) Reopen() error {
	if l.Fault() == nil {
		return nil
	}
	return l.Buffered.Reopen()
}

// Close lets go of the stream and of the server's own file. It fails when that could not
// be written; what it lacks is read from the stream again.
func (l *Log) Close() error {
	close(l.stop)
	l.done.Wait()
	l.link.nc.Close()
	return l.Buffered.Close()
}
