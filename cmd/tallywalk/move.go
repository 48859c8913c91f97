package main

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"

	"tallywalk/store"
	"tallywalk/store/stream"
)

// cmdMove brings a record from one folder to engines for several servers, or back. The old
// place is closed for writing then.
func cmdMove(h host, args []string) error {
	f := flags(h, "move")
	var t together
	from := f.String("from", "",
		"where the record is: its folder, or engines such as nats://a:4222,nats://b:4222")
	to := f.String("to", "", "where it goes: engines, or an empty folder")
	t.known(f)
	words, err := parse(h, f, args)
	if err != nil {
		return err
	}
	if err := noWords(words); err != nil {
		return err
	}
	engines, dir, back := *to, *from, false
	if strings.HasPrefix(engines, "nats://") == strings.HasPrefix(dir, "nats://") {
		return &usageError{
			"a record moves between a folder and engines: --from DIR --to nats://HOST:4222 --stream NAME, or back"}
	}
	if strings.HasPrefix(dir, "nats://") {
		engines, dir, back = dir, engines, true
	}
	if dir == "" {
		return &usageError{"say both --from and --to"}
	}
	if err := errors.Join(t.at(engines), t.settle()); err != nil {
		return err
	}
	if back {
		return moveTo(h, dir, t)
	}
	return moveFrom(h, dir, t)
}

func moveFrom(h host, dir string, t together) (err error) {
	opt, err := t.options(h, h.out)
	if err != nil {
		return err
	}
	file, err := store.Open(dir, store.Options{Now: h.now, Rand: h.rand})
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, file.Close()) }()
	if err := (&house{file: file}).checkNewest(); err != nil {
		return err
	}
	if err := stream.MoveTo(h.ctx, file, opt); err != nil {
		return err
	}
	_, err = fmt.Fprintf(h.out,
		"The record is in stream %s and ends at %s, as in the folder.\n%s is one server's part of it from now on: start that server with --record and --stream, others with empty folders.\n",
		t.stream, file.HeadText(), dir)
	return err
}

func moveTo(h host, dir string, t together) (err error) {
	opt, err := t.options(h, h.out)
	if err != nil {
		return err
	}
	if err := noRecord(dir); err != nil {
		return err
	}
	file, err := store.Open(dir, store.Options{Now: h.now})
	if err != nil {
		return err
	}
	abs, err := filepath.Abs(dir)
	if err == nil {
		err = stream.MoveFrom(h.ctx, file, "the folder "+abs, opt)
	}
	end := file.HeadText()
	if err = errors.Join(err, file.Close()); err != nil {
		return err
	}
	_, err = fmt.Fprintf(h.out,
		"The record is in %s and ends at %s. Stream %s is closed: its servers write nothing any more. Start one server: tallywalk serve --data %s\n",
		abs, end, t.stream, dir)
	return err
}

// noRecord refuses a folder that has a record.
func noRecord(dir string) error {
	_, err := os.Stat(filepath.Join(dir, store.FileName))
	if err == nil {
		return &usageError{"--to needs an empty folder; " + dir + " has a record"}
	}
	if !errors.Is(err, os.ErrNotExist) {
		return err
	}
	return nil
}
