package live

import (
	"slices"
	"strings"
	"time"

	"tallywalk/traveler"
	"tallywalk/traveler/board"
	"tallywalk/traveler/calendar"
)

// centre is a work centre as the boards' heads show it.
type centre struct {
	WorkCentre traveler.WorkCentre `json:"work_centre"`
	Hours      string              `json:"hours,omitempty"` // key of its open hours; none = always open
	Usual      board.UsualWait     `json:"usual,omitzero"`  // wait before it; none = nobody waited yet
	Machines   []centreMachine     `json:"machines"`
}

type centreMachine struct {
	Machine    traveler.MachineID `json:"machine"`
	Name       string             `json:"name"`
	Kind       string             `json:"kind,omitempty"`
	Calendar   string             `json:"calendar,omitempty"`
	Unattended bool               `json:"unattended,omitempty"`
}

// centresOf lists the work centres; calendar says that some machine has one.
func centresOf(
	shop *traveler.Shop, usual map[traveler.WorkCentre]board.UsualWait, now time.Time,
) (out []centre, calendar bool) {
	out = []centre{}
	at := map[traveler.WorkCentre]int{}
	for _, m := range shop.Machines(now) {
		i, ok := at[m.WorkCentre]
		if !ok {
			i = len(out)
			at[m.WorkCentre] = i
			out = append(out,
				centre{WorkCentre: m.WorkCentre, Hours: hoursKey(shop, m.WorkCentre, now),
					Usual: usual[m.WorkCentre]})
		}
		out[i].Machines = append(out[i].Machines,
			centreMachine{m.ID, m.Name, m.Kind, m.Calendar, m.Unattended})
		calendar = calendar || shop.Hours(m.ID, now) != nil
	}
	return out, calendar
}

// hoursKey names the open hours of a work centre by its machines' calendars;
// empty = always open.
func hoursKey(shop *traveler.Shop, wc traveler.WorkCentre, now time.Time) string {
	if shop.CentreHours(wc, now) == nil {
		return ""
	}
	var names []string
	for _, m := range shop.Machines(now) {
		if shop.CanWork(m.ID, wc, now) && !slices.Contains(names, m.Calendar) {
			names = append(names, m.Calendar)
		}
	}
	slices.Sort(names)
	return strings.Join(names, "+")
}

// How far back, and ahead, the pages get the open hours, so that they can
// count waits in working time on their own.
const (
	hoursBack  = 14
	hoursMost  = 400 // days back, for what waits long
	hoursAhead = 3
)

// openHours is when something is open: pairs of Unix seconds, from From on.
type openHours struct {
	From  int64      `json:"from"`
	Spans [][2]int64 `json:"spans"`
}

// hours gives the open hours of all work centres as far back as anything waits.
func (h *hub) hours(now time.Time, rows []board.Row) map[string]openHours {
	from := now.AddDate(0, 0, -hoursBack)
	for i := range rows {
		if rows[i].Since.Before(from) {
			from = rows[i].Since
		}
	}
	if most := now.AddDate(0, 0, -hoursMost); from.Before(most) {
		from = most
	}
	out := map[string]openHours{}
	for _, m := range h.shop.Machines(now) {
		key := hoursKey(h.shop, m.WorkCentre, now)
		if _, done := out[key]; done || key == "" {
			continue
		}
		out[key] = hoursFrom(h.shop.CentreHours(m.WorkCentre, now), from, now)
	}
	return out
}

// paceHours gives the open hours of every calendar that a machine keeps, as far
// back as anything that goes on was last scanned.
func (h *hub) paceHours(now time.Time) map[string]openHours {
	from := now.AddDate(0, 0, -hoursBack)
	for _, k := range h.families {
		for i := range k.nows {
			if at := k.nows[i].At; at.Before(from) {
				from = at
			}
		}
	}
	if most := now.AddDate(0, 0, -hoursMost); from.Before(most) {
		from = most
	}
	out := map[string]openHours{}
	for _, m := range h.shop.Machines(now) {
		hours := h.shop.Hours(m.ID, now)
		if _, done := out[m.Calendar]; done || hours == nil {
			continue
		}
		out[m.Calendar] = hoursFrom(hours, from, now)
	}
	return out
}

func hoursFrom(hours *calendar.Hours, from, now time.Time) openHours {
	o := openHours{From: from.Unix(), Spans: [][2]int64{}}
	for _, s := range hours.Spans(from, now.AddDate(0, 0, hoursAhead)) {
		o.Spans = append(o.Spans, [2]int64{s.From.Unix(), s.To.Unix()})
	}
	return o
}
