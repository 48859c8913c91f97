package web

import (
	"github.com/gofiber/fiber/v2"

	"tallywalk/traveler"
)

type scansBody struct {
	Scans []traveler.Scan `json:"scans"`
}

// result is the answer to one scan.
type result struct {
	ID      traveler.ScanID  `json:"id"`
	Outcome traveler.Outcome `json:"outcome"`
	Again   bool             `json:"again"`
	Seq     traveler.Seq     `json:"seq"`
	Say     string           `json:"say"`
	Offer   bool             `json:"offer,omitempty"` // may be said again with anyway
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
	p := who(c)
	said := make([]traveler.Said, len(in.Scans))
	for i := range in.Scans {
		if in.Scans[i].Device == "" && p.How == byStation {
			in.Scans[i].Device = s.deviceOf(p)
		}
		said[i] = traveler.Said{By: s.actor(p, in.Scans[i].Operator), Scan: in.Scans[i]}
	}
	answers, err := s.cfg.Desk.Scans(c.Context(), said)
	if err != nil {
		return err
	}
	out := make([]result, len(answers))
	for i := range answers {
		if answers[i].Err != nil && len(answers) == 1 {
			return answers[i].Err
		}
		out[i] = s.result(c, &answers[i])
	}
	return c.JSON(fiber.Map{"results": out})
}

func (s *Server) deviceOf(p principal) traveler.DeviceID {
	var row pass
	if ok, err := s.row(tableStations, p.Key, &row); err != nil || !ok {
		return ""
	}
	return traveler.DeviceID(row.Device)
}

func (s *Server) result(c *fiber.Ctx, a *traveler.Answer) result {
	r := result{ID: a.ID, Outcome: a.Outcome, Again: a.Again, Seq: a.Seq, Say: a.Say.Text(language(c)), Offer: a.Offer}
	if a.Err != nil {
		p := problemOf(c, a.Err)
		r.Outcome, r.Status, r.Field, r.Say = traveler.Refused, p.Status, p.Field, p.Detail
		return r
	}
	if r.Say == "" {
		r.Say = msg("web.kept").Text(language(c))
	}
	if a.Family != nil {
		if i := a.Family.Index(a.Card); i >= 0 {
			v := s.batchView(a.Family, i)
			for j := range v.Visits {
				v.Visits[j].Scans = nil // many, and the one who scans needs none
			}
			r.Now = &v
		}
	}
	return r
}
