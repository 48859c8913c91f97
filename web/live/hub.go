package live

import (
	"context"
	"sync"
	"time"

	"tallywalk/traveler"
	"tallywalk/traveler/board"
	"tallywalk/traveler/calendar"
	"tallywalk/traveler/measure"
	"tallywalk/traveler/people"
	"tallywalk/traveler/story"
	"tallywalk/web/ask"
)

// The hub keeps the boards up to date. A commit only signals; the hub then pulls
// the newest stories, builds the rows that changed once for all boards, and
// signals the sockets, each of which pulls what it has not seen. The first
// change goes out at once, later ones at most once in boardPace.
const (
	boardPace = 100 * time.Millisecond
	boardTick = 30 * time.Second // dates and open hours pass without a scan
)

// The boards.
const (
	boardWaits  = "waits"
	boardGround = "ground"
	boardOfPace = "pace"
)

// Names are the boards by name, the usual one first.
var Names = []string{boardWaits, boardGround, boardOfPace}

// kept is what the waits and the pace boards show of one family.
type kept struct {
	family *story.Family
	rows   []board.Row
	nows   []board.Now
}

type hub struct {
	cfg     *ask.House
	foresee func() Foreseen
	late    Foreseen // as of the last look
	feeds   map[string]*feed
	today   string
	shop    *traveler.Shop
	pace    *board.Pace
	usual   map[traveler.WorkCentre]board.UsualWait // of the days before today
	week    time.Time                               // when the week began that the ground board shows
	walks   *board.Carried
	badges  *people.Badges // of this pull
	drawn   time.Time      // when all places were last looked at
	version uint64         // of the floor, as the desk counts

	mu       sync.Mutex // of standing, which a sheet that is printed reads
	standing *board.Standing
	lines    *board.Lines // only the hub's goroutine, as what follows

	centres  map[traveler.WorkCentre]bool // that have a line
	families map[traveler.Code]kept
}

func newHub(house *ask.House, foresee func() Foreseen) *hub {
	a := about{now: house.Now, zone: ask.ZoneName(house.Zone), pace: house.Pace}
	h := &hub{cfg: house, foresee: foresee, families: map[traveler.Code]kept{}, feeds: map[string]*feed{}}
	for _, name := range Names {
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

// pull brings the boards up to the newest stories: all of them where the day or
// the shop is another, or the desk does not know what changed; else those that
// changed.
func (h *hub) pull() {
	now := h.cfg.Now().UTC()
	today := now.In(h.cfg.Zone).Format(time.DateOnly)
	shop := h.cfg.Desk.Shop()
	h.badges = people.NewBadges(h.cfg.Tables)
	changed, version, ok := h.cfg.Desk.ChangedSince(h.version)
	h.version = version
	newDay, newShop := today != h.today, shop != h.shop
	h.today, h.shop = today, shop
	if newDay {
		h.remember(now)
	}
	switch {
	case newDay || newShop || !ok:
		h.lookAtAll(now, newDay || newShop)
	default:
		if len(changed) > 0 {
			h.follow(changed, now)
		}
		if now.Sub(h.drawn) >= boardTick {
			h.lookAhead(now)
			h.draw(now, newEdit(), false)
			h.openings(now)
		}
	}
}

// lookAtAll looks at every family on the floor, and gives every board all of
// its rows. heads says that what stands beside the rows may have changed, and
// that rows of families that did not change may have.
func (h *hub) lookAtAll(now time.Time, heads bool) {
	fresh := map[traveler.Code]kept{}
	h.cfg.Desk.Open(func(f *story.Family) bool {
		k, ok := h.families[f.Root]
		if !ok || k.family != f || heads {
			k = h.look(f, now)
		}
		fresh[f.Root] = k
		return true
	})
	h.families = fresh
	waits, ground, pace := newEdit(), newEdit(), newEdit()
	for _, k := range fresh {
		k.put(waits, pace)
	}
	for _, r := range h.pace.Rows() {
		pace.set[r.Key] = r
	}
	if heads {
		h.heads(now, waits, ground, pace)
	}
	h.queue(now, waits)
	h.feeds[boardWaits].publish(h.today, waits, heads)
	h.feeds[boardOfPace].publish(h.today, pace, heads)
	h.draw(now, ground, heads)
}

// draw makes the whole ground board of the rows: the places and the plan may
// be others from a day on.
func (h *hub) draw(now time.Time, ground *edit, heads bool) {
	h.drawn = now
	standing := board.NewStanding(h.shop, now)
	for root, k := range h.families {
		standing.Put(root, k.rows)
	}
	h.mu.Lock()
	h.standing = standing
	h.mu.Unlock()
	for _, p := range standing.All() {
		ground.set[p.Key] = p
	}
	for _, l := range h.walks.All(h.cfg.Floors.At(h.shop, now)) {
		ground.set[l.Key] = l
	}
	h.sums(ground)
	h.feeds[boardGround].publish(h.today, ground, heads)
}

// queue makes the lines before all work centres of the rows: the shop's order, and its
// machines, may be others.
func (h *hub) queue(now time.Time, waits *edit) {
	for wc := range h.centres {
		waits.head[linePrefix+string(wc)] = nil // those that are no more
	}
	h.lines = board.NewLines(h.shop, board.ByDue, h.pace, now)
	for root, k := range h.families {
		h.lines.Put(root, k.rows, k.nows)
	}
	h.centres = map[traveler.WorkCentre]bool{}
	for _, l := range h.lines.All(now) {
		h.centres[l.WorkCentre] = true
		putLines(waits, []board.WaitLine{l})
	}
}

// lookAhead makes the rows again of the families of which something else is foreseen than
// at the last look.
func (h *hub) lookAhead(now time.Time) {
	if h.foresee == nil {
		return
	}
	was := h.late
	h.late = h.foresee()
	changed := map[traveler.Code]*story.Family{}
	for root, k := range h.families {
		for i := range k.family.Batches {
			card := k.family.Batches[i].Card
			a, known := was[card]
			b, knows := h.late[card]
			if a != b || known != knows {
				changed[root] = k.family
			}
		}
	}
	for root := range changed {
		k := h.families[root]
		k.family = nil // so that its rows are made again
		h.families[root] = k
	}
	if len(changed) > 0 {
		h.follow(changed, now)
	}
}

// openings brings the moments of all lines up to now: when machines open and close.
func (h *hub) openings(now time.Time) {
	waits := newEdit()
	putLines(waits, h.lines.All(now))
	h.feeds[boardWaits].change(waits)
}

func putLines(waits *edit, lines []board.WaitLine) {
	for i := range lines {
		waits.head[linePrefix+string(lines[i].WorkCentre)] = &lines[i]
	}
}

// follow takes the families that changed, and those that left the floor: only
// their rows are made, and what is added up of them.
func (h *hub) follow(changed map[traveler.Code]*story.Family, now time.Time) {
	waits, ground, pace := newEdit(), newEdit(), newEdit()
	h.mu.Lock()
	for root, f := range changed {
		was := h.families[root]
		if f == was.family {
			continue
		}
		was.drop(waits, pace)
		is := kept{}
		if f == nil {
			// What it was carried and took stays: its facts are in the ledger now.
			delete(h.families, root)
		} else {
			is = h.look(f, now)
			h.families[root] = is
		}
		h.standing.Put(root, is.rows)
		h.lines.Put(root, is.rows, is.nows)
		is.put(waits, pace)
	}
	places := h.standing.Changed()
	h.mu.Unlock()
	for _, p := range places {
		ground.set[p.Key] = p
	}
	legs, gone := h.walks.Changed(h.cfg.Floors.At(h.shop, now))
	for _, l := range legs {
		ground.set[l.Key] = l
	}
	ground.gone = gone
	ops, gone := h.pace.Changed()
	for _, r := range ops {
		pace.set[r.Key] = r
	}
	pace.gone = append(pace.gone, gone...)
	h.lines.Paced(ops)
	putLines(waits, h.lines.Changed(now))
	h.sums(ground)
	h.feeds[boardWaits].change(waits)
	h.feeds[boardGround].change(ground)
	h.feeds[boardOfPace].change(pace)
}

// put sets the rows of a family; they stay even where they went before.
func (k *kept) put(waits, pace *edit) {
	for i := range k.rows {
		waits.set[k.rows[i].Key] = k.rows[i]
	}
	for i := range k.nows {
		pace.set[k.nows[i].Key] = k.nows[i]
	}
}

// drop lets the rows of a family go, unless they are set after that.
func (k *kept) drop(waits, pace *edit) {
	for i := range k.rows {
		waits.gone = append(waits.gone, k.rows[i].Key)
	}
	for i := range k.nows {
		pace.gone = append(pace.gone, k.nows[i].Key)
	}
}

// sums is what the ground board says of all places together.
func (h *hub) sums(ground *edit) {
	ground.head["unplaced"], ground.head["totals"] = h.standing.Unplaced(), h.standing.Totals()
}

// remember takes the history behind the boards from the facts.
func (h *hub) remember(now time.Time) {
	h.pace, h.walks = board.NewPace(), board.NewCarried()
	h.week = calendar.WeekBegan(now.In(h.cfg.Zone))
	q := story.FactQuery{
		From: now.AddDate(0, 0, -board.PaceDays), Lent: true,
		Without: story.FactIDs | story.FactLosses | story.FactBusy,
	}
	err := h.cfg.Desk.Facts(q, func(b *story.BatchFact) bool {
		h.pace.Add(b.Root, b)
		if !b.Ended.Before(h.week) {
			h.walks.Add(b.Root, board.WalksOf(b, h.week, time.Time{}))
		}
		return true
	})
	if err != nil {
		h.cfg.Log.Error("the history behind the boards", "err", err)
	}
	h.usual = h.pace.Usual()
}

// look works out what the boards show of a family.
func (h *hub) look(f *story.Family, now time.Time) kept {
	k := kept{family: f, rows: board.Rows(h.shop, f, h.today, now.In(h.cfg.Zone))}
	for i := range k.rows {
		k.rows[i].Reason = h.badges.Text(k.rows[i].Reason)
	}
	m := measure.Meter{Shop: h.shop, Floors: h.cfg.Floors, Now: f.Last()}
	facts := make([]story.BatchFact, len(f.Batches))
	var walks []board.Walk
	for i := range f.Batches {
		facts[i] = m.Batch(f, i)
		walks = append(walks, board.WalksOf(&facts[i], h.week, time.Time{})...)
	}
	k.nows = board.Runs(h.shop, f, facts, k.rows)
	h.moments(&k, now)
	h.pace.Put(f.Root, facts)
	h.walks.Put(f.Root, walks)
	return k
}

// moments notes from when on a row will be late, where that is foreseen, is past its
// planned time, or waits longer than is usual.
func (h *hub) moments(k *kept, now time.Time) {
	for i := range k.rows {
		r := &k.rows[i]
		if late, known := h.late[r.Card]; known {
			r.Foresee(late, now)
		}
		r.LongFrom = r.LongSince(h.shop, h.usual[r.WorkCentre], now)
		for j := range k.nows {
			if k.nows[j].Key == r.Key {
				r.OverFrom, k.nows[j].LateFrom = k.nows[j].OverFrom, r.LateFrom
			}
		}
	}
}

// heads works out what stands beside the rows of the boards.
func (h *hub) heads(now time.Time, waits, ground, pace *edit) {
	centres, calendar := centresOf(h.shop, h.usual, now)
	var rows []board.Row
	for _, k := range h.families {
		rows = append(rows, k.rows...)
	}
	waits.head["rule"], waits.head["calendar"], waits.head["hours"] = board.Rule, calendar, h.hours(now, rows)
	ground.head["week"], ground.head["plan"] = h.week, board.PlanOf(h.shop, now)
	ground.head["hours"] = h.hours(now, nil)
	pace.head["days"], pace.head["hours"] = board.PaceDays, h.paceHours(now)
	for _, e := range []*edit{waits, ground, pace} {
		e.head["centres"] = centres
	}
}

// waitingAt lists what waits before a work centre, in the order of the rule.
func (h *hub) waitingAt(wc traveler.WorkCentre) []board.Row {
	h.mu.Lock()
	defer h.mu.Unlock()
	return h.standing.Waiting(wc)
}

// close asks every socket to go.
func (h *hub) close() {
	for _, f := range h.feeds {
		f.close()
	}
}
