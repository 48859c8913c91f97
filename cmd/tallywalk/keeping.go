package main

import (
	"context"
	"errors"
	"flag"
	"fmt"
	"log/slog"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"sync"
	"time"

	"tallywalk/store"
	"tallywalk/traveler"
	"tallywalk/traveler/story"
	"tallywalk/web/health"
)

// timetable is when copies of the record are made while the server runs, where they go
// and which are kept.
type timetable struct {
	dir   string
	every time.Duration
	keep  store.Keep
	rule  string // as it was said
}

// usualRule keeps a copy of each hour of a day, each day of two weeks, each week of two
// months, each month of three years.
const usualRule = "24h,14d,8w,36m"

// leastEvery is how often copies are made at most: each is written and walked as a whole.
const leastEvery = time.Minute

// againAfter is how soon a copy that failed is tried again, at the latest.
const againAfter = 5 * time.Minute

func (t *timetable) flags(f *flag.FlagSet) {
	t.every = time.Hour
	t.rule = usualRule
	f.StringVar(&t.dir, "backup", "",
		"folder, best on another disk, that copies of the record go to while the server runs")
	f.DurationVar(&t.every, "every", time.Hour, "how often a copy is made, such as 1h or 30m")
	f.StringVar(&t.rule, "keep", usualRule, "of how many past hours, days, weeks and months a copy is kept")
}

// settle works out what was said; it fails with a usageError.
func (t *timetable) settle() (err error) {
	if t.every < leastEvery {
		return &usageError{"--every must be a minute at least"}
	}
	if t.keep, err = keepRule(t.rule); err != nil || t.dir == "" {
		return err
	}
	t.dir, err = filepath.Abs(t.dir)
	return err
}

var keepPart = regexp.MustCompile(`^(\d{1,4})([hdwm])$`)

// keepRule reads a rule such as 24h,14d,8w,36m.
func keepRule(text string) (k store.Keep, err error) {
	for _, part := range strings.FieldsFunc(text, func(r rune) bool { return r == ',' || r == ' ' }) {
		m := keepPart.FindStringSubmatch(part)
		if m == nil {
			return k, &usageError{fmt.Sprintf("--keep: %q is not such as 24h, 14d, 8w or 36m", part)}
		}
		n, _ := strconv.Atoi(m[1]) // at most four digits
		switch m[2] {
		case "h":
			k.Hours = n
		case "d":
			k.Days = n
		case "w":
			k.Weeks = n
		default:
			k.Months = n
		}
	}
	return k, nil
}

// keeper makes copies of a record by a timetable. It is safe for concurrent use.
type keeper struct {
	timetable
	file   *store.File
	tables story.Tables
	log    *slog.Logger
	now    func() time.Time
	zone   *time.Location
	ctx    context.Context // of the server
	// beside writes what goes beside the copies: the numbers whose names were erased.
	beside func() error

	flush  func()     // writes what the file lacks
	making sync.Mutex // one copy at a time
	mu     sync.Mutex
	state  health.Copies
}

// keeping makes copies until ctx ends, where a folder for them was named. wait waits
// for one that is being made then.
func (hs *house) keeping(ctx context.Context, t timetable, zone *time.Location, log *slog.Logger) (k *keeper,
	wait func()) {
	hs.copies = t.dir
	k = &keeper{
		timetable: t, file: hs.file, flush: hs.flush, tables: hs.tables,
		beside: func() error { return hs.saveErased(t.dir) }, log: log,
		now: hs.host.now, zone: zone, ctx: ctx,
	}
	done := make(chan struct{})
	if t.dir == "" {
		close(done)
	} else {
		k.state.Every, k.state.Rule = t.every, t.rule
		go func() {
			defer close(done)
			k.run()
		}()
	}
	return k, func() { <-done }
}

// run looks each minute whether a copy is due, so that a clock that is set, or a copy that
// someone makes, moves the next one.
func (k *keeper) run() {
	k.look()
	for {
		timer := time.NewTimer(min(k.pause(), leastEvery))
		select {
		case <-k.ctx.Done():
			timer.Stop()
			return
		case <-timer.C:
		}
		if k.pause() > 0 {
			continue
		}
		if err := k.make(); err != nil && !errors.Is(err, context.Canceled) {
			k.log.Warn("no copy was made", "folder", k.dir, "err", sentence(err))
		}
	}
}

// look finds the copies that are there already.
func (k *keeper) look() {
	found, err := store.Copies(k.dir)
	kept, newest := k.list(found)
	k.set(func(s *health.Copies) {
		s.Failed, s.At, s.Kept = err, k.now(), kept
		if newest != nil {
			s.Last = newest.At
		}
	})
}

// list is the copies in a folder as they are shown, with the newest one of this record.
// One of the future is nobody's: a clock was wrong when it was made.
func (k *keeper) list(found []store.CopyFile) (kept []health.Copy, newest *store.CopyFile) {
	now := k.now()
	for i, c := range found {
		ours := !c.At.After(now) && k.file.IsCopy(c.Path)
		if ours && newest == nil {
			newest = &found[i]
		}
		kept = append(kept,
			health.Copy{Name: filepath.Base(c.Path), At: c.At, Entries: c.Seq, Bytes: c.Bytes, Ours: ours})
	}
	return kept, newest
}

// pause is how long it is until the next copy, and notes when that is. A clock that was
// set back makes the last one one of the future: then a copy is due.
func (k *keeper) pause() time.Duration {
	k.mu.Lock()
	defer k.mu.Unlock()
	s, now := &k.state, k.now()
	next := s.Last.Add(k.every)
	switch {
	case s.Failed != nil && !s.At.After(now):
		next = s.At.Add(min(k.every, againAfter))
	case s.Last.IsZero(), s.Last.After(now), next.Before(now):
		next = now
	}
	if end, _ := k.file.Head(); end == 0 {
		next = now.Add(k.every) // there is nothing to copy yet
	}
	s.Next = next
	return next.Sub(now)
}

// Copies says what copies there are. Without a timetable it knows of the last one that
// was made by hand.
func (k *keeper) Copies() health.Copies {
	k.mu.Lock()
	defer k.mu.Unlock()
	s := k.state
	if k.dir == "" {
		if at, err := k.tables.Get(tableKeeping, keyByHand); err == nil {
			s.Last, _ = time.Parse(time.RFC3339, string(at)) // none is none
		}
	}
	return s
}

// When a copy was made by hand, for the shop that has its own timetable.
const tableKeeping, keyByHand = "keeping", "by-hand"

// Copy makes one now; see health.Keeper. It fails as make does, with KindConflict where
// no folder was named.
func (k *keeper) Copy() error {
	if k.dir == "" {
		return traveler.Fail(traveler.KindConflict, "health.no-folder")
	}
	return k.make()
}

// make makes a copy where anything was recorded since the last one, and removes those
// that are kept no longer. It fails as store.File.Backup does.
func (k *keeper) make() error {
	k.making.Lock()
	defer k.making.Unlock()
	if end, _ := k.file.Head(); end == 0 || k.asLastTime() {
		return nil
	}
	if err := store.Sweep(k.dir, time.Now()); err != nil {
		k.log.Warn("what was left of a copy stays", "folder", k.dir, "err", err)
	}
	k.set(func(s *health.Copies) { s.Running = true })
	began, at := time.Now(), k.now()
	written := began
	throttle := paced(k.ctx, copyRate)
	k.flush()
	c, err := k.file.Backup(k.ctx, k.dir, at, func(n int) error {
		written = time.Now()
		return throttle(n)
	})
	ended := time.Now()
	k.set(func(s *health.Copies) {
		s.Running, s.Failed, s.At = false, err, k.now()
		if err == nil {
			s.Last = at
			// Putting it back walks it, writes it, and walks it again.
			s.Restore = written.Sub(began) + 2*ended.Sub(written)
		}
	})
	if err != nil {
		return err
	}
	if err := k.beside(); err != nil {
		return err
	}
	k.log.Info("a copy was made and walked", "copy", c.Path, "entries", c.Entries)
	left, err := k.file.Prune(k.dir, k.keep, k.now(), k.zone)
	kept, _ := k.list(left)
	k.set(func(s *health.Copies) { s.Kept, s.Failed = kept, err })
	return err
}

// asLastTime reports whether all that is recorded lies in the newest copy, and notes it.
func (k *keeper) asLastTime() bool {
	found, err := store.Copies(k.dir)
	kept, newest := k.list(found)
	end, _ := k.file.Head()
	if err != nil || newest == nil || newest.Seq != end {
		return false
	}
	k.set(func(s *health.Copies) { s.Last, s.Failed, s.Kept = k.now(), nil, kept })
	return true
}

func (k *keeper) set(change func(*health.Copies)) {
	k.mu.Lock()
	defer k.mu.Unlock()
	change(&k.state)
}

// disk is what the disk of the record has.
func (hs *house) disk() health.Disk {
	return health.Disk{Free: store.FreeBytes(filepath.Dir(hs.file.Path())), Record: hs.file.Bytes()}
}

// unless is the keeper as the server is given it: none for the demo.
func (k *keeper) unless(demo bool) health.Keeper {
	if demo {
		return nil
	}
	return k
}
