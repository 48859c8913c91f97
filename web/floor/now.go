package floor

import (
	"encoding/json"

	"github.com/gofiber/fiber/v2"

	"tallywalk/traveler"
	"tallywalk/traveler/measure"
	"tallywalk/traveler/story"
	"tallywalk/web/ask"
	"tallywalk/web/door"
)

// How much of the batch the answer to a scan has: what is needed to go on, the
// whole of GET /api/v1/batches/{code}, or nothing.
const (
	nowShort = "short"
	nowWhole = "whole"
	nowNone  = "none"
)

// batchNow is a batch without its operations, spans, losses and people.
type batchNow struct {
	Card       traveler.Code    `json:"card"`
	Part       string           `json:"part"`
	RouteRev   string           `json:"route_rev"`
	WorksOrder string           `json:"works_order,omitempty"`
	Started    int              `json:"started"`
	Wanted     int              `json:"wanted"`
	Good       int              `json:"good"` // see Batch
	Scrap      int              `json:"scrap"`
	Rework     int              `json:"rework"` // ever sent to rework
	Review     int              `json:"review"` // set aside now
	Missing    int              `json:"missing"`
	ToDo       int              `json:"to_do"` // still along the route
	State      story.BatchState `json:"state"`
	Next       traveler.Op      `json:"next_operation,omitempty"`
	WalkM      float64          `json:"walk_m"` // metres carried
	Visits     []visitNow       `json:"visits"`
	Questions  []questionView   `json:"questions"`
}

// batchOrNow is a batch in short, or the whole of it.
type batchOrNow struct{}

// OneOf lists both.
func (batchOrNow) OneOf() ask.OneOf { return ask.OneOf{batchNow{}, batchView{}} }

// nows writes the batches of the answers to one request, each once: the answers
// of a request often are about the same story.
type nows struct {
	s     *room
	faces *door.Faces
	much  string
	done  map[batchAt][2]int // where in the answer it stands already
}

// batchAt is a batch as a version of its family has it.
type batchAt struct {
	family *story.Family
	batch  int
}

func (s *room) nowsOf(c *fiber.Ctx, f *door.Faces) (*nows, error) {
	much := c.Query("now", nowShort)
	switch much {
	case nowShort, nowWhole, nowNone:
		return &nows{s: s, faces: f, much: much}, nil
	}
	return nil, traveler.Invalid("now", "web.now")
}

// put writes the batch that an answer is about, if anything is to be said of it.
func (n *nows) put(o *jsonOut, a *story.Answer) error {
	if a.Family == nil || n.much == nowNone {
		return nil
	}
	at := batchAt{a.Family, a.Family.Index(a.Card)}
	if at.batch < 0 {
		return nil
	}
	o.key("now")
	if d, ok := n.done[at]; ok {
		o.b = append(o.b, o.b[d[0]:d[1]]...)
		return nil
	}
	from := len(o.b)
	if err := n.write(o, at); err != nil {
		return err
	}
	if n.done == nil {
		n.done = map[batchAt][2]int{}
	}
	n.done[at] = [2]int{from, len(o.b)}
	return nil
}

func (n *nows) write(o *jsonOut, at batchAt) error {
	if n.much == nowShort {
		return n.short(o, at.family, at.batch)
	}
	v := n.s.batchView(n.faces, at.family, at.batch)
	for j := range v.Visits {
		v.Visits[j].Scans = nil // many, and the one who scans needs none
	}
	raw, err := json.Marshal(v)
	o.b = append(o.b, raw...)
	return err
}

// short is a batch without what does not change from scan to scan and what only
// a page about it shows: its operations, spans, losses and people.
func (n *nows) short(o *jsonOut, f *story.Family, i int) error {
	m := n.s.Meter()
	b, sum := &f.Batches[i], f.Sum(i)
	o.b = append(o.b, '{')
	o.text("card", string(b.Card))
	o.text("part", b.Part)
	o.text("route_rev", b.Rev)
	o.some("works_order", b.Order)
	o.number("started", sum.Started)
	o.number("wanted", b.Wanted)
	o.number("good", sum.Good)
	o.number("scrap", sum.Scrap)
	o.number("rework", sum.Rework)
	o.number("review", sum.ReviewOpen)
	o.number("missing", sum.Missing)
	o.number("to_do", sum.ToDo)
	o.text("state", string(f.State(i)))
	if op := f.NextOp(i); op != 0 {
		o.number("next_operation", int(op))
	}
	o.float("walk_m", m.Walked(f, i))
	o.open("visits", '[')
	for j := range f.Visits {
		if f.Visits[j].Batch == i {
			o.visit(m, f, j)
		}
	}
	o.close(']')
	o.open("questions", '[')
	for _, q := range f.Questions() {
		if q.Card != b.Card {
			continue
		}
		raw, err := json.Marshal(questionViewOf(n.faces, f, &q))
		if err != nil {
			return err
		}
		o.raw("", raw)
	}
	o.close(']')
	o.close('}')
	return nil
}

func (o *jsonOut) visit(m *measure.Meter, f *story.Family, j int) {
	v, fact := &f.Visits[j], m.Visit(f, j)
	t := &fact.Parts
	o.open("", '{')
	o.text("visit", string(v.ID))
	o.number("operation", int(v.Operation))
	o.text("machine", string(v.Machine))
	o.text("state", string(visitState(v)))
	o.moment("arrived", v.Arrived)
	o.moment("finished", v.Ended())
	if fact.NoArrival {
		o.raw("transport_s", []byte("null"))
		o.raw("queue_s", []byte("null"))
		o.float("between_s", t.Between.Seconds())
	} else {
		o.float("transport_s", t.Transport.Seconds())
		o.float("queue_s", t.Queue.Seconds())
		o.raw("between_s", []byte("null"))
	}
	o.float("setup_s", t.Setup.Seconds())
	o.float("firstoff_s", t.FirstOff.Seconds())
	o.float("run_s", t.Run.Seconds())
	o.float("stop_s", t.Stop.Seconds())
	o.number("good", fact.Good)
	o.number("scrap", fact.Scrap)
	o.number("rework", fact.Rework)
	o.number("review", fact.Review)
	o.number("missing", fact.Missing)
	o.float("walk_m", fact.Metres)
	o.open("inferred", '[')
	for _, what := range v.Inferred() {
		o.text("", what)
	}
	o.close(']')
	o.close('}')
}
