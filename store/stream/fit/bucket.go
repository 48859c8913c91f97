package fit

import (
	"context"
	"errors"
	"fmt"
	"slices"

	"github.com/nats-io/nats.go"
	"github.com/nats-io/nats.go/jetstream"
)

// BucketName is the key-value bucket beside a record's stream: accounts, devices, names, pictures.
func BucketName(stream string) string { return stream + "-tables" }

// Bucket opens the key-value bucket beside a record's stream, and makes it when it is not there: on as many
// nodes as the record, in files, with the last value of each key alone. It fails as Check does for a stream
// that is not there, when the bucket is there and is set otherwise, or when the engine refuses to make it.
// Nodes are not looked at: Check does.
func Bucket(ctx context.Context, nc *nats.Conn, stream string) (jetstream.KeyValue, error) {
	record, err := infoOf(ctx, nc, stream)
	if err != nil {
		return nil, err
	}
	js, err := jetstream.New(nc)
	if err != nil {
		return nil, fmt.Errorf("the engine's streams: %w", err)
	}
	name := BucketName(stream)
	kv, err := js.KeyValue(ctx, name)
	if errors.Is(err, jetstream.ErrBucketNotFound) {
		kv, err = js.CreateKeyValue(ctx, jetstream.KeyValueConfig{
			Bucket: name, History: 1, Storage: jetstream.FileStorage, Replicas: record.Config.Replicas,
			MaxValueSize: int32(nc.MaxPayload()),
		})
	}
	if err != nil {
		return nil, fmt.Errorf("the engine refuses the bucket %s: %w", name, err)
	}
	kept, err := js.Stream(ctx, "KV_"+name)
	if err != nil {
		return nil, fmt.Errorf("the engine does not say how the bucket %s is set: %w", name, err)
	}
	var faults []string
	for _, r := range bucketRules(kept.CachedInfo().Config, name, record.Config.Replicas,
		int(nc.MaxPayload())) {
		if r.broken {
			faults = append(faults, r.say)
		}
	}
	if err := refuse(fmt.Sprintf("the bucket %s is not set as a record needs it", name), faults); err != nil {
		return nil, err
	}
	return kv, nil
}

// bucketRules are the rules on the stream that a bucket is kept in.
func bucketRules(c jetstream.StreamConfig, name string, replicas, largest int) []rule {
	return []rule{
		{c.Storage != jetstream.FileStorage, "it is kept in memory: set storage to file"},
		{c.PersistMode == jetstream.AsyncPersistMode, "it is written some time after it is acknowledged: " +
			"set persist_mode to default"},
		{
			c.MaxMsgsPerSubject != 1,
			fmt.Sprintf("it keeps %d values of a key, so that a name that was erased can be read: set "+
				"history to 1", c.MaxMsgsPerSubject),
		},
		{c.Replicas != replicas, fmt.Sprintf("it is kept on %d nodes and the record on %d: set "+
			"num_replicas to %d", c.Replicas, replicas, replicas)},
		{c.MaxAge > 0, fmt.Sprintf("values go after %v: set the time to live to 0", c.MaxAge)},
		{c.MaxBytes > 0, fmt.Sprintf("it keeps %d bytes at most: set max_bytes to -1", c.MaxBytes)},
		{c.MaxMsgs > 0, fmt.Sprintf("it keeps %d values at most: set max_msgs to -1", c.MaxMsgs)},
		{
			c.MaxMsgSize > 0 && int(c.MaxMsgSize) < largest,
			fmt.Sprintf("it takes values of %d bytes at most: set max_msg_size to %d", c.MaxMsgSize, largest),
		},
		{c.Mirror != nil || len(c.Sources) > 0, "it is a copy of other buckets: make it without mirror " +
			"and sources"},
		{c.Sealed, "it is sealed, so nothing can be written: make another"},
		{
			!slices.Equal(c.Subjects, []string{"$KV." + name + ".>"}),
			fmt.Sprintf("it keeps the subjects %q and not its own keys alone", c.Subjects),
		},
	}
}
