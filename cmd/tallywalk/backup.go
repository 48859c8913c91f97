package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"path/filepath"
	"time"

	"tallywalk/store"
	"tallywalk/web/door"
)

// copyRate is how fast a copy is written, in bytes a second: faster starves those
// who scan meanwhile.
const copyRate = 100_000_000

func cmdBackup(h host, args []string) error {
	f := flags(h, "backup")
	dir := dataFlag(f)
	to := f.String("to", "", "folder for the copy, best on another disk (needed)")
	words, err := parse(h, f, args)
	if err != nil {
		return err
	}
	if err := noWords(words); err != nil {
		return err
	}
	if *to == "" {
		return &usageError{"say --to and the folder that the copy goes to"}
	}
	// The server that writes it may stand in another folder.
	abs, err := filepath.Abs(*to)
	if err != nil {
		return err
	}
	return at(h, *dir, request{Do: "backup", Dir: abs}, nil)
}

func (hs *house) doBackup(ctx context.Context, req request, out io.Writer) error {
	hs.flush()
	c, err := hs.file.Backup(ctx, req.Dir, hs.host.now(), paced(ctx, copyRate))
	if err != nil {
		return err
	}
	if err := hs.saveErased(req.Dir); err != nil {
		return err
	}
	// A shop with a timetable of its own is not warned that no copies are made.
	if err := hs.tables.Put(tableKeeping, keyByHand,
		[]byte(hs.host.now().UTC().Format(time.RFC3339))); err != nil {
		return err
	}
	_, err = fmt.Fprintf(out, "%s: %s entries, walked after it was written; head %s\n", c.Path,
		grouped(c.Entries), c.HeadText())
	return err
}

// paced lets so many bytes a second through.
func paced(ctx context.Context, perSecond int) func(n int) error {
	due := time.Now()
	return func(n int) error {
		due = due.Add(time.Duration(n) * time.Second / time.Duration(perSecond))
		wait := time.Until(due)
		if wait <= 0 {
			due = time.Now()
			return nil
		}
		timer := time.NewTimer(wait)
		defer timer.Stop()
		select {
		case <-timer.C:
			return nil
		case <-ctx.Done():
			return ctx.Err()
		}
	}
}

func cmdRestore(h host, args []string) error {
	f := flags(h, "restore")
	dir := dataFlag(f)
	words, err := parse(h, f, args)
	if err != nil {
		return err
	}
	if len(words) != 1 {
		return &usageError{"say which copy is put back, such as: restore tallywalk-20261128T120000Z-1200.db"}
	}
	if err := needData(*dir); err != nil {
		return err
	}
	if err := bringErased(filepath.Dir(words[0]), *dir); err != nil {
		return err
	}
	r, err := store.Restore(h.ctx, words[0], *dir, h.now(), h.rand)
	if err != nil {
		return err
	}
	hs, err := openHouse(*dir, h) // which erases what was erased since
	if err != nil {
		return err
	}
	if err := hs.close(); err != nil {
		return err
	}
	fmt.Fprintf(h.out, "%s: %s entries up to %s, walked before and after; head %s\n",
		r.Path, grouped(r.Copy.Entries), r.Copy.Last.Format("2006-01-02 15:04 UTC"), r.Head)
	if err := sayEntrants(h.out, r.Path); err != nil {
		return err
	}
	fmt.Fprintln(h.out,
		"Start the server: stations send again what came after. Batches released since are imported again, with their cards.")
	return nil
}

// sayEntrants lists who may come in again: someone may have been removed since the copy.
func sayEntrants(w io.Writer, path string) error {
	f, err := store.OpenCopy(path)
	if err != nil {
		return err
	}
	all, err := door.Entrants(f.Tables())
	if err = errors.Join(err, f.Close()); err != nil || len(all) == 0 {
		return err
	}
	fmt.Fprintln(w, "These may come in again as of the copy; remove who was removed since:")
	for _, e := range all {
		fmt.Fprintf(w, "  %-8s %s, %s\n", e.Kind, e.Name, e.Role)
	}
	return nil
}
