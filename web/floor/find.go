package floor

import (
	"cmp"
	"net/url"
	"slices"
	"strings"
	"sync"
	"time"

	"github.com/gofiber/fiber/v2"

	"tallywalk/traveler"
	"tallywalk/traveler/people"
	"tallywalk/traveler/story"
	"tallywalk/web/door"
)

// findView is what fits what was typed, the best first.
type findView struct {
	Q    string  `json:"q"`
	Hits []found `json:"hits"`
	// The page to go to at once: the only thing that is what was typed, or the only one
	// that fits.
	Go   string `json:"go,omitempty"`
	More bool   `json:"more"` // than are listed
	// Batches that left the floor are still being read: those are not among the hits.
	Partial bool `json:"partial,omitempty"`
}

// found is one thing that fits.
type found struct {
	Kind string `json:"kind" api:"enum=batch|part|customer|lot|person|machine"`
	Text string `json:"text"`           // what it goes by
	More string `json:"more,omitempty"` // what else says what it is
	Page string `json:"page"`           // where it is shown

	rank int
}

const mostFound = 20

// kindsFound are the kinds in the order in which equal hits stand.
var kindsFound = []string{"batch", "machine", "part", "customer", "lot", "person"}

// Ranks of a hit: what was typed, its beginning, or somewhere in it.
const (
	rankSame = iota
	rankBegins
	rankHolds
	rankNone
)

// rankOf says how well a text fits what was typed, which is in lower case.
func rankOf(q string, texts ...string) int {
	best := rankNone
	for _, t := range texts {
		t = strings.ToLower(t)
		switch {
		case t == "":
		case t == q:
			return rankSame
		case strings.HasPrefix(t, q):
			best = min(best, rankBegins)
		case strings.Contains(t, q):
			best = min(best, rankHolds)
		}
	}
	return best
}

// hits are found things, each page once with its best rank.
type hits struct {
	list []found
	at   map[string]int
}

func (h *hits) put(x found) {
	if x.rank == rankNone {
		return
	}
	if h.at == nil {
		h.at = map[string]int{}
	}
	key := x.Kind + " " + x.Text + " " + x.Page
	if i, ok := h.at[key]; ok {
		h.list[i].rank = min(h.list[i].rank, x.rank)
		return
	}
	h.at[key] = len(h.list)
	h.list = append(h.list, x)
}

// batchHit is a batch, ranked by its card and works order.
func batchHit(q string, card traveler.Code, order, part, name string) found {
	text := cmp.Or(order, string(card))
	more := strings.TrimSpace(part + " " + name)
	if order != "" {
		more = string(card) + ", " + more
	}
	return found{"batch", text, more, "/batch/" + url.PathEscape(string(card)),
		rankOf(q, string(card), order)}
}

func traceHit(kind, q, text string) found {
	return found{kind, text, "", "/trace?q=" + url.QueryEscape(text), rankOf(q, text)}
}

// getFind finds a card, works order, part, customer, lot, person or machine.
func (s *room) getFind(c *fiber.Ctx) error {
	text := strings.TrimSpace(c.Query("q"))
	v := findView{Q: text, Hits: []found{}}
	if text == "" || !traveler.CleanText(text, traveler.MaxShort) {
		return c.JSON(v)
	}
	q := strings.ToLower(text)
	var h hits
	for _, card := range s.Desk.FindCard(text) {
		if f, err := s.Desk.Family(card); err == nil && f.Index(card) >= 0 {
			b := &f.Batches[f.Index(card)]
			x := batchHit(q, b.Card, b.Order, b.Part, b.Name)
			x.rank = rankSame
			h.put(x)
		}
	}
	s.findOnFloor(q, &h)
	s.findInShop(q, &h)
	s.findPeople(c, q, &h)
	past, ready := s.past.names(s)
	v.Partial = !ready
	for i := range past {
		h.put(past[i].hit(q))
	}
	slices.SortStableFunc(h.list, func(a, b found) int {
		return cmp.Or(cmp.Compare(a.rank, b.rank),
			cmp.Compare(slices.Index(kindsFound, a.Kind), slices.Index(kindsFound, b.Kind)))
	})
	v.Go = whereTo(h.list)
	v.More = len(h.list) > mostFound
	v.Hits = append(v.Hits, h.list[:min(mostFound, len(h.list))]...)
	return c.JSON(v)
}

// whereTo is the page that is meant, if only one is.
func whereTo(list []found) string {
	if len(list) == 1 || len(list) > 1 && list[0].rank == rankSame && list[1].rank != rankSame {
		return list[0].Page
	}
	return ""
}

// findOnFloor looks through what is on the floor.
func (s *room) findOnFloor(q string, h *hits) {
	s.Desk.Open(func(f *story.Family) bool {
		for i := range f.Batches {
			b := &f.Batches[i]
			h.put(batchHit(q, b.Card, b.Order, b.Part, b.Name))
			h.put(traceHit("customer", q, b.Customer))
			for _, l := range b.Lots {
				h.put(traceHit("lot", q, l))
			}
		}
		return true
	})
}

// findInShop looks through machines and parts.
func (s *room) findInShop(q string, h *hits) {
	shop := s.Desk.Shop()
	for _, m := range shop.Machines(s.Time()) {
		h.put(found{
			"machine", string(m.ID), m.Name, "/machines?machine=" + url.QueryEscape(string(m.ID)),
			rankOf(q, string(m.ID), string(m.Code), m.Name),
		})
	}
	for _, r := range shop.Routes() {
		h.put(found{"part", r.Part, r.PartName, "/history?part=" + url.QueryEscape(r.Part),
			rankOf(q, r.Part, r.PartName)})
	}
}

// findPeople looks for a person by number, and by name for those who may see names:
// the page of accounts for those who look after them, and what the person is at.
func (s *room) findPeople(c *fiber.Ctx, q string, h *hits) {
	faces := s.Faces(c)
	list, err := people.All(s.Tables)
	if err != nil {
		return // the rest is found
	}
	for _, p := range list {
		name := faces.Name(p.ID)
		rank := rankOf(q, string(p.ID), name)
		if rank == rankNone {
			continue
		}
		if traveler.May(door.Who(c).Role, traveler.DeedAccounts) {
			h.put(found{"person", string(p.ID), name, "/accounts#person-" + url.PathEscape(string(p.ID)),
				rank})
		}
		s.atWork(p.ID, name, rank, h)
	}
}

// atWork finds what someone is at now.
func (s *room) atWork(id traveler.PersonID, name string, rank int, h *hits) {
	s.Desk.Open(func(f *story.Family) bool {
		for j := range f.Visits {
			v := &f.Visits[j]
			if v.Open() && slices.Contains(v.People, id) {
				b := &f.Batches[v.Batch]
				more := strings.TrimSpace(name+" ") + string(v.Machine) + ", " + cmp.Or(b.Order,
					string(b.Card))
				h.put(found{"person", string(id), strings.TrimSpace(more),
					"/batch/" + url.PathEscape(string(b.Card)), rank})
			}
		}
		return true
	})
}

// past remembers what batches that left the floor go by, since all of the ledger is
// read for it. It is read again after a while; what is on the floor is looked through
// each time.
type past struct {
	mu      sync.Mutex
	list    []pastName
	at      time.Time // by the real clock; zero = never read
	reading bool
}

// pastName is a batch, or a customer or lot of one.
type pastName struct {
	kind, text        string
	card              traveler.Code
	order, part, name string
}

func (n *pastName) hit(q string) found {
	if n.kind == "batch" {
		return batchHit(q, n.card, n.order, n.part, n.name)
	}
	return traceHit(n.kind, q, n.text)
}

const pastFor = 10 * time.Minute

// names gives what is remembered, and has it read again where it is old. ready is false
// before it was read the first time.
func (p *past) names(s *room) (list []pastName, ready bool) {
	p.mu.Lock()
	defer p.mu.Unlock()
	now := s.Real()
	if !p.reading && (p.at.IsZero() || now.Sub(p.at) > pastFor) {
		p.reading = true
		go p.read(s, now)
	}
	return p.list, !p.at.IsZero()
}

func (p *past) read(s *room, at time.Time) {
	seen := map[string]bool{}
	var list []pastName
	put := func(kind, text string) {
		if key := kind + " " + text; text != "" && !seen[key] {
			seen[key] = true
			list = append(list, pastName{kind: kind, text: strings.Clone(text)})
		}
	}
	q := story.FactQuery{Without: story.FactTrip | story.FactOps | story.FactVisits, Lent: true}
	err := s.Desk.Facts(q, func(b *story.BatchFact) bool {
		list = append(list, pastName{kind: "batch", card: b.Card, order: b.Order, part: b.Part, name: b.Name})
		put("customer", b.Customer)
		for _, l := range b.Lots {
			put("lot", l)
		}
		return true
	})
	p.mu.Lock()
	defer p.mu.Unlock()
	p.reading = false
	if err != nil {
		s.Log.Error("what can be found of the past", "err", err)
		return
	}
	p.list, p.at = list, at
}
