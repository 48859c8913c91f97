package fit

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"net/http"
	"slices"
	"strconv"
	"strings"
	"time"

	"github.com/nats-io/nats.go"
)

// The subjects on which nodes of this program answer, each for itself; see store/engine.
const (
	askNodes   = "TALLYWALK.NODES"
	askStreams = "TALLYWALK.STREAMS"
)

// oldest is the first version of the engine that a record may be kept by.
const oldest = "2.14.7"

const (
	slowest   = 2 * time.Second // how long is waited for the next node to answer
	maxAnswer = 4 << 20         // bytes of a monitoring address's answer
)

// ErrUnseen is the cause when neither the nodes themselves nor their monitoring addresses say how they are
// set.
var ErrUnseen = errors.New("nobody says how the engine's nodes are set")

// Option says how the nodes can be seen where they are not nodes of this program.
type Option func(*sight)

type sight struct {
	monitors []string
	unseen   bool
}

// Monitors names the monitoring addresses of all nodes, as http://10.0.0.5:8222.
func Monitors(addresses ...string) Option { return func(s *sight) { s.monitors = addresses } }

// Unseen says that it is all right if nobody says how the nodes are set: whoever runs them vouches for it.
func Unseen() Option { return func(s *sight) { s.unseen = true } }

// Node is how one node is set.
type Node struct {
	Name       string
	Version    string
	Keeps      bool     // it keeps streams
	Sync       bool     // what it acknowledges is on its disk
	Routes     []string // HOST:PORT of the nodes that its settings name
	MaxPayload int      // bytes of the largest message
}

// varz is the part of what a node says of itself that counts here: the engine's VARZ.
type varz struct {
	Name       string `json:"server_name"`
	Version    string `json:"version"`
	MaxPayload int    `json:"max_payload"`
	Cluster    struct {
		URLs []string `json:"urls"`
	} `json:"cluster"`
	JetStream struct {
		Config *struct {
			Sync bool `json:"sync_always"`
		} `json:"config"`
	} `json:"jetstream"`
}

func (v varz) node() Node {
	routes := slices.Clone(v.Cluster.URLs)
	slices.Sort(routes)
	c := v.JetStream.Config
	return Node{
		Name: v.Name, Version: v.Version, MaxPayload: v.MaxPayload, Routes: slices.Compact(routes),
		Keeps: c != nil, Sync: c != nil && c.Sync,
	}
}

// Nodes asks all nodes how they are set, and gives those that answer, by name. It fails with ErrUnseen when
// nobody answers.
func Nodes(ctx context.Context, nc *nats.Conn, options ...Option) ([]Node, error) {
	var s sight
	for _, o := range options {
		o(&s)
	}
	var found []Node
	add := func(_ string, v varz) bool {
		if v.Name != "" && !slices.ContainsFunc(found, func(n Node) bool { return n.Name == v.Name }) {
			found = append(found, v.node())
		}
		return len(found) < size(found)
	}
	if len(s.monitors) > 0 {
		for _, address := range s.monitors {
			if v, err := monitored(ctx, address); err == nil { // a node that does not run does not answer
				add(address, v)
			}
		}
	} else if err := askAll(ctx, nc, askNodes, "", add); err != nil {
		return nil, err
	}
	slices.SortFunc(found, func(a, b Node) int { return strings.Compare(a.Name, b.Name) })
	if len(found) == 0 {
		return nil, ErrUnseen
	}
	return found, nil
}

// size is how many nodes there are as far as those say that answered.
func size(found []Node) int {
	most := len(found)
	for _, n := range found {
		most = max(most, len(n.Routes))
	}
	return most
}

// askAll asks all nodes and hands over each answer, until more says that it wants none or none came for a
// while.
func askAll[T any](ctx context.Context, nc *nats.Conn, subject, what string,
	more func(name string, said T) bool) error {
	answers, err := nc.SubscribeSync(nats.NewInbox())
	if err != nil {
		return fmt.Errorf("the engine's nodes cannot be asked: %w", err)
	}
	defer func() { _ = answers.Unsubscribe() }()
	if err := nc.PublishRequest(subject, answers.Subject, []byte(what)); err != nil {
		return fmt.Errorf("the engine's nodes cannot be asked: %w", err)
	}
	for {
		msg, err := next(ctx, answers)
		switch {
		case ctx.Err() != nil:
			return ctx.Err()
		case errors.Is(err, context.DeadlineExceeded), errors.Is(err, nats.ErrNoResponders):
			return nil
		case err != nil:
			return fmt.Errorf("the engine's nodes cannot be asked: %w", err)
		}
		var said struct {
			Server struct {
				Name string `json:"name"`
			} `json:"server"`
			Data T `json:"data"`
		}
		if json.Unmarshal(msg.Data, &said) == nil && !more(said.Server.Name, said.Data) {
			return nil
		}
	}
}

func next(ctx context.Context, answers *nats.Subscription) (*nats.Msg, error) {
	ctx, done := context.WithTimeout(ctx, slowest)
	defer done()
	return answers.NextMsgWithContext(ctx)
}

// monitored asks one monitoring address.
func monitored(ctx context.Context, address string) (v varz, err error) {
	ctx, done := context.WithTimeout(ctx, slowest)
	defer done()
	req, err := http.NewRequestWithContext(ctx, http.MethodGet, strings.TrimRight(address, "/")+"/varz", nil)
	if err != nil {
		return v, err
	}
	res, err := http.DefaultClient.Do(req)
	if err != nil {
		return v, err
	}
	defer res.Body.Close()
	return v, json.NewDecoder(io.LimitReader(res.Body, maxAnswer)).Decode(&v)
}

// nodeFaults says what of the nodes is not as a record on want of them needs it. It fails with ErrUnseen when
// that cannot be seen and nobody vouches for it.
func nodeFaults(ctx context.Context, nc *nats.Conn, want, needPayload int, options []Option) ([]string,
	error) {
	var s sight
	for _, o := range options {
		o(&s)
	}
	nodes, err := Nodes(ctx, nc, options...)
	switch {
	case errors.Is(err, ErrUnseen) && s.unseen:
		return versionFaults(nc, needPayload), nil
	case errors.Is(err, ErrUnseen) && len(s.monitors) > 0:
		return nil, fmt.Errorf("%w: none of the monitoring addresses %v answers", ErrUnseen, s.monitors)
	case errors.Is(err, ErrUnseen):
		return nil, fmt.Errorf("%w: whether what it acknowledges is on its disks is seen at the "+
			"monitoring address of each node "+
			"(http_port in its settings): name them all, or say that you vouch for it", ErrUnseen)
	case err != nil:
		return nil, err
	}
	total := max(size(nodes), len(s.monitors))
	var faults []string
	if total < want {
		faults = append(faults, fmt.Sprintf("there are %d nodes and the record is to be kept on %d: start "+
			"more nodes, with the routes of all", total, want))
	}
	if want == 1 && total > 1 {
		faults = append(faults, fmt.Sprintf("there are %d nodes and the record is kept on one of them: "+
			"set num_replicas to 3", total))
	}
	if 2*len(nodes) <= total {
		faults = append(faults, fmt.Sprintf("%d of %d nodes answer, and more than half must: start the "+
			"others", len(nodes), total))
	}
	for _, n := range nodes {
		faults = append(faults, n.faults(total, needPayload)...)
	}
	return faults, nil
}

// versionFaults is what can be said of nodes that nobody sees: of the one that the client is connected to.
func versionFaults(nc *nats.Conn, needPayload int) []string {
	n := Node{
		Name: nc.ConnectedServerName(), Version: nc.ConnectedServerVersion(),
		MaxPayload: int(nc.MaxPayload()), Keeps: true, Sync: true,
	}
	return n.faults(0, needPayload)
}

// faults says what is not as it must be on a node among total ones; a node that is alone needs no routes.
func (n Node) faults(total, needPayload int) []string {
	rules := []rule{
		{!n.Keeps, "it keeps no streams: set jetstream on"},
		{
			n.Keeps && !n.Sync,
			"it acknowledges what is not on its disk yet, and a power cut takes it: set sync_interval to " +
				"always in its jetstream settings",
		},
		{older(n.Version, oldest), fmt.Sprintf("its version is %q: take %s or later", n.Version, oldest)},
		{
			n.MaxPayload < needPayload,
			fmt.Sprintf("it takes messages of %d bytes at most and %d are needed: set max_payload to 8MB",
				n.MaxPayload, needPayload),
		},
		{
			total > 1 && len(n.Routes) < total,
			fmt.Sprintf("its routes name %d nodes (%s) and there are %d: name all of them there, "+
				"itself included, "+
				"or nodes that lost their disks begin an empty record", len(n.Routes), strings.Join(n.Routes,
				", "), total),
		},
	}
	var faults []string
	for _, r := range rules {
		if r.broken {
			faults = append(faults, n.Name+": "+r.say)
		}
	}
	return faults
}

// older reports whether a version comes before another; what is not read as numbers does.
func older(version, than string) bool {
	v, early, ok := numbers(version)
	w, _, _ := numbers(than)
	order := slices.Compare(v, w)
	return !ok || order < 0 || order == 0 && early
}

// numbers reads 2.14.7, and whether something like -RC.1 says that it comes before that.
func numbers(version string) (parts []int, early, ok bool) {
	plain, _, early := strings.Cut(version, "-")
	for part := range strings.SplitSeq(plain, ".") {
		n, err := strconv.Atoi(part)
		if err != nil {
			return nil, false, false
		}
		parts = append(parts, n)
	}
	return parts, early, len(parts) == 3
}
