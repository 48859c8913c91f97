package stream

import (
	"context"
	"errors"
	"strings"

	"github.com/nats-io/nats.go/jetstream"

	"tallywalk/store"
	"tallywalk/store/stream/fit"
	"tallywalk/traveler"
)

// Entries and bytes of a group that is moved.
const (
	moveEntries = 256
	moveBytes   = 256 << 10
)

// MoveTo brings the record and the tables of a file to a stream and a bucket, which it
// makes, and makes the file that server's part of it, so that nobody writes it alone any
// more. It fails with KindConflict when the engine is not set as it must be, or has the
// stream or rows of the bucket, with KindBusy when it does not keep them; then the file is
// as it was.
func MoveTo(ctx context.Context, file *store.File, opt Options) error {
	if opt.Progress == nil {
		opt.Progress = func(uint64, uint64) {}
	}
	li, err := dial(&opt)
	if err != nil {
		return apart(err)
	}
	defer li.nc.Close()
	if err := li.elsewhere(ctx, file); err != nil {
		return err
	}
	if err := li.make(ctx, opt); err != nil {
		return err
	}
	if err := li.fill(ctx, file, opt); err != nil {
		return errors.Join(err, li.unmake(opt.Stream))
	}
	return nil
}

// elsewhere refuses a file that is one server's part of a stream that is still there: there
// would be two records. One that was lost, or has ended, may go on in another.
func (li *link) elsewhere(ctx context.Context, file *store.File) error {
	data, err := file.StreamMark()
	if err != nil || data == nil {
		return err
	}
	was, err := readMark(data)
	if err != nil {
		return err
	}
	name, _, _ := strings.Cut(was.Stream, " ")
	if !li.goesOn(ctx, name, was.Stream) {
		return nil
	}
	return traveler.Fail(traveler.KindConflict, "stream.alive", file.Path(), name)
}

// goesOn reports whether a stream is there and has not ended. One of which too much is gone
// does not answer within openTime.
func (li *link) goesOn(ctx context.Context, name, identity string) bool {
	is, last, err := li.streamIs(ctx, name)
	if err == nil && is == identity {
		_, err = li.endOf(name, last)
	}
	return err == nil && is == identity
}

// unmake removes a stream and a bucket that were made and could not be filled, so that it
// can be tried again.
func (li *link) unmake(stream string) error {
	ctx, stop := context.WithTimeout(context.Background(), openTime)
	defer stop()
	js, err := jetstream.New(li.nc)
	if err != nil {
		return err
	}
	return errors.Join(js.DeleteStream(ctx, stream), js.DeleteKeyValue(ctx, fit.BucketName(stream)))
}

// fill brings the record and the tables of a file to a stream and a bucket that were made.
func (li *link) fill(ctx context.Context, file *store.File, opt Options) error {
	identity, last, err := li.streamIs(ctx, opt.Stream)
	if err != nil {
		return err
	}
	_, rows, err := li.streamIs(ctx, "KV_"+fit.BucketName(opt.Stream))
	if err != nil {
		return err
	}
	if last > 0 || rows > 0 {
		return traveler.Fail(traveler.KindConflict, "stream.there", opt.Stream)
	}
	end, _ := file.Head()
	err = file.Groups(moveEntries, moveBytes, func(g *store.Group) error {
		last, err = li.publish(fit.Subject(opt.Stream), nil, groupMessage(0, g), int64(last))
		if err != nil {
			return apart(err)
		}
		at, _ := g.End()
		opt.Progress(uint64(at), uint64(end))
		return ctx.Err()
	})
	if err != nil {
		return err
	}
	if err := li.moveRows(file, opt.Stream); err != nil {
		return err
	}
	if err := li.endsAs(file, opt.Stream, last); err != nil {
		return err
	}
	return file.Follows(mark{Stream: identity, Pos: last}.bytes())
}

// make makes the stream on as many nodes as there are, and the bucket.
func (li *link) make(ctx context.Context, opt Options) error {
	ctx, stop := context.WithTimeout(ctx, openTime)
	defer stop()
	nodes, err := fit.Nodes(ctx, li.nc, opt.seen()...)
	if err != nil {
		return unfit(opt.Stream, err)
	}
	if err := fit.Make(ctx, li.nc, opt.Stream, len(nodes), opt.seen()...); err != nil {
		return unfit(opt.Stream, err)
	}
	_, err = fit.Bucket(ctx, li.nc, opt.Stream)
	return unfit(opt.Stream, err)
}

// moveRows brings the tables of a file to the bucket.
func (li *link) moveRows(file *store.File, stream string) error {
	names, err := file.TableNames()
	if err != nil {
		return err
	}
	for _, name := range names {
		if name == tableShared {
			continue
		}
		err := file.Tables().Each(name, func(key string, value []byte) bool {
			_, err = li.publish(subjectOf(fit.BucketName(stream), rowKey(name, key)), nil, value, -1)
			return err == nil
		})
		if err = errors.Join(err); err != nil {
			return apart(err)
		}
	}
	return nil
}

// endsAs compares the last message of a stream with the end of a file.
func (li *link) endsAs(file *store.File, stream string, last uint64) error {
	seq, link := file.Head()
	if seq == 0 {
		return nil
	}
	some, err := li.read(stream, fit.Subject(stream), last)
	if err != nil || len(some) != 1 {
		return apart(errors.Join(err, errGone))
	}
	kind, rest, err := kindOf(some[0].data)
	if err != nil || kind != kindGroup || len(rest) < len(link) ||
		string(rest[len(rest)-len(link):]) != string(link[:]) {
		return traveler.Fail(traveler.KindCorrupt, "stream.broken", seq.String())
	}
	return nil
}

// MoveFrom brings the record and the tables of a stream to an empty file, and ends the
// stream: to says where the record goes on, and no server writes it after that. The ledger
// is made when the file is opened first. It fails with KindConflict when the file has
// something or the stream has ended, and with KindBusy when the engine does not answer;
// until the end is written, servers go on; it is once the file has all.
func MoveFrom(ctx context.Context, file *store.File, to string, opt Options) error {
	if opt.Progress == nil {
		opt.Progress = func(uint64, uint64) {}
	}
	if seq, _ := file.Head(); seq > 0 {
		return traveler.Fail(traveler.KindConflict, "stream.own", file.Path())
	}
	li, err := dial(&opt)
	if err != nil {
		return apart(err)
	}
	defer li.nc.Close()
	_, last, err := li.streamIs(ctx, opt.Stream)
	if err == nil {
		_, err = li.endOf(opt.Stream, last)
	}
	if err != nil {
		return err
	}
	l := &Log{opt: opt, link: li}
	b := store.NewBuffered(file, 0)
	data, err := jsonMessage(kindEnd, end{To: to})
	if err != nil {
		return err
	}
	// Servers may write until the end stands, so that what they wrote meanwhile is read too.
	// All is in the file before that, since nothing can be tried again afterwards.
	rows := uint64(0)
	for stands := false; !stands; {
		if err := l.readOn(ctx, b); err != nil {
			return err
		}
		if err := b.Flush(); err != nil {
			return err
		}
		if rows, err = l.rowsTo(ctx, file, rows); err != nil {
			return err
		}
		_, err := li.publish(fit.Subject(opt.Stream), nil, data, int64(l.mark.Pos))
		if stands = err == nil; !stands && !errors.Is(err, errRefused) {
			return apart(err)
		}
	}
	return nil
}

// readOn reads what there is after the mark.
func (l *Log) readOn(ctx context.Context, b *store.Buffered) error {
	for {
		some, err := l.link.read(l.opt.Stream, fit.Subject(l.opt.Stream), l.mark.Pos+1)
		if err = errors.Join(err, ctx.Err()); err != nil {
			return apart(err)
		}
		if len(some) == 0 {
			return nil
		}
		for i := range some {
			if err := l.loadOne(b, &some[i], false); err != nil {
				return err
			}
		}
		l.opt.Progress(l.mark.Pos, some[len(some)-1].seq)
	}
}

// rowsTo brings the tables of the bucket to a file, from what came after a sequence on,
// and gives the sequence up to which it did. A node that lacks the newest answers as if
// there were no more, so that the bucket's end is asked for.
func (l *Log) rowsTo(ctx context.Context, file *store.File, done uint64) (uint64, error) {
	bucket := fit.BucketName(l.opt.Stream)
	_, last, err := l.link.streamIs(ctx, "KV_"+bucket)
	if err != nil {
		return done, err
	}
	for done < last {
		some, err := l.link.read("KV_"+bucket, subjectOf(bucket, ">"), done+1)
		if err == nil && len(some) == 0 {
			err = errGone
		}
		if err = errors.Join(err, ctx.Err()); err != nil {
			return done, apart(err)
		}
		for i := range some {
			if err := rowTo(file, bucket, &some[i]); err != nil {
				return done, err
			}
			done = some[i].seq
		}
	}
	return done, nil
}

// rowTo brings one row to a file.
func rowTo(file *store.File, bucket string, m *message) error {
	table, key, ok := rowOf(m.subject, bucket)
	switch {
	case !ok:
		return nil
	case m.erased:
		return file.Tables().Delete(table, key)
	}
	return file.Tables().Put(table, key, m.data)
}
