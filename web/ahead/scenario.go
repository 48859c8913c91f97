package ahead

import (
	"fmt"
	"slices"
	"strconv"
	"strings"
	"time"

	"tallywalk/traveler"
	core "tallywalk/traveler/ahead"
	"tallywalk/traveler/calendar"
)

// Limits of what can be asked at once: more is no question that someone has.
const (
	mostChanges = 50
	mostLines   = 20
	// Calendars are worked out for 400 days: after them machines count as open day and
	// night, and dates that begin there would be far too early.
	mostAhead = 366 * 24 * time.Hour
)

// scenarioAsk is what could be done otherwise. Batches are named by card or works order.
type scenarioAsk struct {
	Rule core.Rule `json:"rule,omitempty"` // another order than the shop's
	// Batches that go before all others, in this order.
	First    []string      `json:"first,omitempty" api:"items=0-50"`
	Overtime []stretchAsk  `json:"overtime,omitempty" api:"items=0-50"` // machines that work longer
	Down     []stretchAsk  `json:"down,omitempty" api:"items=0-50"`     // machines that are lost
	Route    []rerouteAsk  `json:"route,omitempty" api:"items=0-50"`
	Split    []splitAsk    `json:"split,omitempty" api:"items=0-50"`
	Add      []enquiryLine `json:"add,omitempty" api:"items=0-20"` // batches that are not on the floor yet
}

// stretchAsk is a time at a machine.
type stretchAsk struct {
	Machine traveler.MachineID `json:"machine"`
	From    time.Time          `json:"from"`
	To      time.Time          `json:"to"`
}

// rerouteAsk lets the operations of a batch that nobody has begun go by another route
// revision of its part.
type rerouteAsk struct {
	Card string `json:"card"`
	Rev  string `json:"route_rev"`
}

// splitAsk lets some pieces of a batch go on as a batch of their own.
type splitAsk struct {
	Card   string `json:"card"`
	Pieces int    `json:"pieces" api:"min=1"`
}

// enquiryLine is a batch that someone asks about.
type enquiryLine struct {
	Part   string `json:"part"`
	Rev    string `json:"route_rev,omitempty"` // the newest revision of the part, if left out
	Pieces int    `json:"pieces" api:"min=1"`
	// The date on which it is wanted. Where the shop goes by due dates it stands in line by
	// this, and last without.
	Due      string `json:"due,omitempty"`
	Hot      bool   `json:"hot,omitempty"` // it goes before all that is not
	Priority int    `json:"priority,omitempty" api:"min=-1000"`
}

// at names a line of a list in a refusal.
func at(list string, i int, field string) string { return fmt.Sprintf("%s[%d].%s", list, i, field) }

// scenario reads what is asked. It fails with KindInvalid, and names the line, where
// something is not there or cannot be, and with KindNotFound or KindConflict where a
// works order means no batch, or several.
func (s *Ahead) scenario(in *scenarioAsk, from time.Time) (*core.Scenario, error) {
	n := len(in.First) + len(in.Overtime) + len(in.Down) + len(in.Route) + len(in.Split) + len(in.Add)
	switch {
	case n == 0 && in.Rule == "":
		return nil, traveler.Invalid("", "ahead.nothing")
	case n > mostChanges:
		return nil, traveler.Invalid("", "ahead.many", strconv.Itoa(mostChanges))
	case in.Rule != "" && !slices.Contains(core.AllRules, in.Rule):
		return nil, traveler.Invalid("rule", "ahead.rule", string(in.Rule))
	}
	sc, err := &core.Scenario{Rule: in.Rule}, error(nil)
	if sc.First, err = s.cards(in.First); err != nil {
		return nil, err
	}
	if sc.Open, err = s.stretches("overtime", in.Overtime); err != nil {
		return nil, err
	}
	if sc.Shut, err = s.stretches("down", in.Down); err != nil {
		return nil, err
	}
	if sc.Route, err = s.reroutes(in.Route); err != nil {
		return nil, err
	}
	if sc.Split, err = s.splits(in.Split); err != nil {
		return nil, err
	}
	sc.Add, err = s.enquiry("add", in.Add, from)
	return sc, err
}

func (s *Ahead) cards(refs []string) (out []traveler.Code, err error) {
	for _, ref := range refs {
		f, i, err := s.FamilyOf(ref)
		if err != nil {
			return nil, err
		}
		out = append(out, f.Batches[i].Card)
	}
	return out, nil
}

func (s *Ahead) stretches(list string, in []stretchAsk) (out []core.Stretch, err error) {
	shop, now := s.Desk.Shop(), s.Time()
	for i, x := range in {
		id, ok := shop.FindMachine(string(x.Machine))
		switch {
		case !ok:
			return nil, traveler.Invalid(at(list, i, "machine"), "place.unknown", string(x.Machine))
		case !x.From.Before(x.To):
			return nil, traveler.Invalid(at(list, i, "to"), "ahead.stretch")
		case !x.To.After(now) || x.To.After(now.Add(mostAhead)):
			return nil, traveler.Invalid(at(list, i, "to"), "ahead.past")
		}
		out = append(out, core.Stretch{Machine: id, From: x.From.UTC(), To: x.To.UTC()})
	}
	return out, nil
}

func (s *Ahead) reroutes(in []rerouteAsk) (out []core.Reroute, err error) {
	for i, x := range in {
		f, k, err := s.FamilyOf(x.Card)
		if err != nil {
			return nil, err
		}
		b := &f.Batches[k]
		if _, ok := s.Desk.Shop().Route(b.Part, x.Rev); !ok {
			return nil, traveler.Invalid(at("route", i, "route_rev"), "ahead.route", b.Part, x.Rev)
		}
		out = append(out, core.Reroute{Card: b.Card, Rev: x.Rev})
	}
	return out, nil
}

func (s *Ahead) splits(in []splitAsk) (out []core.Piece, err error) {
	for i, x := range in {
		f, k, err := s.FamilyOf(x.Card)
		if err != nil {
			return nil, err
		}
		if started := f.Sum(k).Started; x.Pieces < 1 || x.Pieces >= started {
			return nil, traveler.Invalid(at("split", i, "pieces"), "ahead.split", strconv.Itoa(started-1))
		}
		out = append(out, core.Piece{Card: f.Batches[k].Card, Pieces: x.Pieces})
	}
	return out, nil
}

// enquiry reads lines that someone asks about. Each gets a name of its own.
func (s *Ahead) enquiry(list string, in []enquiryLine, from time.Time) (out []core.NewBatch, err error) {
	if len(in) > mostLines {
		return nil, traveler.Invalid(list, "ahead.many", strconv.Itoa(mostLines))
	}
	for i, x := range in {
		b := core.NewBatch{
			Card: lineName(i), Part: strings.TrimSpace(x.Part), Rev: x.Rev, Pieces: x.Pieces, From: from,
			Hot: x.Hot, Priority: x.Priority,
		}
		if !s.knows(b.Part, b.Rev) {
			return nil, traveler.Invalid(at(list, i, "part"), "ahead.route", b.Part, b.Rev)
		}
		if x.Pieces < 1 || x.Pieces > traveler.MaxPieces {
			return nil, traveler.Invalid(at(list, i, "pieces"), "screen.range", "1",
				strconv.Itoa(traveler.MaxPieces))
		}
		if x.Priority < -traveler.MaxPriority || x.Priority > traveler.MaxPriority {
			return nil, traveler.Invalid(at(list, i, "priority"), "form.number")
		}
		if x.Due != "" {
			due, err := s.Midnight(at(list, i, "due"), x.Due, 0)
			if err != nil {
				return nil, err
			}
			if b.Due = calendar.EndOfDay(due, s.Zone); b.Due.Before(s.Time()) {
				return nil, traveler.Invalid(at(list, i, "due"), "ahead.due", x.Due)
			}
		}
		out = append(out, b)
	}
	return out, nil
}

// lineName is what the i-th line that is asked about goes by: no card's code has a hash.
func lineName(i int) traveler.Code { return traveler.Code("#" + strconv.Itoa(i+1)) }

// knows reports whether the shop has a route of a part, of any revision where none is
// named.
func (s *Ahead) knows(part, rev string) bool {
	return slices.ContainsFunc(s.Desk.Shop().Routes(), func(r traveler.Route) bool {
		return r.Part == part && (rev == "" || r.Rev == rev)
	})
}

// begins reads from when something is released: a date, a moment, or now where nothing
// is said. What is past is now.
func (s *Ahead) begins(text string) (time.Time, error) {
	now := s.Time()
	if text == "" {
		return now, nil
	}
	t, err := time.Parse(time.RFC3339, text)
	if err != nil {
		if t, err = s.Midnight("from", text, 0); err != nil {
			return now, err
		}
	}
	if t.After(now.Add(mostAhead)) {
		return now, traveler.Invalid("from", "ahead.past")
	}
	if t.Before(now) {
		t = now
	}
	return t.UTC(), nil
}
