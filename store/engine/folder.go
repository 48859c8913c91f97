//go:build !noengine

package engine

import (
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"

	"tallywalk/store"
)

// lockName is the file in a node's folder that says whose it is, and that is locked while it runs.
const lockName = "engine.node"

// kindOfShare is store.ShareOf; tests have shares of their own.
var kindOfShare = store.ShareOf

var errHeld = errors.New("held by another process")

// lock holds a folder against a second process, whether or not that is the same node.
type lock struct{ file *os.File }

// lockFolder makes the folder if it is not there, and takes it for the node of that name. It fails when the
// folder is on a network share, another process has it, or another node began in it.
func lockFolder(dir, name string) (*lock, error) {
	if err := os.MkdirAll(dir, 0o700); err != nil {
		return nil, fmt.Errorf("the folder for the node cannot be made: %w", err)
	}
	if kind := kindOfShare(dir); kind != "" {
		return nil, fmt.Errorf("%s is on a network share (%s), which says that something is safe before "+
			"it is; "+
			"a node needs a disk of its own computer", dir, kind)
	}
	file, err := os.OpenFile(filepath.Join(dir, lockName), os.O_RDWR|os.O_CREATE, 0o600)
	if err != nil {
		return nil, fmt.Errorf("the folder for the node cannot be used: %w", err)
	}
	l := &lock{file}
	if err := l.take(dir, name); err != nil {
		return nil, errors.Join(err, file.Close())
	}
	return l, nil
}

func (l *lock) take(dir, name string) error {
	switch err := hold(l.file); {
	case errors.Is(err, errHeld):
		return fmt.Errorf("a node runs in %s already; each node has a folder of its own", dir)
	case err != nil:
		return fmt.Errorf("the folder %s cannot be locked: %w", dir, err)
	}
	kept, err := io.ReadAll(l.file)
	if err != nil {
		return fmt.Errorf("whose folder %s is cannot be read: %w", dir, err)
	}
	switch owner := strings.TrimSpace(string(kept)); owner {
	case name:
		return nil
	case "":
		_, err := l.file.WriteAt([]byte(name+"\n"), 0)
		return errors.Join(err, l.file.Sync())
	default:
		return fmt.Errorf("%s is the folder of node %s, and this one is called %s; a node keeps its name "+
			"and its folder for ever: "+
			"give it --name %s, or another folder", dir, owner, name, owner)
	}
}

// release lets go of the folder; the file stays, with the name in it.
func (l *lock) release() error { return l.file.Close() }
