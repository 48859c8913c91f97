package stream

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"strconv"
	"time"

	"github.com/nats-io/nats.go"
)

// How a connection finds out that its node is gone, and how long an answer may take.
const (
	pingEvery   = 500 * time.Millisecond
	pingsLost   = 3
	dialTime    = 2 * time.Second
	againEvery  = 200 * time.Millisecond
	publishTime = 2 * time.Second
	readTime    = 2 * time.Second
)

// link is the connection to the nodes of the engine.
type link struct{ nc *nats.Conn }

// dial connects to the first node that answers; the first of the list is the one that is
// preferred. One that only watches is connected later where none answers.
func dial(o *Options) (*link, error) {
	opts := nats.GetDefaultOptions()
	opts.Servers, opts.NoRandomize, opts.Name, opts.RetryOnFailedConnect = o.URLs, true, o.Name, o.Watch
	if o.Secret != nil {
		opts.Secure, opts.TLSConfig = true, o.Secret.TLS()
	}
	opts.Timeout, opts.PingInterval, opts.MaxPingsOut = dialTime, pingEvery, pingsLost
	opts.AllowReconnect, opts.MaxReconnect, opts.ReconnectWait = true, -1, againEvery
	opts.ReconnectJitter, opts.ReconnectBufSize, opts.IgnoreDiscoveredServers = againEvery, -1, true
	opts.NoCallbacksAfterClientClose = true
	// A node that takes long to send is as good as none: what waits is asked elsewhere.
	opts.FlusherTimeout = dialTime
	opts.AsyncErrorCB = func(*nats.Conn, *nats.Subscription, error) {} // a slow reader fills its gaps
	nc, err := opts.Connect()
	if err != nil {
		return nil, err
	}
	return &link{nc: nc}, nil
}

// errRefused is the error of a message that did not follow the last one of the stream.
var errRefused = errors.New("another message came first")

// Codes of JetStream for an expected last sequence that is another.
const (
	codeWrongSequence = 10071
	codeWrongSubject  = 10164
)

// acknowledgement is what the engine answers a message that it kept, or refused.
type acknowledgement struct {
	Stream   string `json:"stream"`
	Sequence uint64 `json:"seq"`
	Error    *struct {
		Code        int    `json:"err_code"`
		Description string `json:"description"`
	} `json:"error"`
}

// publish appends a message and gives its sequence. last is the sequence of the stream's
// last message, -1 when it does not matter. It fails with errRefused when that is another;
// after any other error nobody knows whether the message was kept.
func (l *link) publish(subject string, head nats.Header, data []byte, last int64) (uint64, error) {
	ctx, stop := context.WithTimeout(context.Background(), publishTime)
	defer stop()
	if head == nil {
		head = nats.Header{}
	}
	if last >= 0 {
		head.Set(nats.ExpectedLastSeqHdr, strconv.FormatInt(last, 10))
	}
	m, err := l.nc.RequestMsgWithContext(ctx, &nats.Msg{Subject: subject, Header: head, Data: data})
	if err != nil {
		return 0, err
	}
	var ack acknowledgement
	if err := json.Unmarshal(m.Data, &ack); err != nil {
		return 0, fmt.Errorf("an answer that is none: %w", err)
	}
	switch e := ack.Error; {
	case e != nil && (e.Code == codeWrongSequence || e.Code == codeWrongSubject):
		return 0, errRefused
	case e != nil:
		return 0, errors.New(e.Description)
	case ack.Sequence == 0:
		return 0, errors.New("an answer without a sequence")
	}
	return ack.Sequence, nil
}

// message is one of a stream.
type message struct {
	seq     uint64
	subject string
	erased  bool   // of a table: the row was removed
	from    string // of a table: the instance of the server that wrote it; empty where that is not known
	data    []byte
}

// Headers of messages that are read or handed on.
const (
	headSequence  = "Nats-Sequence"
	headSubject   = "Nats-Subject"
	headStatus    = "Status"
	headBefore    = "Nats-Last-Sequence" // of the message before in a batch
	headOperation = "KV-Operation"
	headFrom      = "Tallywalk-From"
)

func messageOf(m *nats.Msg) (message, bool) {
	seq, err := strconv.ParseUint(m.Header.Get(headSequence), 10, 64)
	out := message{
		seq: seq, subject: m.Header.Get(headSubject), data: m.Data, erased: m.Header.Get(headOperation) != "",
		from: m.Header.Get(headFrom),
	}
	return out, err == nil && seq > 0
}

// follows reports whether a message of a batch follows those that came before: one that
// was lost with a connection is seen by nothing else where sequences have gaps.
func follows(m *nats.Msg, came []message) bool {
	before := uint64(0)
	if n := len(came); n > 0 {
		before = came[n-1].seq
	}
	said, err := strconv.ParseUint(m.Header.Get(headBefore), 10, 64)
	return err == nil && said == before
}

// Messages that are asked for at once, and bytes of them: more than the largest message has.
const (
	batchLen   = 1024
	batchBytes = 16 << 20
)

// read gives the messages of a stream from a sequence on, at most a batch of them; none
// when there is none yet. Any node answers, so that one may lack the newest.
func (l *link) read(stream, filter string, from uint64) (out []message, err error) {
	ask, err := json.Marshal(
		map[string]any{"seq": from, "batch": batchLen, "max_bytes": batchBytes, "next_by_subj": filter})
	if err != nil {
		return nil, err
	}
	inbox := l.nc.NewInbox()
	sub, err := l.nc.SubscribeSync(inbox)
	if err != nil {
		return nil, err
	}
	defer func() { _ = sub.Unsubscribe() }()
	if err := l.nc.PublishRequest("$JS.API.DIRECT.GET."+stream, inbox, ask); err != nil {
		return nil, err
	}
	for {
		m, err := sub.NextMsg(readTime)
		if err != nil {
			return out, err
		}
		if status := m.Header.Get(headStatus); status != "" {
			// 204 ends a batch, 404 says that there is nothing.
			if status == "204" || status == "404" {
				return out, nil
			}
			return out, fmt.Errorf("the engine answered %s %s", status, m.Header.Get("Description"))
		}
		one, ok := messageOf(m)
		if !ok {
			continue
		}
		if !follows(m, out) {
			return out, nil // what was lost on its way is asked for again
		}
		out = append(out, one)
	}
}
