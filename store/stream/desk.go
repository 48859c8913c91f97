package stream

import (
	"context"
	"encoding/json"
	"errors"
	"slices"
	"time"

	"github.com/nats-io/nats.go"

	"tallywalk/store"
	"tallywalk/traveler"
	"tallywalk/traveler/story"
)

// How long what was asked of the server that decides may take, and how long a server waits
// for someone who decides, before the one who asked gets an error.
const (
	askTime    = 3 * time.Second
	nobodyTime = 20 * time.Second
	ownTime    = 2 * time.Second // until this server shows what another one answered
	askedMost  = 256             // questions of other servers that are answered at once
)

// Desk is a story.Desk on each of several servers: what is read comes from its own, what
// is said goes to the one that decides. What is said again, since nobody knows whether it
// was kept, is known by its ids, or says nothing new.
type Desk struct {
	Own  // this server's own
	log  *Log
	sub  *nats.Subscription
	busy chan struct{}
}

var _ story.Desk = (*Desk)(nil)

// Own is a desk over a Log, which ends before that does.
type Own interface {
	story.Desk
	Close() error
}

// Over gives the desk of a server over its own one, begins to take part and answers what
// other servers ask. It fails when the engine is gone.
func Over(own Own, log *Log) (*Desk, error) {
	d := &Desk{Own: own, log: log, busy: make(chan struct{}, askedMost)}
	sub, err := log.link.nc.Subscribe(asks(log.opt.Stream, log.instance), d.asked)
	if err != nil {
		return nil, apart(err)
	}
	d.sub = sub
	log.Start(func() bool { return own.ClockDoubt() != nil })
	return d, nil
}

// asks is the subject on which a server that decides is asked.
func asks(stream, instance string) string { return stream + ".decide." + instance }

// question is what one server asks another.
type question struct {
	Scans   []story.Said       `json:"scans,omitempty"`
	Release []traveler.Release `json:"release,omitempty"`
	Cards   []traveler.Code    `json:"cards,omitempty"`
	Change  *traveler.Change   `json:"change,omitempty"`
	By      traveler.Actor     `json:"by"`
	Trust   bool               `json:"trust,omitempty"` // believe the clock as it stands
}

// answer is what it is answered.
type answer struct {
	Answers []answered   `json:"answers,omitempty"`
	Error   *fault       `json:"error,omitempty"`
	Seq     traveler.Seq `json:"seq"` // end of the record that it rests on
	Other   bool         `json:"other,omitempty"`
}

// answered is a story.Answer without the family, which each server has.
type answered struct {
	ID      traveler.ScanID  `json:"id"`
	Outcome traveler.Outcome `json:"outcome"`
	Again   bool             `json:"again,omitempty"`
	Seq     traveler.Seq     `json:"seq,omitempty"`
	Say     traveler.Msg     `json:"say"`
	Offer   bool             `json:"offer,omitempty"`
	Error   *fault           `json:"error,omitempty"`
	Card    traveler.Code    `json:"card,omitempty"`
	Issued  traveler.Code    `json:"issued,omitempty"`
}

// fault is a traveler.Error on its way.
type fault struct {
	Kind  traveler.ErrorKind `json:"kind"`
	Doing string             `json:"doing,omitempty"`
	Field string             `json:"field,omitempty"`
	Say   traveler.Msg       `json:"say"`
	Cause string             `json:"cause,omitempty"`
}

func faultOf(err error) *fault {
	if err == nil {
		return nil
	}
	var e *traveler.Error
	if !errors.As(err, &e) {
		return &fault{Kind: traveler.KindInternal, Say: traveler.Msg{Key: "store.internal"},
			Cause: err.Error()}
	}
	f := &fault{Kind: e.Kind, Doing: e.Doing, Field: e.Field, Say: e.Say}
	if e.Err != nil {
		f.Cause = e.Err.Error()
	}
	return f
}

func (f *fault) err() error {
	if f == nil {
		return nil
	}
	e := &traveler.Error{Kind: f.Kind, Doing: f.Doing, Field: f.Field, Say: f.Say}
	if f.Cause != "" {
		e.Err = errors.New(f.Cause)
	}
	return e
}

// Scans takes scans in their order; see story.Desk. It fails as that says, and with KindBusy
// where nobody decides for long.
func (d *Desk) Scans(ctx context.Context, said []story.Said) ([]story.Answer, error) {
	var out []story.Answer
	for part := range slices.Chunk(said, scansTogether) {
		answers, err := d.say(ctx, question{Scans: part})
		if err != nil {
			return nil, err
		}
		out = append(out, answers...)
	}
	return out, nil
}

// scansTogether is how many scans go to another server at once.
const scansTogether = 50

// Release puts batches on the floor, all or none; see story.Desk. It fails as Scans does.
func (d *Desk) Release(ctx context.Context, by traveler.Actor, rs []traveler.Release,
	cards []traveler.Code) ([]story.Answer, error) {
	return d.say(ctx, question{By: by, Release: rs, Cards: cards})
}

// Change changes the shop; see story.Desk. It fails as Scans does, and as story.Desk says.
func (d *Desk) Change(ctx context.Context, by traveler.Actor, c *traveler.Change) error {
	_, err := d.say(ctx, question{By: by, Change: c})
	return err
}

// say lets whoever decides decide.
func (d *Desk) say(ctx context.Context, q question) ([]story.Answer, error) {
	ctx, stop := context.WithTimeout(ctx, nobodyTime)
	defer stop()
	for {
		writes, at, moved := d.log.who()
		var answers []story.Answer
		err := nobodyKept(store.ErrElsewhere)
		switch {
		case writes:
			answers, err = d.here(ctx, &q)
		case at != "":
			answers, err = d.there(ctx, at, &q)
		}
		if !errors.Is(err, store.ErrElsewhere) {
			return answers, err
		}
		// Nobody decides, or another than was thought. Who waits hears nothing before that
		// is settled: what was said may be kept.
		select {
		case <-moved:
		case <-time.After(seatEvery):
		case <-ctx.Done():
			return nil, err
		}
	}
}

// who says whether this server decides, else which one, and gives a channel that is closed
// when that may be another.
func (l *Log) who() (writes bool, at string, moved <-chan struct{}) {
	l.mu.Lock()
	defer l.mu.Unlock()
	if l.decider.Instance != l.instance {
		at = l.decider.Instance
	}
	return l.writes, at, l.moved
}

// Settled waits until a server decides, and reports whether it is this one.
func (l *Log) Settled(ctx context.Context) bool {
	for {
		writes, at, moved := l.who()
		if writes || at != "" && !l.quiet() {
			return writes
		}
		select {
		case <-moved:
		case <-time.After(lookEvery):
		case <-ctx.Done():
			return false
		}
	}
}

func (d *Desk) here(ctx context.Context, q *question) (answers []story.Answer, err error) {
	switch {
	case q.Change != nil:
		err = d.Own.Change(ctx, q.By, q.Change)
	case q.Release != nil:
		answers, err = d.Own.Release(ctx, q.By, q.Release, q.Cards)
	case q.Scans != nil:
		answers, err = d.Own.Scans(ctx, q.Scans)
	case q.Trust:
		d.Own.TrustClock()
	}
	return answers, err
}

// there asks another server.
func (d *Desk) there(ctx context.Context, at string, q *question) ([]story.Answer, error) {
	data, err := json.Marshal(q)
	if err != nil {
		return nil, err
	}
	if int64(len(data)) > d.log.link.nc.MaxPayload() {
		return nil, traveler.Fail(traveler.KindTooLarge, "stream.large")
	}
	asking, stop := context.WithTimeout(ctx, askTime)
	defer stop()
	m, err := d.log.link.nc.RequestWithContext(asking, asks(d.log.opt.Stream, at), data)
	if err != nil {
		return nil, nobodyKept(errors.Join(store.ErrElsewhere, err))
	}
	var a answer
	if err := json.Unmarshal(m.Data, &a); err != nil {
		return nil, nobodyKept(err)
	}
	if a.Other {
		return nil, nobodyKept(store.ErrElsewhere)
	}
	if err := a.Error.err(); err != nil {
		return nil, err
	}
	d.shows(ctx, a.Seq)
	return d.own(a.Answers), nil
}

// own are the answers of another server with this one's families.
func (d *Desk) own(answers []answered) []story.Answer {
	out := make([]story.Answer, len(answers))
	for i, a := range answers {
		out[i] = story.Answer{
			ID: a.ID, Outcome: a.Outcome, Again: a.Again, Seq: a.Seq, Say: a.Say, Offer: a.Offer,
			Err:  a.Error.err(),
			Card: a.Card, Issued: a.Issued,
		}
		if a.Card == "" {
			continue
		}
		if f, err := d.Own.Family(a.Card); err == nil {
			out[i].Family = f
		}
	}
	return out
}

// shows waits until this server shows the record up to a sequence, or too long.
func (d *Desk) shows(ctx context.Context, seq traveler.Seq) {
	late := time.NewTimer(ownTime)
	defer late.Stop()
	for {
		changed := d.Changed()
		if now, _ := d.Head(); now >= seq {
			return
		}
		select {
		case <-changed:
		case <-late.C:
			return
		case <-ctx.Done():
			return
		}
	}
}

// asked answers another server.
func (d *Desk) asked(m *nats.Msg) {
	select {
	case d.busy <- struct{}{}:
	default:
		d.reply(m, answer{Other: true}) // said again in a moment
		return
	}
	go func() {
		defer func() { <-d.busy }()
		var q question
		if err := json.Unmarshal(m.Data, &q); err != nil {
			d.reply(m, answer{Error: faultOf(traveler.Fail(traveler.KindInvalid, "stream.form"))})
			return
		}
		ctx, stop := context.WithTimeout(context.Background(), askTime)
		defer stop()
		answers, err := d.here(ctx, &q)
		if errors.Is(err, store.ErrElsewhere) || errors.Is(err, context.DeadlineExceeded) {
			d.reply(m, answer{Other: true})
			return
		}
		a := answer{Error: faultOf(err)}
		if len(answers) == 0 {
			a.Seq, _ = d.Head()
		}
		for _, x := range answers {
			a.Seq = max(a.Seq, x.Seq)
			a.Answers = append(a.Answers, answered{
				ID: x.ID, Outcome: x.Outcome, Again: x.Again, Seq: x.Seq, Say: x.Say, Offer: x.Offer,
				Error: faultOf(x.Err),
				Card:  x.Card, Issued: x.Issued,
			})
		}
		d.reply(m, a)
	}()
}

func (d *Desk) reply(m *nats.Msg, a answer) {
	if data, err := json.Marshal(a); err == nil {
		_ = m.Respond(data) // who hears nothing asks again
	}
}

// ClockDoubt says why the clock of the server can't be believed, where that matters: the
// one that decides, and each one while nobody does; see story.Desk.
func (d *Desk) ClockDoubt() *story.ClockDoubt {
	writes, at, _ := d.log.who()
	if !writes && at != "" && !d.log.quiet() {
		return nil
	}
	return d.Own.ClockDoubt()
}

// TrustClock believes this server's clock, and lets the one that decides believe its own;
// see story.Desk.
func (d *Desk) TrustClock() {
	d.Own.TrustClock()
	if writes, at, _ := d.log.who(); !writes && at != "" {
		ctx, stop := context.WithTimeout(context.Background(), askTime)
		defer stop()
		_, _ = d.there(ctx, at, &question{Trust: true}) // its own page asks again
	}
}

// quiet reports whether there was no sign of the server that decides for long.
func (l *Log) quiet() bool {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.opt.Real().Sub(l.heard) > l.late()
}

// Close answers others no more and ends this server's own desk. It fails as that does.
func (d *Desk) Close() error {
	_ = d.sub.Unsubscribe() // where the connection is gone, nobody asks
	return d.Own.Close()
}
