package web

import (
	"net/url"
	"strconv"

	"github.com/gofiber/fiber/v2"

	"tallywalk/traveler"
)

type scansBody struct {
	Scans []sentScan `json:"scans"`
}

// sentScan is a scan with what a station says of an epoch that is over.
type sentScan struct {
	traveler.Scan
	Epoch  string           `json:"epoch,omitempty"`
	Before *traveler.Before `json:"before,omitempty"`
}

// result is the answer to one scan.
type result struct {
	ID      traveler.ScanID  `json:"id"`
	Outcome traveler.Outcome `json:"outcome"`
	Again   bool             `json:"again"`
	Seq     traveler.Seq     `json:"seq"`
	Say     string           `json:"say"`
	Offer   bool             `json:"offer,omitempty"`  // may be said again with anyway
	Asks    bool             `json:"asks,omitempty"`   // kept, but it opened a question
	Issued  traveler.Code    `json:"issued,omitempty"` // the card that a split gave
	Status  int              `json:"status,omitempty"`
	Field   string           `json:"field,omitempty"`
	Now     *batchView       `json:"now,omitempty"`
}

// postScans takes scans. One scan that cannot be taken at all is an error of
// the whole request when it is alone, else its own result carries the status.
func (s *Server) postScans(c *fiber.Ctx) error {
	var in scansBody
	if err := decode(c, &in); err != nil {
		return err
	}
	if len(in.Scans) == 0 || len(in.Scans) > maxScans {
		return traveler.Invalid("scans", "web.scans")
	}
	p, faces := who(c), s.faces(c)
	sent := make([]traveler.Said, len(in.Scans))
	said := make([]traveler.Said, len(in.Scans))
	own := s.deviceOf(p)
	for i := range in.Scans {
		in := &in.Scans[i]
		sent[i] = traveler.Said{By: s.actor(p, in.Operator), Scan: in.Scan}
		if p.How == byStation {
			// Only a station can say how its own scans were answered before.
			sent[i].Epoch, sent[i].Before = in.Epoch, in.Before
		}
		said[i] = sent[i]
		said[i].Scan.Device = deviceFor(p, own, in.Device)
	}
	epoch := s.cfg.Desk.Epoch()
	answers, err := takeScans(c.Context(), s.cfg.Desk, faces.Badges, said, sent)
	if err != nil {
		return err
	}
	if now := s.cfg.Desk.Epoch(); now != epoch {
		s.cfg.Log.Warn("a station has seen more of the record than there is: an older copy was laid in place of the file. "+
			"Stations send again what it lacks; batches released since must be imported again with their cards.", "station", p.Name, "epoch", now)
	}
	out := make([]result, len(answers))
	for i := range answers {
		if answers[i].Err != nil && len(answers) == 1 {
			return answers[i].Err
		}
		out[i] = s.result(c, faces, &answers[i])
	}
	return c.JSON(fiber.Map{"results": out, "epoch": s.cfg.Desk.Epoch()})
}

// deviceOf is the device of a station; empty for anybody else.
func (s *Server) deviceOf(p principal) traveler.DeviceID {
	if p.How != byStation {
		return ""
	}
	var row pass
	if ok, err := s.row(tableStations, p.Key, &row); err != nil || !ok {
		return ""
	}
	return traveler.DeviceID(row.Device)
}

// deviceFor is the device that a scan is kept with. A station is its own; what
// anybody else says is a name within their own, so that nobody can count for a
// station or for another program: the count of a device orders and bounds the
// times of all its scans.
func deviceFor(p principal, own, said traveler.DeviceID) traveler.DeviceID {
	switch {
	case p.How == byStation:
		return own
	case said == "":
		return ""
	}
	// A name may have a slash in it, and an account and a token one name.
	return traveler.DeviceID(p.How+" "+url.PathEscape(p.Name)) + "/" + said
}

func (s *Server) result(c *fiber.Ctx, faces *faces, a *traveler.Answer) result {
	r := result{ID: a.ID, Outcome: a.Outcome, Again: a.Again, Seq: a.Seq, Say: faces.msg(a.Say).Text(language(c)), Offer: a.Offer}
	if a.Err != nil {
		p := problemOf(c, a.Err)
		r.Outcome, r.Status, r.Field, r.Say = traveler.Refused, p.Status, p.Field, p.Detail
		return r
	}
	if r.Say == "" {
		r.Say, r.Asks = s.kept(c, faces, a)
	}
	r.Issued = a.Issued
	if a.Family != nil {
		if i := a.Family.Index(a.Card); i >= 0 {
			v := s.batchView(faces, a.Family, i)
			for j := range v.Visits {
				v.Visits[j].Scans = nil // many, and the one who scans needs none
			}
			r.Now = &v
		}
	}
	return r
}

// kept is the sentence for a scan that was kept: with the card that a split
// gave, or the question that it opened.
func (s *Server) kept(c *fiber.Ctx, faces *faces, a *traveler.Answer) (say string, asks bool) {
	if a.Family != nil && a.Issued != "" {
		if i := a.Family.Index(a.Issued); i >= 0 {
			return msg("web.split", strconv.Itoa(a.Family.Batches[i].Started), string(a.Issued)).Text(language(c)), false
		}
	}
	if q, ok := asked(a); ok {
		return msg("web.asks", faces.msg(q.Known).Text(language(c))).Text(language(c)), true
	}
	return msg("web.kept").Text(language(c)), false
}

// asked finds the open question that a scan raised: about itself, or about the
// numbers of the operation it counted at.
func asked(a *traveler.Answer) (traveler.Question, bool) {
	if a.Family == nil || a.Outcome != traveler.Kept {
		return traveler.Question{}, false
	}
	open := a.Family.Questions()
	if len(open) == 0 {
		return traveler.Question{}, false
	}
	op := countedAt(a)
	for _, q := range open {
		if q.Card == a.Card && q.Settled == nil && (q.Scan == a.ID || (q.Scan == "" && op != 0 && q.Operation == op)) {
			return q, true
		}
	}
	return traveler.Question{}, false
}

// countedAt is the operation that a scan counted or finished at; 0 for none.
func countedAt(a *traveler.Answer) traveler.Op {
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
