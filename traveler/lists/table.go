package lists

import (
	"strconv"
	"strings"

	"tallywalk/traveler"
	"tallywalk/traveler/intake"
	"tallywalk/traveler/people"
)

// Table is a list as it stands now, as it would be imported: cells in the order of
// intake.Columns. Of routes it is that of one part, or of one revision of it; of batches
// there is none, since they are released. It fails as the tables do.
func (s *Room) Table(kind, part, rev string) ([][]string, error) {
	now, shop := s.Now(), s.Desk.Shop()
	out := [][]string{}
	switch kind {
	case "machines":
		for _, m := range shop.Machines(now) {
			out = append(out, []string{
				string(m.ID), m.Name, string(m.WorkCentre), number(m.X), number(m.Y), m.Kind,
				some(m.RatePerHour), m.Calendar, yes(m.Unattended),
			})
		}
	case "reasons":
		for _, kind := range traveler.ReasonKinds {
			for _, x := range shop.Reasons(kind, now) {
				out = append(out, []string{x.Kind, x.Code, x.Text, centres(x.WorkCentres)})
			}
		}
	case "people":
		all, err := people.All(s.Tables)
		if err != nil {
			return nil, err
		}
		for _, p := range all {
			out = append(out, []string{string(p.ID), p.Name, string(p.Role), ""}) // a badge is as good as a password
		}
	case "calendars":
		for _, k := range shop.Calendars(now) {
			for _, t := range k.Turns {
				out = append(out, []string{k.Name, string(t.Kind), t.Days, t.Date, t.From, t.To, k.Zone})
			}
		}
	case "routes":
		for _, r := range shop.Routes() {
			if r.Part == part && (rev == "" || r.Rev == rev) {
				out = append(out, routeRows(&r)...)
			}
		}
	}
	return out, nil
}

func routeRows(r *traveler.Route) (out [][]string) {
	for i := range r.Operations {
		o := &r.Operations[i]
		out = append(out, []string{
			r.Part, r.PartName, r.DrawingRev, r.Material, r.Rev, o.Number.String(), string(o.WorkCentre),
			o.Instruction,
			number(o.SetupMin), number(o.CycleMin), some(o.LoadMin), num(o.PiecesPerCycle), some(o.Yield),
			num(o.Clampings),
			yes(o.FirstOff), some(o.OutsideDays),
		})
	}
	return out
}

// centres are work centres in one cell.
func centres(all []traveler.WorkCentre) string {
	texts := make([]string, len(all))
	for i, wc := range all {
		texts[i] = string(wc)
	}
	return strings.Join(texts, ", ")
}

// Head is the header of a list.
func Head(kind string) (out []string) {
	for _, c := range intake.Columns(kind) {
		out = append(out, c.Name)
	}
	return out
}

func number(x float64) string { return strconv.FormatFloat(x, 'f', -1, 64) }

// some leaves nought out, which a list says by saying nothing.
func some(x float64) string {
	if x == 0 {
		return ""
	}
	return number(x)
}

func yes(v bool) string {
	if v {
		return "yes"
	}
	return ""
}
