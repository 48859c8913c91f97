package main

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"

	"tallywalk/store"
	"tallywalk/store/stream"
)

// cmdMove brings a record from one file to engines for several servers, or back. The old
// place is closed for writing then.
func cmdMove(h host, args []string) error {
	f := flags(h, "move")
	var t together
	t.where(f)
	from := f.String("from", "", "folder of the record that several servers will keep")
	to := f.String("to", "", "empty folder that the record of several servers comes to")
	words, err := parse(h, f, args)
	if err != nil {
		return err
	}
	if err := noWords(words); err != nil {
		return err
	}
	switch {
	case (*from == "") == (*to == ""):
		return &usageError{"say either --from and the folder of a record, or --to and an empty one"}
	case len(t.urls) == 0:
		return &usageError{"say --record and the engines, and --stream"}
	}
	if err := t.settle(); err != nil {
		return err
	}
	if *from != "" {
		return moveFrom(h, *from, t)
	}
	return moveTo(h, *to, t)
}

func moveFrom(h host, dir string, t together) (err error) {
	opt, err := t.options(h, h.out)
	if err != nil {
		return err
	}
	file, err := store.Open(dir, store.Options{Must: true})
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
	_, err = fmt.Fprintf(h.out, "The record is in stream %s and ends at %s, as in the folder.\n%s is one server's part of it from now on: start that server with --record and --stream, others with empty folders.\n",
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
	_, err = fmt.Fprintf(h.out, "The record is in %s and ends at %s. Stream %s is closed: its servers write nothing any more. Start one server: tallywalk serve --data %s\n",
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
