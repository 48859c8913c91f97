package stream

import (
	"time"

	"github.com/nats-io/nats.go"
)

// lookEvery is how often a stream is looked at when nothing woke the one who reads it: a
// message that woke nobody is found by then.
const lookEvery = 250 * time.Millisecond

// tail reads the messages of a stream in order. It is woken by those that are handed on as
// they come, and asks for what it missed.
type tail struct {
	link           *link
	stream, filter string
	wakes          string        // subject of what wakes it
	gapless        bool          // sequences run without gaps, so that what wakes it can be taken
	next           func() uint64 // sequence that is to be read next
	give           func(message) (more bool)
	ends           func() // called when all that is there was given; may be nil
	poke           chan struct{}
	came           chan message
}

func newTail(l *link, stream, filter, wakes string) *tail {
	return &tail{
		link: l, stream: stream, filter: filter, wakes: wakes,
		poke: make(chan struct{}, 1), came: make(chan message, 256),
	}
}

// look lets the tail look for messages now.
func (t *tail) look() {
	select {
	case t.poke <- struct{}{}:
	default:
	}
}

// run reads until stop is closed. It fails when it cannot be woken at all.
func (t *tail) run(stop <-chan struct{}) error {
	sub, err := t.link.nc.Subscribe(t.wakes, func(m *nats.Msg) {
		one, ok := messageOf(m)
		if !ok || !t.gapless {
			t.look()
			return
		}
		select {
		case t.came <- one:
		default: // it is asked for
		}
	})
	if err != nil {
		return err
	}
	defer func() { _ = sub.Unsubscribe() }()
	every := time.NewTicker(lookEvery)
	defer every.Stop()
	for {
		select {
		case <-stop:
			return nil
		case m := <-t.came:
			switch next := t.next(); {
			case m.seq == next:
				t.give(m)
			case m.seq > next:
				t.fill()
			}
		case <-t.poke:
			t.fill()
		case <-every.C:
			t.fill()
		}
	}
}

// fill asks for all that is there.
func (t *tail) fill() {
	for {
		some, err := t.link.read(t.stream, t.filter, t.next())
		for _, m := range some {
			if m.seq < t.next() {
				continue
			}
			if t.gapless && m.seq > t.next() || !t.give(m) {
				return
			}
		}
		if err == nil && len(some) == 0 && t.ends != nil {
			t.ends()
		}
		if err != nil || len(some) == 0 {
			return // asked again when it wakes
		}
	}
}
