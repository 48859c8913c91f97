package floor

import (
	"net/url"
	"strconv"

	"github.com/gofiber/fiber/v2"

	"tallywalk/traveler"
	"tallywalk/traveler/people"
	"tallywalk/traveler/story"
	"tallywalk/web/ask"
	"tallywalk/web/door"
)

// maxScans is how many scans one request may hold.
const maxScans = 500

// scansBody is scans in the order in which they are heard.
type scansBody struct {
	Scans []sentScan `json:"scans" api:"items=1-500"`
}

// sentScan is a scan with what a station says of an epoch that is over.
type sentScan struct {
	traveler.Scan
	// The record's epoch as the device knew it when it made the scan, or when the
	// scan was answered if before is said; basis and before.seq count there.
	// Believed of stations only.
	Epoch string `json:"epoch,omitempty"`
	// How the scan was answered before a copy of the record was put back. Believed
	// of stations only, for a scan that the copy lacks.
	Before *story.Before `json:"before,omitempty"`
}

// scanResults is the answers to scans, in their order.
type scanResults struct {
	Results []result `json:"results"`
	// Names the record; a copy that was put back begins another, and stations then
	// send again what was answered before.
	Epoch string `json:"epoch"`
}

// result is the answer to one scan. It is written by hand, see jsonOut.
type result struct {
	ID      traveler.ScanID  `json:"id"`
	Outcome traveler.Outcome `json:"outcome"`
	Again   bool             `json:"again"` // it was answered before; this is the same answer
	Seq     traveler.Seq     `json:"seq"`
	Say     string           `json:"say"`
	Offer   bool             `json:"offer,omitempty"`  // refused, but may be said again with anyway
	Asks    bool             `json:"asks,omitempty"`   // kept, but it opened a question; say names it
	Issued  traveler.Code    `json:"issued,omitempty"` // the card that a split gave
	// Of one that could not be taken at all, in a request with several.
	Status int        `json:"status,omitempty"`
	Field  string     `json:"field,omitempty"`
	Now    batchOrNow `json:"now,omitzero"` // the batch, as much of it as was asked for
}

// result writes the answer to one scan; what it says of the batch is to follow.
func (o *jsonOut) result(r *result) {
	o.open("", '{')
	o.text("id", string(r.ID))
	o.text("outcome", string(r.Outcome))
	o.flag("again", r.Again)
	o.number("seq", int(r.Seq))
	o.text("say", r.Say)
	if r.Offer {
		o.flag("offer", true)
	}
	if r.Asks {
		o.flag("asks", true)
	}
	o.some("issued", string(r.Issued))
	if r.Status != 0 {
		o.number("status", r.Status)
	}
	o.some("field", r.Field)
}

// postScans takes scans. One scan that cannot be taken at all is an error of
// the whole request when it is alone, else its own result carries the status.
func (s *room) postScans(c *fiber.Ctx) error {
	in := scansBody{Scans: make([]sentScan, 0, 1)} // the decoder makes room for four
	if err := ask.Decode(c, &in); err != nil {
		return err
	}
	if len(in.Scans) == 0 || len(in.Scans) > maxScans {
		return traveler.Invalid("scans", "web.scans")
	}
	p, faces := door.Who(c), s.Faces(c)
	now, err := s.nowsOf(c, faces)
	if err != nil {
		return err
	}
	sent := make([]story.Said, len(in.Scans))
	said := make([]story.Said, len(in.Scans))
	for i := range in.Scans {
		in := &in.Scans[i]
		sent[i] = story.Said{By: s.Actor(p, in.Operator), Scan: in.Scan}
		if p.How == door.ByStation {
			// Only a station can say how its own scans were answered before.
			sent[i].Epoch, sent[i].Before = in.Epoch, in.Before
		}
		said[i] = sent[i]
		said[i].Scan.Device = deviceFor(p, in.Device)
	}
	epoch := s.Desk.Epoch()
	answers, err := people.TakeSent(c.Context(), s.Desk, faces.Badges, said, sent)
	if err != nil {
		return err
	}
	if next := s.Desk.Epoch(); next != epoch {
		s.LogOf(c).Warn(
			"a station has seen more of the record than there is: an older copy was laid in place of the "+
				"file. Stations send again what it lacks; batches released since must be imported again with their cards.",
			"epoch", next)
	}
	return s.sendResults(c, now, answers)
}

func (s *room) sendResults(c *fiber.Ctx, now *nows, answers []story.Answer) error {
	o := newJSONOut()
	defer o.free()
	o.open("", '{')
	o.open("results", '[')
	for i := range answers {
		if answers[i].Err != nil && len(answers) == 1 {
			return answers[i].Err
		}
		o.result(s.result(c, now.faces, &answers[i]))
		if answers[i].Err == nil {
			if err := now.put(o, &answers[i]); err != nil {
				return err
			}
		}
		o.close('}')
	}
	o.close(']')
	o.text("epoch", s.Desk.Epoch())
	o.close('}')
	c.Set(fiber.HeaderContentType, fiber.MIMEApplicationJSON)
	c.Response().SetBody(o.b)
	return nil
}

// deviceFor is the device that a scan is kept with. A station is its own; what
// anybody else says is a name within their own, so that nobody can count for a
// station or for another program: the count of a device orders and bounds the
// times of all its scans.
func deviceFor(p door.Principal, said traveler.DeviceID) traveler.DeviceID {
	switch {
	case p.How == door.ByStation:
		return p.Device
	case said == "":
		return ""
	}
	// A name may have a slash in it, and an account and a token one name.
	return traveler.DeviceID(p.How+" "+url.PathEscape(p.Name)) + "/" + said
}

func (s *room) result(c *fiber.Ctx, faces *door.Faces, a *story.Answer) *result {
	r := &result{
		ID: a.ID, Outcome: a.Outcome, Again: a.Again, Seq: a.Seq, Say: faces.Say(a.Say),
		Offer: a.Offer,
	}
	if a.Err != nil {
		p := ask.ProblemOf(c, a.Err)
		r.Outcome, r.Status, r.Field, r.Say = traveler.Refused, p.Status, p.Field, p.Detail
		return r
	}
	if r.Say == "" {
		r.Say, r.Asks = s.kept(c, faces, a)
	}
	r.Issued = a.Issued
	return r
}

// kept is the sentence for a scan that was kept: with the card that a split
// gave, or the question that it opened.
func (s *room) kept(c *fiber.Ctx, faces *door.Faces, a *story.Answer) (say string, asks bool) {
	if a.Family != nil && a.Issued != "" {
		if i := a.Family.Index(a.Issued); i >= 0 {
			return ask.Msg(
				"web.split", strconv.Itoa(a.Family.Batches[i].Started), string(a.Issued),
			).Text(ask.Language(c)), false
		}
	}
	if q, ok := asked(a); ok {
		return ask.Msg("web.asks", faces.Say(q.Known)).Text(ask.Language(c)), true
	}
	return ask.Msg("web.kept").Text(ask.Language(c)), false
}

// asked finds the open question that a scan raised: about itself, or about the
// numbers of the operation it counted at.
func asked(a *story.Answer) (story.Question, bool) {
	if a.Family == nil || a.Outcome != traveler.Kept {
		return story.Question{}, false
	}
	open := a.Family.Questions()
	if len(open) == 0 {
		return story.Question{}, false
	}
	op := countedAt(a)
	for _, q := range open {
		if q.Card == a.Card && q.Settled == nil &&
			(q.Scan == a.ID || (q.Scan == "" && op != 0 && q.Operation == op)) {
			return q, true
		}
	}
	return story.Question{}, false
}

// countedAt is the operation that a scan counted or finished at; 0 for none.
func countedAt(a *story.Answer) traveler.Op {
	for _, l := range a.Family.Lines.Backward() {
		if l.Entry.Scan.ID != a.ID {
			continue
		}
		if l.Visit >= 0 && (l.Entry.Scan.HasCounts() || l.Entry.Scan.Action == traveler.ActFinish) {
			return a.Family.Visits[l.Visit].Operation
		}
		break
	}
	return 0
}

// scanning keeps watchers from the scans: they have nothing to say.
func (s *room) scanning(h fiber.Handler) fiber.Handler {
	return func(c *fiber.Ctx) error {
		if door.Who(c).Role == traveler.RoleWatcher {
			return traveler.Fail(traveler.KindForbidden, "web.role", string(traveler.RoleWatcher))
		}
		return h(c)
	}
}
