package engines

import (
	"context"
	"encoding/json"

	"github.com/nats-io/nats.go"
	"github.com/nats-io/nats.go/jetstream"

	"tallywalk/store/engine"
)

// Leader is the number of the node that leads the stream, -1 when none does as far as any node knows.
func (s *Set) Leader(stream string) int {
	for i := range s.nodes {
		if n := s.leaderBy(i, stream); n >= 0 {
			return n
		}
	}
	return -1
}

// leaderBy is who leads as node i knows, -1 for none.
func (s *Set) leaderBy(i int, stream string) int {
	js := s.ask(i)
	if js == nil {
		return -1
	}
	ctx, done := context.WithTimeout(context.Background(), answer)
	defer done()
	str, err := js.Stream(ctx, stream)
	if err != nil || str.CachedInfo().Cluster == nil {
		return -1
	}
	for n, node := range s.nodes {
		if node.running() && node.settings.Name == str.CachedInfo().Cluster.Leader {
			return n
		}
	}
	return -1
}

// AwaitLeader waits until a node that runs leads the stream, and gives its number.
func (s *Set) AwaitLeader(stream string) (leader int) {
	s.t.Helper()
	s.Await("a leader of "+stream, func() bool {
		leader = s.Leader(stream)
		return leader >= 0
	})
	return leader
}

// Head is the number of the stream's last message as node i has it on its own disk, 0 when it has none or
// does not say. What is said of a stream by the engine's usual ways is its leader's view, which called a disk
// current that had just been emptied.
func (s *Set) Head(i int, stream string) uint64 {
	nc := s.dial(i)
	if nc == nil {
		return 0
	}
	answers, err := nc.SubscribeSync(nats.NewInbox())
	if err != nil {
		return 0
	}
	defer func() { _ = answers.Unsubscribe() }()
	if nc.PublishRequest(engine.Streams, answers.Subject, []byte(`{"accounts":true,"streams":true}`)) != nil {
		return 0
	}
	for {
		msg, err := answers.NextMsg(answer)
		if err != nil {
			return 0
		}
		var said nodeStreams
		if json.Unmarshal(msg.Data, &said) == nil && said.Server.Name == s.Name(i) {
			return said.head(stream)
		}
	}
}

// nodeStreams is what a node says of its streams, as the engine's JSZ does. store/stream/fit reads it too;
// the harness, which that is tested with, does not rest on it.
type nodeStreams struct {
	Server struct {
		Name string `json:"name"`
	} `json:"server"`
	Data struct {
		Accounts []struct {
			Streams []struct {
				Name  string `json:"name"`
				State struct {
					Last uint64 `json:"last_seq"`
				} `json:"state"`
			} `json:"stream_detail"`
		} `json:"account_details"`
	} `json:"data"`
}

func (n nodeStreams) head(stream string) uint64 {
	for _, a := range n.Data.Accounts {
		for _, s := range a.Streams {
			if s.Name == stream {
				return s.State.Last
			}
		}
	}
	return 0
}

// AwaitHead waits until node i has the stream's messages up to seq on its own disk. Until then a disk that
// was emptied does not count: the engine takes no vote of a node that has nothing for more than half, so that
// a majority of emptied disks elects nobody.
func (s *Set) AwaitHead(i int, stream string, seq uint64) {
	s.t.Helper()
	s.Await(s.Name(i)+" has what was written", func() bool { return s.Head(i, stream) >= seq })
}

// ask is the harness's own way to ask node i about streams, nil while it does not answer.
func (s *Set) ask(i int) jetstream.JetStream {
	nc := s.dial(i)
	if nc == nil {
		return nil
	}
	js, _ := jetstream.New(nc) // fails for options only
	return js
}

// dial is the harness's own connection to node i, nil while there can be none.
func (s *Set) dial(i int) *nats.Conn {
	if !s.nodes[i].running() {
		return nil
	}
	if nc := s.asking[i]; nc != nil && nc.IsConnected() {
		return nc
	}
	options := append(s.Dial(), nats.NoReconnect(), nats.Timeout(answer))
	nc, err := nats.Connect(s.URLs()[i], options...)
	if err != nil {
		return nil
	}
	s.asking[i] = nc
	return nc
}
