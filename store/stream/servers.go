package stream

import (
	"cmp"
	"encoding/json"
	"slices"
	"strconv"
	"time"

	"github.com/nats-io/nats.go"

	"tallywalk/traveler"
	"tallywalk/traveler/story"
)

// hear takes in what another server reports.
func (l *Log) hear(m *nats.Msg) {
	var b beat
	if json.Unmarshal(m.Data, &b) != nil || b.Instance == "" || b.Instance == l.instance {
		return
	}
	now := l.opt.Real()
	l.mu.Lock()
	defer l.mu.Unlock()
	for id, p := range l.peers {
		if p.Server == b.Server && id != b.Instance || now.Sub(p.heard) > peerGone {
			delete(l.peers, id)
		}
	}
	if b.Server == l.opt.Name {
		l.twin = now
	}
	l.peers[b.Instance] = &peer{beat: b, heard: now, ahead: b.At.Sub(now)}
	if b.Writes && b.Term >= l.mark.Term {
		l.heard = now
	}
	if b.Pos > l.nextLocked() {
		l.tail.look()
	}
}

// Servers lists the servers that were heard of in the last minutes; see story.Servers.
func (l *Log) Servers() []story.Server {
	seq, link := l.Head()
	l.mu.Lock()
	defer l.mu.Unlock()
	now := l.opt.Real()
	out := []story.Server{{
		Name: l.opt.Name, URL: l.opt.Address, Self: true, Writes: l.writes, Term: l.mark.Term, Seq: seq,
		Link: link, Heard: now,
	}}
	for _, p := range l.peers {
		out = append(out, story.Server{
			Name: p.Server, URL: p.Address, Writes: p.Writes && p.Instance == l.decider.Instance,
			Term: p.Term, Seq: p.Seq,
			Link: linkOf(p.Link), Heard: p.heard, Ahead: p.ahead,
		})
	}
	slices.SortFunc(out, func(a, b story.Server) int { return cmp.Compare(a.Name, b.Name) })
	return out
}

// Wrong says what keeps the servers from being well; see story.Servers.
func (l *Log) Wrong() (out []traveler.Msg) {
	say := func(key string, args ...string) { out = append(out, traveler.Msg{Key: key, Args: args}) }
	seq, link := l.Head() // of one moment, or a record that grows would be another one
	l.mu.Lock()
	defer l.mu.Unlock()
	now := l.opt.Real()
	if l.broken != nil {
		say("stream.stuck", l.broken.Error())
	}
	if l.ended != "" {
		say("stream.ended", l.ended)
	}
	if !l.link.nc.IsConnected() {
		say("stream.apart")
	} else if l.ended == "" && !l.silent.IsZero() && now.Sub(l.silent) > l.late() {
		say("stream.few", now.Sub(l.silent).Round(time.Second).String())
	} else if !l.writes && l.ended == "" && now.Sub(l.heard) > l.late() {
		say("stream.undecided", now.Sub(l.heard).Round(time.Second).String())
	}
	if err := l.Fault(); err != nil {
		say("stream.file", err.Error())
	}
	if l.offClock() {
		say("stream.clock")
	}
	if !l.twin.IsZero() && now.Sub(l.twin) < peerLate {
		say("stream.twin", l.opt.Name)
	}
	for _, p := range l.peers {
		switch {
		case now.Sub(p.heard) > peerLate+beatEvery:
			say("stream.silent", p.Server, now.Sub(p.heard).Round(time.Second).String())
		case p.Seq == seq && p.Link != linkText(link):
			say("stream.differs", p.Server, seq.String())
		case p.Term != l.mark.Term && p.Pos < l.mark.Pos:
			say("stream.behind", p.Server, strconv.FormatUint(l.mark.Pos-p.Pos, 10))
		}
	}
	slices.SortFunc(out, func(a, b traveler.Msg) int { return cmp.Compare(a.Text("en"), b.Text("en")) })
	return out
}
