package fit

import (
	"context"

	"github.com/nats-io/nats.go"
)

// disks is the part of what a node says of its streams that counts here: the engine's JSZ.
type disks struct {
	Accounts []struct {
		Streams []struct {
			Name  string `json:"name"`
			State struct {
				Last uint64 `json:"last_seq"`
			} `json:"state"`
		} `json:"stream_detail"`
	} `json:"account_details"`
}

func (d disks) head(stream string) uint64 {
	for _, a := range d.Accounts {
		for _, s := range a.Streams {
			if s.Name == stream {
				return s.State.Last
			}
		}
	}
	return 0
}

// Heads gives the number of the stream's last message on each node that answers, by the node's name, as its
// own disk has it; 0 on a node that has nothing of the stream. What the engine says of a stream elsewhere is
// its leader's view, which called a disk current that had just been emptied. It fails with ErrUnseen when no
// node answers, as those of other programs do not.
func Heads(ctx context.Context, nc *nats.Conn, stream string) (map[string]uint64, error) {
	nodes, err := Nodes(ctx, nc)
	if err != nil {
		return nil, err
	}
	heads := map[string]uint64{}
	err = askAll(ctx, nc, askStreams, `{"accounts":true,"streams":true}`, func(name string, said disks) bool {
		heads[name] = said.head(stream)
		return len(heads) < len(nodes)
	})
	return heads, err
}
