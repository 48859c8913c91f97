package web

import (
	"context"
	"time"

	"tallywalk/traveler"
	"tallywalk/traveler/board"
	"tallywalk/traveler/measure"
)

// The hub keeps the boards in step. A commit only signals; the hub then pulls
// the newest stories, builds the rows that changed once for all boards, and
// signals the sockets, each of which pulls what it has not seen. The first
// change goes out at once, later ones at most once in boardPace.
const (
	boardPace = 100 * time.Millisecond
	boardTick = 30 * time.Second // dates and open hours pass without a scan
	paceDays  = 365              // of history behind the pace board
)

// The boards.
const (
	boardWaits  = "waits"
	boardGround = "ground"
	boardOfPace = "pace"
)

// kept is what the boards show of one family.
type kept struct {
	family *traveler.Family
	rows   []board.Row
	nows   []board.Now
	// The same, as feeds take them.
	boxed, boxedNows []any
}

type hub struct {
	cfg    Config
	s      *Server
	feeds  map[string]*feed
	today  string
	shop   *traveler.Shop
	pace   *board.Pace
	week   time.Time // when the week began that the ground board shows
	walks  map[traveler.Code][]board.Walk
	opened time.Time // when what is open was last looked at

	scratch scratch

	families map[traveler.Code]kept // only the hub's goroutine
}

func newHub(s *Server) *hub {
	a := about{now: s.cfg.Now, zone: zoneName(s.cfg.Zone), pace: s.cfg.pace()}
	h := &hub{cfg: s.cfg, s: s, families: map[traveler.Code]kept{}, feeds: map[string]*feed{}}
	for _, name := range []string{boardWaits, boardGround, boardOfPace} {
		h.feeds[name] = newFeed(name, a)
	}
	h.pull()
	return h
}

// run keeps pulling until ctx ends.
func (h *hub) run(ctx context.Context) {
	tick := time.NewTicker(boardTick)
	defer tick.Stop()
	for {
		ch := h.cfg.Desk.Changed()
		h.pull()
		select {
		case <-ctx.Done():
			return
		case <-ch:
		case <-tick.C:
			continue
		}
		h.pull()
		select {
		case <-ctx.Done():
			return
		case <-time.After(boardPace):
		}
	}
}

// pull brings the boards up to the newest stories.
func (h *hub) pull() {
	now := h.cfg.Now().UTC()
	today := now.In(h.cfg.Zone).Format(time.DateOnly)
	shop := h.cfg.Desk.Shop()
	newDay, newShop := today != h.today, shop != h.shop
	if newDay {
		h.remember(now)
	}
	all := newDay || newShop
	same := !all
	fresh := map[traveler.Code]kept{}
	h.cfg.Desk.Open(func(f *traveler.Family) bool {
		k, ok := h.families[f.Root]
		if !ok || k.family != f || all {
			k, same = h.look(shop, f, today, now), false
		}
		fresh[f.Root] = k
		return true
	})
	if same && len(fresh) == len(h.families) && now.Sub(h.opened) < boardTick {
		return
	}
	h.families, h.shop, h.today, h.opened = fresh, shop, today, now
	h.publish(now, newDay || newShop)
}

// remember takes the history behind the boards from the facts.
func (h *hub) remember(now time.Time) {
	h.pace, h.walks = board.NewPace(), map[traveler.Code][]board.Walk{}
	h.week = weekBegan(now.In(h.cfg.Zone))
	err := h.cfg.Desk.Facts(traveler.FactQuery{From: now.AddDate(0, 0, -paceDays)}, func(b *traveler.BatchFact) bool {
		h.pace.Add(b.Root, b)
		if !b.Ended.Before(h.week) {
			h.walks[b.Root] = append(h.walks[b.Root], board.WalksOf(b, h.week, time.Time{})...)
		}
		return true
	})
	if err != nil {
		h.cfg.Log.Error("the history behind the boards", "err", err)
	}
}

// weekBegan is when the week of a moment began: on Monday, at midnight (ISO
// 8601).
func weekBegan(t time.Time) time.Time {
	back := (int(t.Weekday()) + 6) % 7
	return time.Date(t.Year(), t.Month(), t.Day()-back, 0, 0, 0, 0, t.Location())
}

// look works out what the boards show of a family.
func (h *hub) look(shop *traveler.Shop, f *traveler.Family, today string, now time.Time) kept {
	k := kept{family: f, rows: board.Rows(shop, f, today, now)}
	badges := NewBadges(h.cfg.Tables)
	for i := range k.rows {
		k.rows[i].Reason = badges.Text(k.rows[i].Reason)
	}
	m := measure.Meter{Shop: shop, Floors: &h.s.floors, Now: f.Last()}
	facts := make([]traveler.BatchFact, len(f.Batches))
	var walks []board.Walk
	for i := range f.Batches {
		facts[i] = m.Batch(f, i)
		walks = append(walks, board.WalksOf(&facts[i], h.week, time.Time{})...)
	}
	k.nows = board.Runs(shop, f, facts, k.rows)
	for _, r := range k.rows {
		k.boxed = append(k.boxed, r)
	}
	for _, n := range k.nows {
		k.boxedNows = append(k.boxedNows, n)
	}
	h.pace.Put(f.Root, facts)
	h.walks[f.Root] = walks
	return k
}

// publish hands every board its rows. What stands beside them changes with the
// shop and the day only.
func (h *hub) publish(now time.Time, heads bool) {
	s := &h.scratch
	s.clear()
	for _, k := range h.families {
		for i := range k.rows {
			s.waits[k.rows[i].Key] = k.boxed[i]
		}
		s.all = append(s.all, k.rows...)
		for i := range k.nows {
			s.pace[k.nows[i].Key] = k.boxedNows[i]
		}
	}
	for _, r := range h.pace.Rows() {
		s.pace[r.Key] = r
	}
	places, unplaced := board.Places(h.shop, s.all, now)
	for _, p := range places {
		s.ground[p.Key] = p
	}
	for _, w := range h.walks {
		s.walks = append(s.walks, w...)
	}
	for _, l := range board.Legs(h.s.floors.At(h.shop, now), s.walks) {
		s.ground[l.Key] = l
	}
	waits, pace := map[string]any{}, map[string]any{}
	ground := map[string]any{"unplaced": unplaced, "totals": board.Total(s.all)}
	if heads {
		h.heads(now, waits, ground, pace)
	}
	h.feeds[boardWaits].publish(h.today, s.waits, waits, heads)
	h.feeds[boardGround].publish(h.today, s.ground, ground, heads)
	h.feeds[boardOfPace].publish(h.today, s.pace, pace, heads)
}

// heads works out what stands beside the rows of the boards.
func (h *hub) heads(now time.Time, waits, ground, pace map[string]any) {
	centres, calendar := centresOf(h.shop, now)
	waits["rule"], waits["calendar"], waits["hours"] = board.Rule, calendar, h.hours(now, h.scratch.all)
	ground["week"], ground["plan"], ground["hours"] = h.week, planOf(h.shop, now), h.hours(now, nil)
	pace["days"], pace["hours"] = paceDays, h.paceHours(now)
	for _, head := range []map[string]any{waits, ground, pace} {
		head["centres"] = centres
	}
}

// scratch is what publishing needs each time, kept so as not to be made anew.
type scratch struct {
	waits, ground, pace map[string]any
	all                 []board.Row
	walks               []board.Walk
}

func (s *scratch) clear() {
	if s.waits == nil {
		s.waits, s.ground, s.pace = map[string]any{}, map[string]any{}, map[string]any{}
	}
	clear(s.waits)
	clear(s.ground)
	clear(s.pace)
	s.all, s.walks = s.all[:0], s.walks[:0]
}

// waitingAt lists what waits before a work centre, in the order of the rule.
func (h *hub) waitingAt(wc traveler.WorkCentre) []board.Row {
	out := []board.Row{}
	f := h.feeds[boardWaits]
	f.mu.Lock()
	for _, r := range f.rows {
		if row, ok := r.val.(board.Row); ok && !r.gone && row.Kind == "wait" && row.WorkCentre == wc {
			out = append(out, row)
		}
	}
	f.mu.Unlock()
	board.Sort(out)
	return out
}

// close tells every socket to go.
func (h *hub) close() {
	for _, f := range h.feeds {
		f.close()
	}
}
