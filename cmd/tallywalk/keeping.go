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
	f.StringVar(&t.dir, "backup", "", "folder, best on another disk, that copies of the record go to while the server runs")
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
	file *store.File
	log  *slog.Logger
	now  func() time.Time
	zone *time.Location
	ctx  context.Context // of the server
	// beside writes what goes beside the copies: the numbers whose names were erased.
	beside func() error

	making sync.Mutex // one copy at a time
	mu     sync.Mutex
	state  health.Copies
}

// keeping makes copies until ctx ends, where a folder for them was named. wait waits
// for one that is being made then.
func (hs *house) keeping(ctx context.Context, t timetable, zone *time.Location, log *slog.Logger) (k *keeper, wait func()) {
	hs.copies = t.dir
	k = &keeper{timetable: t, file: hs.file, beside: func() error { return hs.saveErased(t.dir) }, log: log, now: hs.host.now, zone: zone, ctx: ctx}
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

func (k *keeper) run() {
	k.look()
	for {
		timer := time.NewTimer(k.pause())
		select {
		case <-k.ctx.Done():
			timer.Stop()
			return
		case <-timer.C:
		}
		if err := k.make(); err != nil && !errors.Is(err, context.Canceled) {
			k.log.Warn("no copy was made", "folder", k.dir, "err", sentence(err))
		}
	}
}

// look finds the copies that are there already.
func (k *keeper) look() {
	found, err := store.Copies(k.dir)
	k.mu.Lock()
	defer k.mu.Unlock()
	k.state.Failed, k.state.At = err, k.now()
	k.list(found)
	for _, c := range found {
		if k.file.IsCopy(c.Path) {
			k.state.Last = c.At
			break
		}
	}
}

func (k *keeper) list(found []store.CopyFile) {
	k.state.Kept = nil
	for _, c := range found {
		k.state.Kept = append(k.state.Kept, health.Copy{Name: filepath.Base(c.Path), At: c.At, Entries: c.Seq, Bytes: c.Bytes})
	}
}

// pause is how long it is until the next copy, and notes when that is.
func (k *keeper) pause() time.Duration {
	k.mu.Lock()
	defer k.mu.Unlock()
	next := k.state.Last.Add(k.every)
	if k.state.Failed != nil {
		next = k.state.At.Add(min(k.every, againAfter))
	}
	now := k.now()
	if next.Before(now) || k.state.Last.IsZero() && k.state.Failed == nil {
		next = now
	}
	k.state.Next = next
	return next.Sub(now)
}

// Copies says what copies there are.
func (k *keeper) Copies() health.Copies {
	k.mu.Lock()
	defer k.mu.Unlock()
	return k.state
}

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
	if k.asLastTime() {
		return nil
	}
	k.set(func(s *health.Copies) { s.Running = true })
	began, at := time.Now(), k.now()
	written := began
	throttle := paced(k.ctx, copyRate)
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
	left, err := k.file.Prune(k.dir, k.keep, k.zone)
	k.set(func(s *health.Copies) {
		if k.list(left); err != nil {
			s.Failed = err
		}
	})
	return err
}

// asLastTime reports whether all that is recorded lies in the newest copy, and notes it.
func (k *keeper) asLastTime() bool {
	found, err := store.Copies(k.dir)
	end, _ := k.file.Head()
	if err != nil || len(found) == 0 || found[0].Seq != end || end == 0 || !k.file.IsCopy(found[0].Path) {
		return false
	}
	k.set(func(s *health.Copies) { s.Last, s.Failed = k.now(), nil; k.list(found) })
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
