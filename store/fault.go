package store

import (
	"errors"
	"fmt"
	"io/fs"
	"runtime/debug"
	"strings"
	"syscall"

	bolterrors "go.etcd.io/bbolt/errors"

	"tallywalk/traveler"
)

// guard runs fn and turns a fault of the mapped file (a page that is not there
// any more, a page that bbolt cannot make sense of) into an error, so that a
// damaged file stops a command with a sentence, not with a crash.
func guard(fn func() error) (err error) {
	defer debug.SetPanicOnFault(debug.SetPanicOnFault(true))
	defer func() {
		if r := recover(); r != nil {
			err = fmt.Errorf("%w: %v", errDamaged, r)
		}
	}()
	return fn()
}

var errDamaged = errors.New("a page of the file cannot be read")

// fault gives an error of bbolt or of the system its kind and its sentence.
func (f *File) fault(doing string, err error) error {
	if err == nil {
		return nil
	}
	var ours *traveler.Error
	if errors.As(err, &ours) {
		return err
	}
	kind, key := classify(err)
	return &traveler.Error{Kind: kind, Doing: doing, Say: traveler.Msg{Key: key, Args: []string{f.path}},
		Err: err}
}

func classify(err error) (traveler.ErrorKind, string) {
	switch {
	case isFull(err):
		return traveler.KindFull, "store.full"
	case errors.Is(err, bolterrors.ErrTimeout):
		return traveler.KindBusy, "store.locked"
	case errors.Is(err, syscall.EROFS), errors.Is(err, fs.ErrPermission),
		errors.Is(err, bolterrors.ErrDatabaseReadOnly):
		return traveler.KindFull, "store.readonly"
	case errors.Is(err, bolterrors.ErrInvalid), errors.Is(err, bolterrors.ErrVersionMismatch):
		return traveler.KindCorrupt, "store.foreign"
	case errors.Is(err, bolterrors.ErrChecksum), errors.Is(err, errDamaged):
		return traveler.KindCorrupt, "store.damaged"
	case errors.Is(err, errYield):
		return traveler.KindBusy, "store.yield"
	case errors.Is(err, bolterrors.ErrDatabaseNotOpen), errors.Is(err, bolterrors.ErrTxClosed):
		return traveler.KindBusy, "store.closed"
	}
	return traveler.KindInternal, "store.io"
}

// isFull reports whether the disk, a quota or a limit of the file's size took
// no more. bbolt hands on the text of some errors only, so the text is looked
// at too.
func isFull(err error) bool {
	if errors.Is(err, bolterrors.ErrMaxSizeReached) {
		return true
	}
	for _, no := range fullErrnos {
		if errors.Is(err, no) || strings.Contains(err.Error(), no.Error()) {
			return true
		}
	}
	return false
}
