package desk

import (
	"context"
	"crypto/rand"
	"io"
	"sync"
	"time"

	"tallywalk/store"
	"tallywalk/traveler"
	"tallywalk/traveler/ground"
	"tallywalk/traveler/story"
)

// Options say how a desk works. Now must be set; zero values of the others
// stand for what is said beside them.
type Options struct {
	Now           func() time.Time
	Steady        func() time.Duration // a clock that nobody sets, to compare Now with; none
	Rand          io.Reader            // numbers of new codes; crypto/rand
	SnapshotEvery int                  // entries between two snapshots; 4096
	Keep          time.Duration        // how long an ended family stays in memory; 72 h
	Shelf         int                  // families off the floor that are kept at hand; 64
	ThinEvery     int                  // entries of a whole replay after which ended families leave memory; 20000
}

func (o *Options) fill() {
	if o.Rand == nil {
		o.Rand = rand.Reader
	}
	if o.SnapshotEvery == 0 {
		o.SnapshotEvery = 4096
	}
	if o.Keep == 0 {
		o.Keep = 72 * time.Hour
	}
	if o.Shelf == 0 {
		o.Shelf = 64
	}
	if o.ThinEvery == 0 {
		o.ThinEvery = 20000
	}
}

// How much waits, and how much goes into one transaction.
const (
	queueLen     = 1024
	groupLen     = 256  // commands
	groupEntries = 4096 // entries, after which no more commands are taken
)

// Desk is the story.Desk over a log. It owns the log's writing side; the
// tables may be written beside it.
type Desk struct {
	log story.Log
	opt Options

	queue   chan *command
	closing chan struct{}
	stopped chan struct{}
	once    sync.Once
	last    error // of the writer when it stopped; read after stopped

	mu      sync.RWMutex
	shown   floor
	moved   changes // of shown
	changed chan struct{}
	shelf   shelf

	floors ground.Floors
	clock  serverClock
}

var _ story.Desk = (*Desk)(nil)

// command waits in the queue for the writer.
type command struct {
	ctx     context.Context
	decide  func(w *writer) ([]reply, error)
	answers []story.Answer
	err     error
	done    chan struct{}
}

// reply is an answer that still lacks the family, which is only known after the
// commit.
type reply struct {
	answer story.Answer
	root   traveler.Code
}

// New opens a desk over a log: from the last snapshot if it fits, else from the whole
// record. It fails when the log cannot be read to its end, with the error of the log.
func New(log story.Log, opt Options) (*Desk, error) {
	opt.fill()
	d := &Desk{
		log: log, opt: opt,
		queue:   make(chan *command, queueLen),
		closing: make(chan struct{}),
		stopped: make(chan struct{}),
		changed: make(chan struct{}),
		shelf:   shelf{most: opt.Shelf},
		moved:   newChanges(),
		clock:   serverClock{wall: opt.Now, steady: opt.Steady},
	}
	w := &writer{d: d, log: log, commits: make(chan *group), results: make(chan *group, 1)}
	if err := w.replay(); err != nil {
		return nil, err
	}
	d.shown = w.clone()
	if shared, ok := log.(store.Shared); ok {
		w.shared, w.ready = shared, shared.News()
	}
	go w.run()
	go d.commit(w.commits, w.results)
	return d, nil
}

// Close keeps what is decided, turns away what waits, saves a snapshot and stops the
// writer. The log stays open. It fails when what was decided last could not be kept,
// with the error of the log.
func (d *Desk) Close() error {
	d.once.Do(func() { close(d.closing) })
	<-d.stopped
	return d.last
}

// ask hands a command to the writer and waits for its answers.
func (d *Desk) ask(ctx context.Context, decide func(w *writer) ([]reply, error)) ([]story.Answer, error) {
	c := &command{ctx: ctx, decide: decide, done: make(chan struct{})}
	select {
	case <-d.closing:
		return nil, errClosing()
	default:
	}
	select {
	case d.queue <- c:
	case <-ctx.Done():
		return nil, gaveUp(ctx)
	case <-d.closing:
		return nil, errClosing()
	}
	select {
	case <-c.done:
		return c.answers, c.err
	case <-ctx.Done():
		return nil, gaveUp(ctx)
	case <-d.stopped:
	}
	select {
	case <-c.done:
		return c.answers, c.err
	default:
		return nil, errClosing()
	}
}

func errClosing() error { return traveler.Fail(traveler.KindBusy, "store.closing") }

// gaveUp is the error of one who did not wait for the answer: what was said may
// be kept or not, and is answered the same when it is said again.
func gaveUp(ctx context.Context) error {
	return &traveler.Error{Kind: traveler.KindBusy, Say: traveler.Msg{Key: "store.gaveup"},
		Err: context.Cause(ctx)}
}
