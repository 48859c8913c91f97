package web

import (
	"context"
	"encoding/json"
	"log/slog"
	"reflect"
	"sync"
	"time"

	"tallywalk/traveler"
	"tallywalk/traveler/board"
)

// The hub keeps the boards in step. A commit only signals; the hub then pulls
// the newest stories, builds the rows that changed once for all boards, and
// signals the sockets, each of which pulls what it has not seen. The first
// change goes out at once, later ones at most once in boardPace.
const (
	boardPace = 100 * time.Millisecond
	boardTick = 30 * time.Second // dates pass without a scan
	goneKept  = 2000             // removed rows remembered for sockets that lag
)

// whole is a board as a page gets it first.
type whole struct {
	Board    string               `json:"board"`
	Whole    bool                 `json:"whole"`
	Seq      uint64               `json:"seq"`
	At       time.Time            `json:"at"`
	Zone     string               `json:"zone"`
	Today    string               `json:"today"`
	Rule     string               `json:"rule"`
	Calendar bool                 `json:"calendar"` // false: the shop counts as always open
	Pace     float64              `json:"pace"`     // how fast the shop's clock runs
	Centres  []centre             `json:"centres"`
	Rows     map[string]board.Row `json:"rows"`
}

// change is what became of a board since an earlier sequence.
type change struct {
	Board   string               `json:"board"`
	Seq     uint64               `json:"seq"`
	At      time.Time            `json:"at"`
	Today   string               `json:"today"`
	Centres []centre             `json:"centres,omitempty"`
	Set     map[string]board.Row `json:"set"`
	Gone    []string             `json:"gone"`
}

type centre struct {
	WorkCentre traveler.WorkCentre `json:"work_centre"`
	Machines   []centreMachine     `json:"machines"`
}

type centreMachine struct {
	Machine traveler.MachineID `json:"machine"`
	Name    string             `json:"name"`
	Kind    string             `json:"kind,omitempty"`
}

type kept struct {
	family *traveler.Family
	rows   []board.Row
}

type stamped struct {
	row  board.Row
	seq  uint64
	gone bool
}

type hub struct {
	cfg Config
	log *slog.Logger

	mu       sync.Mutex
	seq      uint64
	rows     map[string]stamped
	goneN    int
	floor    uint64 // a socket older than this gets the whole
	centres  []centre
	centreAt uint64
	today    string
	changed  chan struct{}
	closed   bool
	frames   map[uint64][]byte // encoded changes from a sequence to now

	families map[traveler.Code]kept // only the hub's goroutine
	shop     *traveler.Shop
}

func newHub(cfg Config) *hub {
	h := &hub{cfg: cfg, log: cfg.Log, rows: map[string]stamped{}, changed: make(chan struct{}), families: map[traveler.Code]kept{}, frames: map[uint64][]byte{}}
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

// pull brings the board up to the newest stories.
func (h *hub) pull() {
	now := h.cfg.Now().UTC()
	today := now.In(h.cfg.Zone).Format(time.DateOnly)
	shop := h.cfg.Desk.Shop()
	all := shop != h.shop || today != h.today
	fresh := map[traveler.Code]kept{}
	same := !all
	h.cfg.Desk.Open(func(f *traveler.Family) bool {
		k, ok := h.families[f.Root]
		if !ok || k.family != f || all {
			k = kept{f, board.Rows(shop, f, today, now)}
			same = false
		}
		fresh[f.Root] = k
		return true
	})
	if same && len(fresh) == len(h.families) {
		return
	}
	h.families, h.shop = fresh, shop
	h.publish(shop, today, now, fresh)
}

// publish stamps the rows that differ with the next sequence and signals.
func (h *hub) publish(shop *traveler.Shop, today string, now time.Time, fresh map[traveler.Code]kept) {
	h.mu.Lock()
	defer h.mu.Unlock()
	next, moved := h.seq+1, false
	seen := make(map[string]bool, len(h.rows))
	for _, k := range fresh {
		for _, r := range k.rows {
			seen[r.Key] = true
			if old, ok := h.rows[r.Key]; !ok || old.gone || !reflect.DeepEqual(old.row, r) {
				h.rows[r.Key] = stamped{row: r, seq: next}
				moved = true
			}
		}
	}
	for key, old := range h.rows {
		if !old.gone && !seen[key] {
			h.rows[key] = stamped{seq: next, gone: true}
			h.goneN++
			moved = true
		}
	}
	if c := centresOf(shop, now); !reflect.DeepEqual(c, h.centres) {
		h.centres, h.centreAt, moved = c, next, true
	}
	if today != h.today {
		h.today, moved = today, true
	}
	if !moved {
		return
	}
	h.seq = next
	h.forget()
	h.frames = map[uint64][]byte{}
	close(h.changed)
	h.changed = make(chan struct{})
}

// forget drops removed rows once there are many; sockets that are older than
// what was dropped get the whole board.
func (h *hub) forget() {
	if h.goneN < goneKept {
		return
	}
	for key, r := range h.rows {
		if r.gone {
			delete(h.rows, key)
		}
	}
	h.goneN, h.floor = 0, h.seq
}

func centresOf(shop *traveler.Shop, now time.Time) []centre {
	var out []centre
	at := map[traveler.WorkCentre]int{}
	for _, m := range shop.Machines(now) {
		i, ok := at[m.WorkCentre]
		if !ok {
			i = len(out)
			at[m.WorkCentre] = i
			out = append(out, centre{WorkCentre: m.WorkCentre})
		}
		out[i].Machines = append(out[i].Machines, centreMachine{m.ID, m.Name, m.Kind})
	}
	return out
}

// next gives the message that brings a socket from a sequence up to now, the
// sequence it is then at, and the channel to wait on. A nil message means that
// there is nothing new.
func (h *hub) next(from uint64) (message []byte, seq uint64, wait <-chan struct{}, err error) {
	h.mu.Lock()
	defer h.mu.Unlock()
	if h.closed {
		return nil, from, nil, nil
	}
	if from == h.seq && from != 0 {
		return nil, from, h.changed, nil
	}
	if m, ok := h.frames[from]; ok {
		return m, h.seq, h.changed, nil
	}
	if from == 0 || from < h.floor {
		message, err = json.Marshal(h.whole())
	} else {
		message, err = json.Marshal(h.since(from))
	}
	if err == nil {
		h.frames[from] = message
	}
	return message, h.seq, h.changed, err
}

// beat is a change with nothing in it but the time.
func (h *hub) beat() []byte {
	h.mu.Lock()
	defer h.mu.Unlock()
	b, err := json.Marshal(change{Board: "waits", Seq: h.seq, At: h.cfg.Now().UTC(), Today: h.today, Set: map[string]board.Row{}, Gone: []string{}})
	if err != nil {
		h.log.Error("the boards' beat", "err", err)
	}
	return b
}

func (h *hub) whole() whole {
	w := whole{
		Board: "waits", Whole: true, Seq: h.seq, At: h.cfg.Now().UTC(), Zone: zoneName(h.cfg.Zone), Today: h.today,
		Rule: board.Rule, Pace: h.cfg.pace(), Centres: h.centres, Rows: make(map[string]board.Row, len(h.rows)),
	}
	if w.Centres == nil {
		w.Centres = []centre{}
	}
	for key, r := range h.rows {
		if !r.gone {
			w.Rows[key] = r.row
		}
	}
	return w
}

func (h *hub) since(from uint64) change {
	c := change{Board: "waits", Seq: h.seq, At: h.cfg.Now().UTC(), Today: h.today, Set: map[string]board.Row{}, Gone: []string{}}
	if h.centreAt > from {
		c.Centres = h.centres
	}
	for key, r := range h.rows {
		if r.seq <= from {
			continue
		}
		if r.gone {
			c.Gone = append(c.Gone, key)
		} else {
			c.Set[key] = r.row
		}
	}
	return c
}

// snapshot is the whole board now.
func (h *hub) snapshot() whole {
	h.mu.Lock()
	defer h.mu.Unlock()
	return h.whole()
}

// waitingAt lists what waits before a work centre, in the order of the rule.
func (h *hub) waitingAt(wc traveler.WorkCentre) []board.Row {
	h.mu.Lock()
	out := []board.Row{}
	for _, r := range h.rows {
		if !r.gone && r.row.Kind == "wait" && r.row.WorkCentre == wc {
			out = append(out, r.row)
		}
	}
	h.mu.Unlock()
	board.Sort(out)
	return out
}

// close tells every socket to go.
func (h *hub) close() {
	h.mu.Lock()
	defer h.mu.Unlock()
	if !h.closed {
		h.closed = true
		close(h.changed)
		h.changed = make(chan struct{})
	}
}
