package stream

import (
	"context"
	"errors"
	"time"

	"tallywalk/store"
	"tallywalk/store/stream/fit"
	"tallywalk/traveler"
	"tallywalk/traveler/story"
)

// watches is the error of whoever would write where a server only shows the record.
func watches() error { return traveler.Fail(traveler.KindForbidden, "stream.watches") }

// watch opens a log that only reads, from the stream where that is found, else from the
// server's own file as it is.
func watch(ctx context.Context, li *link, file *store.File, opt Options) (*Log, error) {
	at, err := keptMark(file)
	if err != nil {
		return nil, err
	}
	l := newLog(li, opt, at)
	identity, last, end, err := l.find(ctx)
	again := false
	if err == nil {
		if l.mark, again, err = reached(file, identity); err != nil {
			return nil, err
		}
		err = short(&l.opt, last, l.mark.Pos)
	}
	if err == nil {
		err = l.load(ctx, file, last, end, again)
	}
	if err != nil && again {
		return nil, err // its place in another stream of the record is not found yet
	}
	l.missing = err
	l.over(file)
	return l, nil
}

// keptMark is how far a file holds a stream, whichever that was.
func keptMark(file *store.File) (mark, error) {
	data, err := file.StreamMark()
	if err != nil || data == nil {
		at, _, rerr := reached(file, "")
		return at, errors.Join(err, rerr)
	}
	return readMark(data)
}

// find looks for the stream, and gives what it is, its last sequence, and where the record
// ends there.
func (l *Log) find(ctx context.Context) (identity string, last uint64, end traveler.Seq, err error) {
	if !l.link.nc.IsConnected() {
		return "", 0, 0, apart(l.link.nc.LastError())
	}
	if err := l.link.fits(ctx, l.opt); err != nil {
		return "", 0, 0, err
	}
	if identity, last, err = l.link.streamIs(ctx, l.opt.Stream); err != nil {
		return "", 0, 0, err
	}
	end, to, err := l.link.lastSays(l.opt.Stream, last)
	l.mu.Lock()
	defer l.mu.Unlock()
	l.ended = to
	return identity, last, end, err
}

// short fails with KindCorrupt where a stream ends before what a file holds of it.
func short(opt *Options, last, held uint64) error {
	if last < held {
		return traveler.Fail(traveler.KindCorrupt, "stream.short", opt.Stream)
	}
	return nil
}

// findAgain is how often a server that only watches looks for a stream that it did not find.
const findAgain = time.Second

// found waits until the stream is found, and reports whether it was before the log is
// closed.
func (l *Log) found() bool {
	for {
		l.mu.Lock()
		missing := l.missing
		l.mu.Unlock()
		if missing == nil {
			return true
		}
		select {
		case <-l.stop:
			return false
		case <-time.After(findAgain):
		}
		l.findLater()
	}
}

// findLater looks for a stream that was not found when the log was opened.
func (l *Log) findLater() {
	ctx, stop := context.WithTimeout(context.Background(), openTime)
	defer stop()
	identity, last, _, err := l.find(ctx)
	l.mu.Lock()
	defer l.mu.Unlock()
	switch at := l.mark; {
	case err != nil:
	case at.Stream != "" && at.Stream != identity:
		err = traveler.Fail(traveler.KindConflict, "stream.another", l.opt.Stream)
	default:
		l.mark.Stream = identity
		err = short(&l.opt, last, at.Pos)
	}
	l.missing = err
}

// readAll notes that the stream was read to its end.
func (l *Log) readAll() {
	l.mu.Lock()
	defer l.mu.Unlock()
	now := l.opt.Real()
	if l.opt.Watch {
		l.good = now
	}
	if n := len(l.queue); n == 0 || l.queue[n-1].seq <= l.mark.Pos {
		l.whole = now
	}
}

// Watched is how far a server that only watches has come. Times are by its own clock.
type Watched struct {
	AsOf    time.Time // when the record was last known to end where it is shown to; zero = not since the start
	Reached bool      // the engine answers
	Behind  uint64    // messages that servers of the record reported and that are not shown yet
	Heard   time.Time // when a server of the record was heard last; zero = not since the start
	Servers int       // that are heard now
	Wrong   []traveler.Msg
}

// asOfSlack is how old the end of a stream may be for the engine to count as answering.
const asOfSlack = leaveAfter

// Watched says how far this server has come.
func (l *Log) Watched() Watched {
	l.mu.Lock()
	defer l.mu.Unlock()
	now := l.opt.Real()
	w := Watched{AsOf: l.whole,
		Reached: l.link.nc.IsConnected() && l.missing == nil && now.Sub(l.good) <= asOfSlack}
	for _, p := range l.peers {
		if p.Pos > l.mark.Pos {
			w.Behind = max(w.Behind, p.Pos-l.mark.Pos)
		}
		if p.heard.After(w.Heard) {
			w.Heard = p.heard
		}
		if now.Sub(p.heard) <= peerLate+beatEvery {
			w.Servers++
		}
	}
	say := func(key string, args ...string) { w.Wrong = append(w.Wrong, traveler.Msg{Key: key, Args: args}) }
	var e *traveler.Error
	switch {
	case l.broken != nil:
		say("stream.stuck", l.broken.Error())
	case l.ended != "":
		say("stream.ended", l.ended)
	case errors.As(l.missing, &e) && e.Say.Key != "stream.apart":
		w.Wrong = append(w.Wrong, e.Say)
	case !w.Reached:
		say("stream.unheard")
	}
	if err := l.Fault(); err != nil {
		say("stream.file", err.Error())
	}
	return w
}

// SharedRow reads a row of the tables that the servers of the record share, from the engine; nil
// when there is none. It fails with KindBusy when the engine does not answer.
func (l *Log) SharedRow(table, key string) ([]byte, error) {
	bucket := fit.BucketName(l.opt.Stream)
	some, err := l.link.read("KV_"+bucket, subjectOf(bucket, rowKey(table, key)), 1)
	if err != nil {
		return nil, apart(err)
	}
	if n := len(some); n > 0 && !some[n-1].erased {
		return some[n-1].data, nil
	}
	return nil, nil
}

// Shown is the desk of a server that only shows: what is read comes from its own, and
// nothing can be said. Where that is over a Log that only watches, Start lets it follow.
type Shown struct{ Own }

var _ story.Desk = Shown{}

// Scans refuses with KindForbidden.
func (Shown) Scans(context.Context, []story.Said) ([]story.Answer, error) { return nil, watches() }

// Release refuses with KindForbidden.
func (Shown) Release(context.Context, traveler.Actor, []traveler.Release, []traveler.Code) ([]story.Answer,
	error) {
	return nil, watches()
}

// Change refuses with KindForbidden.
func (Shown) Change(context.Context, traveler.Actor, *traveler.Change) error { return watches() }

// ClockDoubt is nil: nothing is decided here.
func (Shown) ClockDoubt() *story.ClockDoubt { return nil }

// TrustClock does nothing: nothing is decided here.
func (Shown) TrustClock() {}
