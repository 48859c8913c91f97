package web

import (
	"context"
	"slices"
	"sync"
	"time"

	"github.com/gofiber/fiber/v2"

	"tallywalk/traveler"
	"tallywalk/traveler/people"
	"tallywalk/traveler/story"
	"tallywalk/web/ask"
)

// How long the server remembers that the disk took no more, and how often it is
// tried at most: whoever asks whether it is ready makes no work.
const (
	fullFor  = time.Minute
	tryEvery = 5 * time.Second
)

// room knows whether the disk takes more.
type room struct {
	mu    sync.Mutex
	full  error // of the last commit
	at    time.Time
	tried time.Time
	found error // of the last try
}

// note remembers how a commit ended.
func (r *room) note(err error, now time.Time) {
	r.mu.Lock()
	defer r.mu.Unlock()
	switch {
	case err == nil:
		r.full = nil
	case traveler.KindOf(err) == traveler.KindFull:
		r.full, r.at = err, now
	}
}

// left says why the disk takes no more; nil when it does.
func (r *room) left(try func() error, now time.Time) error {
	r.mu.Lock()
	defer r.mu.Unlock()
	if r.full != nil && now.Sub(r.at) < fullFor {
		return r.full
	}
	if try != nil && (r.tried.IsZero() || now.Sub(r.tried) >= tryEvery) {
		r.tried, r.found = now, try()
	}
	return r.found
}

// watched is a desk whose commits are noted.
type watched struct {
	story.Desk
	s *Server
}

func (d watched) note(err error) { d.s.room.note(err, d.s.cfg.Real()) }

// Scans takes scans as the desk does, and fails as it does.
func (d watched) Scans(ctx context.Context, said []story.Said) ([]story.Answer, error) {
	began := d.s.cfg.Real()
	answers, err := d.Desk.Scans(ctx, said)
	if d.note(err); err == nil {
		d.s.measured.Said(said, answers, d.s.cfg.Real().Sub(began), d.s.cfg.Now())
	}
	return answers, err
}

// timed measures requests by their way in. A path that is nobody's way in is counted with
// all others, so that no visitor makes labels.
func (s *Server) timed(c *fiber.Ctx) error {
	began := s.cfg.Real()
	err := c.Next()
	way, status := "other", c.Response().StatusCode()
	if r := c.Route(); r != nil && r.Path != "/" && s.ways[r.Method+" "+r.Path] {
		way = r.Method + " " + r.Path
	}
	if err != nil {
		status = ask.ProblemOf(c, err).Status
	}
	s.measured.Asked(way, status, s.cfg.Real().Sub(began))
	return err
}

// Release puts batches on the floor as the desk does, and fails as it does; their cards
// are printed where the shop wants that.
func (d watched) Release(
	ctx context.Context, by traveler.Actor, rs []traveler.Release, cards []traveler.Code,
) ([]story.Answer, error) {
	answers, err := d.Desk.Release(ctx, by, rs, cards)
	d.note(err)
	d.s.printers.Released(answers)
	return answers, err
}

// Change changes the shop as the desk does, and fails as it does.
func (d watched) Change(ctx context.Context, by traveler.Actor, c *traveler.Change) error {
	err := d.Desk.Change(ctx, by, c)
	d.note(err)
	return err
}

// Facts gives the figures of batches without codes of badges, and fails as the
// desk does.
func (d watched) Facts(q story.FactQuery, yield func(*story.BatchFact) bool) error {
	return people.NewBadges(d.s.cfg.Tables).Facts(d.Desk, q, yield)
}

// healthView is a server that runs.
type healthView struct {
	Status string `json:"status"`
}

func getHealth(c *fiber.Ctx) error { return c.JSON(healthView{"ok"}) }

// readyView is a server that takes scans.
type readyView struct {
	Status string       `json:"status"`
	Seq    traveler.Seq `json:"seq"` // of the record
}

// getReady says whether scans are taken: not while the disk is full, the clock is in doubt, or
// no server that decides is heard.
func (s *Server) getReady(c *fiber.Ctx) error {
	if err := s.room.left(s.cfg.Room, s.cfg.Real()); err != nil {
		s.LogOf(c).Warn("not ready", "err", err)
		return traveler.Fail(traveler.KindBusy, "web.full")
	}
	if d := s.cfg.Desk.ClockDoubt(); d != nil {
		return traveler.Fail(traveler.KindBusy, d.Key(), d.Args()...)
	}
	if s.cfg.Servers != nil && !decided(s.cfg.Servers.Servers(), s.cfg.Now()) {
		return traveler.Fail(traveler.KindBusy, "web.undecided")
	}
	seq, _ := s.cfg.Desk.Head()
	return c.JSON(readyView{"ok", seq})
}

// decidesWithin is how long ago the server that decides may have been heard: another one
// takes over within a third of that.
const decidesWithin = 10 * time.Second

// decided reports whether a server of the record decides: without one no scan is taken, and
// devices look for a server that still hears it.
func decided(list []story.Server, now time.Time) bool {
	return slices.ContainsFunc(list, func(v story.Server) bool {
		return v.Writes && (v.Self || now.Sub(v.Heard) < decidesWithin)
	})
}
