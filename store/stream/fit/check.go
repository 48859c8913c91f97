package fit

import (
	"context"
	"errors"
	"fmt"
	"slices"

	"github.com/nats-io/nats.go"
	"github.com/nats-io/nats.go/jetstream"
)

// Check fails unless the stream and the nodes that keep it are as a record needs them: every node that
// answers writes synchronously, is of version 2.14.7 at least, names all nodes in its routes and takes
// messages of needPayload bytes; more than half of the nodes answer; the stream is as Config says and whole
// from its first message on. The error says all that is wrong and what to set; ErrNoStream is its cause when
// there is no such stream, ErrUnseen when nobody says how the nodes are set.
func Check(ctx context.Context, nc *nats.Conn, stream string, needPayload int, options ...Option) error {
	info, err := infoOf(ctx, nc, stream)
	if err != nil {
		return err
	}
	nodes, err := nodeFaults(ctx, nc, info.Config.Replicas, needPayload, options)
	if err != nil {
		return err
	}
	return errors.Join(
		refuse("the engine's nodes are not set as a record needs them", nodes),
		refuse(fmt.Sprintf("the stream %s is not set as a record needs it", stream),
			streamFaults(info, stream, needPayload)),
	)
}

func infoOf(ctx context.Context, nc *nats.Conn, stream string) (*jetstream.StreamInfo, error) {
	js, err := jetstream.New(nc)
	if err != nil {
		return nil, fmt.Errorf("the engine's streams: %w", err)
	}
	str, err := js.Stream(ctx, stream)
	switch {
	case errors.Is(err, jetstream.ErrStreamNotFound):
		return nil, fmt.Errorf("the engine has no stream %s: %w; a record's stream is never made by "+
			"itself, so that the wrong engine "+
			"or one that lost its disks is noticed", stream, ErrNoStream)
	case err != nil:
		return nil, fmt.Errorf("the engine does not say how the stream %s is set; do more than half of "+
			"its nodes run? %w", stream, err)
	}
	return str.CachedInfo(), nil
}

// rule is one thing that a stream must be.
type rule struct {
	broken bool
	say    string
}

// streamFaults says what of a stream is not as Config makes it, where that is of consequence.
func streamFaults(info *jetstream.StreamInfo, stream string, needPayload int) []string {
	c := info.Config
	var faults []string
	for _, r := range slices.Concat(keeping(c, needPayload), writing(c, stream), whole(info)) {
		if r.broken {
			faults = append(faults, r.say)
		}
	}
	return faults
}

// keeping are the rules on what becomes of a message once it is there.
func keeping(c jetstream.StreamConfig, needPayload int) []rule {
	return []rule{
		{c.Storage != jetstream.FileStorage, "it is kept in memory: set storage to file"},
		{c.PersistMode == jetstream.AsyncPersistMode, "it is written some time after it is acknowledged: " +
			"set persist_mode to default"},
		{c.Retention != jetstream.LimitsPolicy, "messages go once they were read: set retention to limits"},
		{c.MaxAge > 0, fmt.Sprintf("messages go after %v: set max_age to 0", c.MaxAge)},
		{c.AllowMsgTTL, "messages may say when they go: set allow_msg_ttl to false"},
		{c.MaxMsgs > 0, fmt.Sprintf("it keeps %d messages at most: set max_msgs to -1", c.MaxMsgs)},
		{c.MaxBytes > 0, fmt.Sprintf("it keeps %d bytes at most: set max_bytes to -1", c.MaxBytes)},
		{c.MaxMsgsPerSubject > 0, fmt.Sprintf("it keeps %d messages of a subject at most: set "+
			"max_msgs_per_subject to -1", c.MaxMsgsPerSubject)},
		{
			c.MaxMsgSize > 0 && int(c.MaxMsgSize) < needPayload,
			fmt.Sprintf("it takes messages of %d bytes at most and %d are needed: set max_msg_size to -1",
				c.MaxMsgSize, needPayload),
		},
		{c.Discard != jetstream.DiscardNew, "old messages would make room for new ones: set discard to new"},
		{!c.DenyDelete, "messages can be deleted: set deny_delete to true"},
		{!c.DenyPurge, "it can be emptied: set deny_purge to true"},
		{c.AllowRollup, "a message can take the place of all before it: set allow_rollup_hdrs to false"},
		{!slices.Contains([]int{1, 3, 5}, c.Replicas), fmt.Sprintf("it is kept on %d nodes: set "+
			"num_replicas to 3", c.Replicas)},
	}
}

// writing are the rules on what comes into a stream, and goes out to those who follow.
func writing(c jetstream.StreamConfig, stream string) []rule {
	subject, kept := Subject(stream), Kept(stream)
	again := c.RePublish
	return []rule{
		{!slices.Equal(c.Subjects, []string{subject}), fmt.Sprintf("it keeps the subjects %q: set "+
			"subjects to %s alone", c.Subjects, subject)},
		{c.Mirror != nil || len(c.Sources) > 0, "it is a copy of other streams: make it without mirror " +
			"and sources"},
		{c.SubjectTransform != nil, "subjects are changed on their way in: take subject_transform out"},
		{
			again == nil || again.Source != subject || again.Destination != kept || again.HeadersOnly,
			fmt.Sprintf("servers do not hear at once of what is kept: set republish from %s to %s, with "+
				"the bodies", subject, kept),
		},
		{!c.AllowDirect, "messages are read from the leader alone: set allow_direct to true"},
		{c.NoAck, "what is written is not acknowledged: set no_ack to false"},
		{c.Sealed, "it is sealed, so nothing can be written; a record goes on in a stream that is not"},
		{c.AllowMsgCounter, "messages are added up: make it without allow_msg_counter"},
		{c.AllowMsgSchedules, "messages may come later: make it without allow_msg_schedules"},
		{
			c.Duplicates > smallestWindow,
			fmt.Sprintf("messages are remembered for %v to find those that come twice: set "+
				"duplicate_window to %v", c.Duplicates, smallestWindow),
		},
	}
}

// whole are the rules on what is in a stream: everything that ever was.
func whole(info *jetstream.StreamInfo) []rule {
	s := info.State
	return []rule{
		{
			info.Config.FirstSeq > 1 || s.FirstSeq > 1,
			fmt.Sprintf("it begins with message %d, not with the first one: it cannot hold a record from "+
				"its beginning",
				max(s.FirstSeq, info.Config.FirstSeq)),
		},
		{s.NumDeleted > 0, fmt.Sprintf("%d messages were taken out of it: it does not hold the whole "+
			"record", s.NumDeleted)},
	}
}
