package stream

import (
	"cmp"
	"context"
	"crypto/rand"
	"encoding/hex"
	"encoding/json"
	"errors"
	"log/slog"
	"net"
	"net/url"
	"time"

	"github.com/nats-io/nats.go/jetstream"

	"tallywalk/store"
	"tallywalk/store/stream/fit"
	"tallywalk/traveler"
	"tallywalk/traveler/story"
)

// openTime is how long the engine may take to answer at the start.
const openTime = 15 * time.Second

// muchMissing is how many entries are read before a desk opens over the file, if they are
// most of the record: its ledger is made again then. Others come as news.
const muchMissing = 1024

// Open connects a server's own file to the record in a stream, and reads what the file
// lacks if that is much. It fails with KindBusy when no node of the engine answers, with
// KindConflict when the file has a record of its own, or another one, and with KindCorrupt
// when the stream lacks what the file holds. The file is the Log's from then on, and is
// closed where this fails.
func Open(ctx context.Context, file *store.File, opt Options) (*Log, error) {
	l, err := open(ctx, file, opt)
	if err != nil {
		_ = file.Close()
		return nil, err
	}
	return l, nil
}

func open(ctx context.Context, file *store.File, opt Options) (*Log, error) {
	if opt.Log == nil {
		opt.Log = slog.New(slog.DiscardHandler)
	}
	if opt.FlushEvery == 0 {
		opt.FlushEvery = time.Second
	}
	if opt.Patience == 0 {
		opt.Patience = Patience
	}
	if opt.Progress == nil {
		opt.Progress = func(uint64, uint64) {}
	}
	li, err := dial(&opt)
	if err != nil {
		return nil, apart(err)
	}
	enter := join
	if opt.Watch {
		enter = watch
	}
	l, err := enter(ctx, li, file, opt)
	if err != nil {
		li.nc.Close()
	}
	return l, err
}

func apart(err error) error {
	return &traveler.Error{Kind: traveler.KindBusy, Doing: "connect to the engine",
		Say: traveler.Msg{Key: "stream.apart"}, Err: err}
}

func join(ctx context.Context, li *link, file *store.File, opt Options) (*Log, error) {
	if err := li.fits(ctx, opt); err != nil {
		return nil, err
	}
	identity, last, err := li.streamIs(ctx, opt.Stream)
	if err != nil {
		return nil, err
	}
	end, err := li.endOf(opt.Stream, last)
	if err != nil {
		return nil, err
	}
	at, again, err := reached(file, identity)
	if err != nil {
		return nil, err
	}
	if last < at.Pos {
		return nil, traveler.Fail(traveler.KindCorrupt, "stream.short", opt.Stream)
	}
	l := newLog(li, opt, at)
	if err := l.load(ctx, file, last, end, again); err != nil {
		return nil, err
	}
	l.over(file)
	return l, nil
}

// newLog is a log that holds a stream up to a mark.
func newLog(li *link, opt Options, at mark) *Log {
	var id [8]byte
	_, _ = rand.Read(id[:]) // it never fails
	return &Log{
		opt: opt, link: li, instance: hex.EncodeToString(id[:]), mark: at,
		news: make(chan struct{}, 1), stop: make(chan struct{}), moved: make(chan struct{}),
		peers: map[string]*peer{},
	}
}

// over lets a log go on from a file.
func (l *Log) over(file *store.File) {
	l.Buffered = store.NewBuffered(file, l.opt.FlushEvery)
	l.heard, l.good = l.opt.Real(), l.opt.Real()
	l.tail = newTail(l.link, l.opt.Stream, fit.Subject(l.opt.Stream), fit.Kept(l.opt.Stream))
	l.tail.gapless, l.tail.next, l.tail.give, l.tail.ends = true, l.next, l.took, l.readAll
}

// Start begins to read, to inform the others, and to claim when nobody decides. doubt says
// whether the server's clock can't be believed; a desk knows.
func (l *Log) Start(doubt func() bool) {
	l.mu.Lock()
	l.doubt = doubt
	l.mu.Unlock()
	l.done.Add(2)
	go func() {
		defer l.done.Done()
		if !l.found() {
			return
		}
		if err := l.tail.run(l.stop); err != nil {
			l.breakOff(err)
		}
	}()
	go l.sit()
	if !l.opt.Watch {
		l.done.Add(1)
		go l.keepFar()
	}
	l.tail.look()
}

// fits looks at how the nodes, the stream and the bucket are set.
func (li *link) fits(ctx context.Context, opt Options) error {
	ctx, stop := context.WithTimeout(ctx, openTime)
	defer stop()
	err := fit.Check(ctx, li.nc, opt.Stream, mostBytes, opt.seen()...)
	if err == nil {
		_, err = fit.Bucket(ctx, li.nc, opt.Stream)
	}
	return unfit(opt.Stream, err)
}

func (opt *Options) seen() []fit.Option {
	if len(opt.Monitors) == 0 {
		return nil
	}
	return []fit.Option{fit.Monitors(opt.Monitors...)}
}

// unfit is an error of fit as others get it.
func unfit(stream string, err error) error {
	switch {
	case err == nil:
		return nil
	case errors.Is(err, fit.ErrNoStream):
		return traveler.Fail(traveler.KindNotFound, "stream.none", stream)
	}
	return &traveler.Error{Kind: traveler.KindConflict,
		Say: traveler.Msg{Key: "stream.unfit", Args: []string{err.Error()}}, Err: err}
}

// Passing reports whether an error of Open or Share may pass: engines that do not answer
// yet, or of which too few run or one is set wrongly.
func Passing(err error) bool {
	var e *traveler.Error
	return errors.As(err, &e) && (e.Kind == traveler.KindBusy || e.Say.Key == "stream.unfit")
}

// mostBytes is what a message of the record may have at least: a group has 350 kB seldom, but
// batches that are released together are one.
const mostBytes = 4 << 20

// streamIs gives what a stream is, by its name and when it was made, and its last sequence.
func (li *link) streamIs(ctx context.Context, name string) (identity string, last uint64, err error) {
	ctx, stop := context.WithTimeout(ctx, openTime)
	defer stop()
	js, err := jetstream.New(li.nc)
	if err != nil {
		return "", 0, err
	}
	s, err := js.Stream(ctx, name)
	if errors.Is(err, jetstream.ErrStreamNotFound) {
		return "", 0, traveler.Fail(traveler.KindNotFound, "stream.none", name)
	}
	if err != nil {
		return "", 0, apart(err)
	}
	info := s.CachedInfo()
	return name + " " + info.Created.UTC().Format(time.RFC3339Nano), info.State.LastSeq, nil
}

// endOf is the end of the record in a stream. It fails with KindConflict when the record
// went on elsewhere.
func (li *link) endOf(stream string, last uint64) (traveler.Seq, error) {
	end, to, err := li.lastSays(stream, last)
	if err == nil && to != "" {
		err = traveler.Fail(traveler.KindConflict, "stream.ended", to)
	}
	return end, err
}

// lastSays is what the last message of a stream says: where the record ends, or where it
// went on.
func (li *link) lastSays(stream string, last uint64) (at traveler.Seq, to string, err error) {
	if last == 0 {
		return 0, "", nil
	}
	some, err := li.read(stream, fit.Subject(stream), last)
	if err != nil || len(some) == 0 {
		return 0, "", apart(errors.Join(err, errGone))
	}
	kind, rest, err := kindOf(some[0].data)
	if err != nil {
		return 0, "", err
	}
	switch kind {
	case kindGroup:
		_, group, err := termOf(rest)
		if err == nil {
			at, err = store.GroupEnd(group)
		}
		return at, "", err
	case kindClaim:
		c, err := claimIn(rest)
		return c.Seq, "", err
	}
	var e end
	err = json.Unmarshal(rest, &e)
	return 0, e.To, err
}

// reached is how far a file holds a stream. again is true when it held another one of the
// same record, whose place in this one has to be found.
func reached(file *store.File, identity string) (at mark, again bool, err error) {
	data, err := file.StreamMark()
	if err != nil {
		return at, false, err
	}
	seq, _ := file.Head()
	if data == nil {
		if seq > 0 {
			return at, false, traveler.Fail(traveler.KindConflict, "stream.own", file.Path())
		}
		return mark{Stream: identity}, false, nil
	}
	if at, err = readMark(data); err != nil {
		return at, false, err
	}
	if at.Stream != identity {
		return mark{Stream: identity}, seq > 0, nil
	}
	return at, false, nil
}

// load reads what a file lacks, if that is much, and leaves the ledger to be made again.
func (l *Log) load(ctx context.Context, file *store.File, last uint64, end traveler.Seq, again bool) error {
	if has, _ := file.Head(); !again && (end < has+muchMissing || end < 2*has) {
		return nil
	}
	if err := file.DropSnapshot(); err != nil {
		return err
	}
	b := store.NewBuffered(file, 0)
	held, _ := b.Head()
	for l.mark.Pos < last {
		some, err := l.link.read(l.opt.Stream, fit.Subject(l.opt.Stream), l.mark.Pos+1)
		if err == nil && len(some) == 0 {
			err = errGone
		}
		if err = errors.Join(err, ctx.Err()); err != nil {
			if !again { // what was read holds, and the rest follows it
				err = errors.Join(err, b.Flush())
			}
			return apart(err)
		}
		for i := range some {
			if err := l.loadOne(b, &some[i], true); err != nil {
				return err
			}
		}
		l.opt.Progress(l.mark.Pos, last)
	}
	if l.reached < held && again {
		return traveler.Fail(traveler.KindCorrupt, "stream.short", l.opt.Stream)
	}
	return b.Flush()
}

var errGone = errors.New("the stream gave nothing where it should have more")

// loadOne takes in one message while there is no desk; marked says that the file notes how
// far it came.
func (l *Log) loadOne(b *store.Buffered, m *message, marked bool) error {
	kind, rest, err := kindOf(m.data)
	if err != nil {
		return err
	}
	next := l.mark
	next.Pos = m.seq
	note := func() []byte {
		if !marked {
			return nil
		}
		return next.bytes()
	}
	switch kind {
	case kindClaim:
		c, err := claimIn(rest)
		if err != nil {
			return err
		}
		next.Term = c.Term
		l.decider = c
		b.Mark(note())
	case kindGroup:
		_, data, err := termOf(rest)
		if err != nil {
			return err
		}
		seq, link := b.Head()
		g, err := store.ReadRest(data, seq, link)
		if err != nil {
			return err
		}
		if l.reached, err = store.GroupEnd(data); err != nil {
			return err
		}
		if g == nil {
			b.Mark(note())
		} else if err := b.Keep(g, nil, note()); err != nil {
			return err
		}
	default:
		return errForm
	}
	l.mark = next
	return nil
}

// keepFar finds out from time to time whether this server's node is the one through which
// all messages of the stream go.
func (l *Log) keepFar() {
	defer l.done.Done()
	every := time.NewTicker(leaveAfter)
	defer every.Stop()
	for {
		far, err := l.farNow()
		l.far.Store(int64(far))
		l.answered(err == nil)
		select {
		case <-l.stop:
			return
		case <-every.C:
		}
	}
}

// answered notes whether the engine answered for the stream, which it does not where too few
// nodes are left to keep anything.
func (l *Log) answered(did bool) {
	l.mu.Lock()
	defer l.mu.Unlock()
	if did {
		l.silent = time.Time{}
	} else if l.silent.IsZero() {
		l.silent = l.opt.Real()
	}
}

// farNow is what a server waits longer whose node is another. It fails when the engine does
// not answer for the stream.
func (l *Log) farNow() (time.Duration, error) {
	ctx, stop := context.WithTimeout(context.Background(), publishTime)
	defer stop()
	js, err := jetstream.New(l.link.nc)
	if err != nil {
		return 0, err
	}
	s, err := js.Stream(ctx, l.opt.Stream)
	if err != nil {
		return 0, err
	}
	if c := s.CachedInfo().Cluster; c == nil || c.Leader == l.link.nc.ConnectedServerName() {
		return 0, nil
	}
	return patienceFar, nil
}

// goHome goes back to the nearest node where that answers again.
func (l *Log) goHome() {
	home := hostOf(l.opt.URLs[0])
	if l.at() == home || !l.link.nc.IsConnected() || l.Decides() || !listens(home) {
		return
	}
	for range l.opt.URLs {
		if l.at() == home || l.link.nc.ForceReconnect() != nil {
			return
		}
		for range 20 {
			select {
			case <-l.stop:
				return
			case <-time.After(seatEvery):
			}
			if l.link.nc.IsConnected() {
				break
			}
		}
	}
}

// at is the node that the server is connected to, as its address was given: a name in
// that is not the number that the connection has.
func (l *Log) at() string { return hostOf(l.link.nc.ConnectedUrl()) }

// nodePort is that of an address which says none.
const nodePort = "4222"

// hostOf is host and port of a node's address.
func hostOf(address string) string {
	u, err := url.Parse(address)
	if err != nil || u.Hostname() == "" {
		return ""
	}
	return net.JoinHostPort(u.Hostname(), cmp.Or(u.Port(), nodePort))
}

// listens reports whether someone takes connections there.
func listens(host string) bool {
	c, err := net.DialTimeout("tcp", host, seatEvery*4)
	if err != nil {
		return false
	}
	_ = c.Close()
	return true
}

// linkOf reads what linkText wrote; zero for what is none.
func linkOf(text string) (h story.Hash) {
	if b, err := hex.DecodeString(text); err == nil && len(b) == len(h) {
		copy(h[:], b)
	}
	return h
}
