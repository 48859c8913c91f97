package traveler

import (
	"maps"
	"slices"
	"sort"
	"sync"
	"time"

	"tallywalk/traveler/calendar"
)

// Machine is a machine or another place where batches are kept or handled.
type Machine struct {
	ID          MachineID  `json:"machine"`
	Code        Code       `json:"code"`
	Name        string     `json:"name"`
	WorkCentre  WorkCentre `json:"work_centre"`
	X           float64    `json:"x_m"`            // metres
	Y           float64    `json:"y_m"`            // metres
	Kind        string     `json:"kind,omitempty"` // machine, inspection, wash, stores, dock, outside, hand
	RatePerHour float64    `json:"rate_per_hour,omitempty"`
	Calendar    string     `json:"calendar,omitempty"`
	Unattended  bool       `json:"unattended,omitempty"`
}

// Reason is one of the shop's reasons: Kind says for what (scrap, rework,
// review, stop, wait, anyway). Those of kind ready are what must be there before an
// operation can begin; what is missing is why it waits.
type Reason struct {
	Kind string `json:"kind"`
	Code string `json:"reason"`
	Text string `json:"text"`
	// WorkCentres are those that need a thing of kind ready; empty = all.
	WorkCentres []WorkCentre `json:"work_centres,omitempty"`
}

// ReasonKinds says what there can be reasons for.
var ReasonKinds = []string{"scrap", "rework", "review", "stop", "wait", "anyway", ReasonReady}

// ReasonReady is the kind of what must be there before an operation can begin.
const ReasonReady = "ready"

// Change is a set of things of the shop that hold from a moment on. An empty
// part leaves what was there before.
type Change struct {
	From     time.Time `json:"from"`
	Machines []Machine `json:"machines,omitempty"`
	Routes   []Route   `json:"routes,omitempty"`
	Reasons  []Reason  `json:"reasons,omitempty"`
	// Layout is the whole of the aisles from then on; nil leaves what was.
	Layout    *Layout             `json:"layout,omitempty"`
	Calendars []calendar.Calendar `json:"calendars,omitempty"`
}

type dated[T any] struct {
	from time.Time
	val  T
}

// at returns the version that held at t; before the first one, the first.
func at[T any](versions []dated[T], t time.Time) (v T, ok bool) {
	if len(versions) == 0 {
		return v, false
	}
	i := sort.Search(len(versions), func(i int) bool { return versions[i].from.After(t) })
	return versions[max(0, i-1)].val, true
}

func put[T any](versions []dated[T], from time.Time, v T) []dated[T] {
	i := sort.Search(len(versions), func(i int) bool { return versions[i].from.After(from) })
	out := make([]dated[T], 0, len(versions)+1)
	out = append(out, versions[:i]...)
	out = append(out, dated[T]{from, v})
	return append(out, versions[i:]...)
}

// RouteKey names one route revision of a part.
type RouteKey struct{ Part, Rev string }

// Shop is what the shop is made of, with the dates from which each thing holds.
// The zero value is an empty shop. Change it with With; a Shop is never
// altered once it is handed out.
type Shop struct {
	machines map[MachineID][]dated[Machine]
	codes    map[Code]MachineID
	routes   map[RouteKey]Route
	drawings map[string][]dated[[]string]
	reasons  []dated[[]Reason]
	order    []MachineID
	layouts  []dated[Layout]
	grounds  []time.Time // when places or aisles changed, in order
	hours    map[string][]dated[hours]
	unions   *sync.Map // unionKey -> *calendar.Hours, worked out when first asked for
}

// With returns the shop after a change. The receiver stays as it was.
func (s *Shop) With(c *Change) *Shop {
	n := s.clone()
	for _, m := range c.Machines {
		if len(n.machines[m.ID]) == 0 {
			n.order = append(n.order, m.ID)
		}
		n.machines[m.ID] = put(n.machines[m.ID], c.From, m)
		n.codes[m.Code] = m.ID
	}
	for _, r := range c.Routes {
		n.routes[RouteKey{r.Part, r.Rev}] = r
	}
	for part, drawings := range drawingsOf(c.Routes) {
		n.drawings[part] = put(n.drawings[part], c.From, drawings)
	}
	if len(c.Reasons) > 0 {
		n.reasons = put(n.reasons, c.From, c.Reasons)
	}
	n.relay(c)
	for i := range c.Calendars {
		n.hours[c.Calendars[i].Name] = put(n.hours[c.Calendars[i].Name], c.From, newHours(&c.Calendars[i]))
	}
	return n
}

func (s *Shop) clone() *Shop {
	if s == nil {
		s = &Shop{}
	}
	n := &Shop{
		machines: map[MachineID][]dated[Machine]{},
		codes:    map[Code]MachineID{},
		routes:   map[RouteKey]Route{},
		drawings: map[string][]dated[[]string]{},
		reasons:  s.reasons,
		order:    slices.Clone(s.order),
		layouts:  s.layouts,
		grounds:  slices.Clone(s.grounds),
		hours:    map[string][]dated[hours]{},
		unions:   &sync.Map{},
	}
	maps.Copy(n.machines, s.machines)
	maps.Copy(n.codes, s.codes)
	maps.Copy(n.routes, s.routes)
	maps.Copy(n.drawings, s.drawings)
	maps.Copy(n.hours, s.hours)
	return n
}

// Machine returns the machine as it was at t.
func (s *Shop) Machine(id MachineID, t time.Time) (Machine, bool) {
	return at(s.machines[id], t)
}

// Machines lists the machines as they were at t, in the order they came.
func (s *Shop) Machines(t time.Time) []Machine {
	out := make([]Machine, 0, len(s.order))
	for _, id := range s.order {
		m, _ := at(s.machines[id], t)
		out = append(out, m)
	}
	return out
}

// Working hands on the machines of a work centre as they were at t: those that
// [Shop.CanWork] reports.
func (s *Shop) Working(wc WorkCentre, t time.Time, take func(*Machine)) {
	for _, id := range s.order {
		if m, ok := at(s.machines[id], t); WorkCentre(id) == wc || ok && m.WorkCentre == wc {
			take(&m)
		}
	}
}

// FindMachine finds a machine by its code or short name.
func (s *Shop) FindMachine(ref string) (MachineID, bool) {
	if _, ok := s.machines[MachineID(ref)]; ok {
		return MachineID(ref), true
	}
	if r := ParseRef(ref); r.Code.Kind() == KindMachine {
		id, ok := s.codes[r.Code]
		return id, ok
	}
	return "", false
}

// Route returns one route revision of a part.
func (s *Shop) Route(part, rev string) (Route, bool) {
	r, ok := s.routes[RouteKey{part, rev}]
	return r, ok
}

// Routes lists all route revisions, sorted by part and revision.
func (s *Shop) Routes() []Route {
	out := make([]Route, 0, len(s.routes))
	for _, r := range s.routes {
		out = append(out, r)
	}
	sort.Slice(out, func(i, j int) bool {
		if out[i].Part != out[j].Part {
			return out[i].Part < out[j].Part
		}
		return out[i].Rev < out[j].Rev
	})
	return out
}

// Superseded reports whether another drawing of the part than the given one is
// in force at t, and which. A change puts all drawings of its routes of a part
// in force together and takes the part's earlier ones out of force.
func (s *Shop) Superseded(part, drawing string, t time.Time) (by string, yes bool) {
	v := s.drawings[part]
	if drawing == "" || len(v) == 0 || v[0].from.After(t) {
		return "", false
	}
	inForce, _ := at(v, t)
	if slices.Contains(inForce, drawing) {
		return "", false
	}
	return inForce[len(inForce)-1], true
}

func drawingsOf(routes []Route) map[string][]string {
	out := map[string][]string{}
	for _, r := range routes {
		if r.DrawingRev != "" && !slices.Contains(out[r.Part], r.DrawingRev) {
			out[r.Part] = append(out[r.Part], r.DrawingRev)
		}
	}
	return out
}

// Reasons lists the reasons of one kind that hold at t.
func (s *Shop) Reasons(kind string, t time.Time) []Reason {
	all, _ := at(s.reasons, t)
	var out []Reason
	for _, r := range all {
		if r.Kind == kind {
			out = append(out, r)
		}
	}
	return out
}

// Things lists what must be there before work can begin at a work centre, as the shop's
// list had it at t; none where the shop has no such list.
func (s *Shop) Things(wc WorkCentre, t time.Time) []Reason {
	return slices.DeleteFunc(s.Reasons(ReasonReady, t), func(r Reason) bool {
		return len(r.WorkCentres) > 0 && !slices.Contains(r.WorkCentres, wc)
	})
}

// CanWork reports whether a machine does the work of a work centre: it belongs
// to it, or the route names the machine itself.
func (s *Shop) CanWork(id MachineID, wc WorkCentre, t time.Time) bool {
	if WorkCentre(id) == wc {
		return true
	}
	m, ok := s.Machine(id, t)
	return ok && m.WorkCentre == wc
}
