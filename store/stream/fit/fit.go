// Package fit says what a stream and the nodes of an engine must be for a record to be kept in them, makes
// such a stream, and refuses others in words, with what to set.
//
// Decisions.
//
//   - What makes acknowledged entries safe is a setting of each node (sync_always), not of the stream, and a
//     client does not see it. Nodes of this program let their clients ask (subject TALLYWALK.NODES); of other
//     engines the monitoring addresses are needed. What cannot be seen is refused unless the caller says that
//     it is all right.
//   - Nodes that do not answer are not looked at, as long as more than half do: a shop with a dead computer
//     must be able to start its server again.
//   - A stream is made by an explicit call only, and one that is there is never changed: a server that makes
//     what it misses would begin an empty record on the day on which it is led to the wrong engine.
//   - A stream from whose beginning or middle anything is gone is refused too, however well it is set now.
package fit

import (
	"context"
	"errors"
	"fmt"
	"regexp"
	"strings"
	"time"

	"github.com/nats-io/nats.go"
	"github.com/nats-io/nats.go/jetstream"
)

// ErrNoStream is the cause when there is no stream of that name.
var ErrNoStream = errors.New("there is no such stream")

// smallestWindow is the shortest time in which the engine looks for messages that came twice; it takes no
// shorter one. What keeps entries from being written twice is the expected sequence.
const smallestWindow = 100 * time.Millisecond

var streamName = regexp.MustCompile(`^[A-Za-z0-9][A-Za-z0-9_-]{0,31}$`)

// Subject is what the stream keeps: groups of entries and claims.
func Subject(stream string) string { return stream + ".record" }

// Kept is where what the stream has kept is published again, at once, for those who follow.
func Kept(stream string) string { return stream + ".kept" }

// Config is a stream for a record on that many nodes: a copy on each of them. Nodes are 1, 3 or 5.
func Config(stream string, nodes int) jetstream.StreamConfig {
	return jetstream.StreamConfig{
		Name: stream, Subjects: []string{Subject(stream)}, Replicas: nodes,
		Retention: jetstream.LimitsPolicy, Storage: jetstream.FileStorage, Discard: jetstream.DiscardNew,
		MaxConsumers: -1, MaxMsgs: -1, MaxBytes: -1, MaxMsgsPerSubject: -1, MaxMsgSize: -1,
		DenyDelete: true, DenyPurge: true, AllowDirect: true, FirstSeq: 1, Duplicates: smallestWindow,
		RePublish: &jetstream.RePublish{Source: Subject(stream), Destination: Kept(stream)},
	}
}

// Make makes the stream of a record on that many nodes. It fails when the name is none, when there are fewer
// nodes or one of them is not set as it must be (as Check says), when the stream is there already, or when
// the engine refuses it.
func Make(ctx context.Context, nc *nats.Conn, stream string, nodes int, options ...Option) error {
	if !streamName.MatchString(stream) {
		return fmt.Errorf("the stream's name %q: it has 1 to 32 letters, digits, - and _, and begins with "+
			"a letter or digit", stream)
	}
	if nodes != 1 && nodes != 3 && nodes != 5 {
		return fmt.Errorf("a record on %d nodes: it is kept on 1, 3 or 5", nodes)
	}
	faults, err := nodeFaults(ctx, nc, nodes, 0, options)
	if err != nil {
		return err
	}
	if err := refuse("the engine's nodes are not set as a record needs them", faults); err != nil {
		return err
	}
	js, err := jetstream.New(nc)
	if err != nil {
		return fmt.Errorf("the engine's streams: %w", err)
	}
	switch _, err := js.Stream(ctx, stream); {
	case err == nil:
		return fmt.Errorf("there is a stream %s already, and a record is never begun over another one; "+
			"use it, or choose another name", stream)
	case !errors.Is(err, jetstream.ErrStreamNotFound):
		return fmt.Errorf("whether there is a stream %s is not known: %w", stream, err)
	}
	if _, err := js.CreateStream(ctx, Config(stream, nodes)); err != nil {
		return fmt.Errorf("the engine refuses to make the stream %s: %w", stream, err)
	}
	return nil
}

// refuse makes one error of what is wrong, a line for each; nil when nothing is.
func refuse(what string, faults []string) error {
	if len(faults) == 0 {
		return nil
	}
	return fmt.Errorf("%s:\n- %s", what, strings.Join(faults, "\n- "))
}
