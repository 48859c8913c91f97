package store

import (
	"time"

	"tallywalk/traveler"
	"tallywalk/traveler/calendar"
)

// release is a traveler.Release as it lies in the record.
type release struct {
	ID           string   `json:"i"`
	Part         string   `json:"p"`
	RouteRev     string   `json:"v"`
	Pieces       int      `json:"n"`
	Wanted       int      `json:"w,omitempty"`
	Due          *int64   `json:"d,omitempty"` // unix milliseconds
	WorksOrder   string   `json:"o,omitempty"`
	Customer     string   `json:"c,omitempty"`
	OrderLine    string   `json:"l,omitempty"`
	MaterialLots []string `json:"m,omitempty"`
	Priority     int      `json:"y,omitempty"`
	Released     *int64   `json:"r,omitempty"` // unix milliseconds
	Hot          bool     `json:"h,omitempty"`
	MakesUp      string   `json:"u,omitempty"`
}

// packRelease wants a release whose id is a UUID.
func packRelease(r *traveler.Release) *release {
	id, _ := packID(r.ID)
	return &release{
		ID: id, Part: r.Part, RouteRev: r.RouteRev, Pieces: r.Pieces, Wanted: r.Wanted, Due: maybeMS(r.Due),
		WorksOrder: r.WorksOrder, Customer: r.Customer, OrderLine: r.OrderLine,
		MaterialLots: NilIfEmpty(r.MaterialLots),
		Priority:     r.Priority, Released: maybeMS(r.Released), Hot: r.Hot, MakesUp: string(r.MakesUp),
	}
}

func (r *release) unpack() (*traveler.Release, error) {
	id, err := unpackID(r.ID)
	return &traveler.Release{
		ID: id, Part: r.Part, RouteRev: r.RouteRev, Pieces: r.Pieces, Wanted: r.Wanted, Due: maybeTime(r.Due),
		WorksOrder: r.WorksOrder, Customer: r.Customer, OrderLine: r.OrderLine,
		MaterialLots: NilIfEmpty(r.MaterialLots),
		Priority:     r.Priority, Released: maybeTime(r.Released), Hot: r.Hot,
		MakesUp: traveler.Code(r.MakesUp),
	}, err
}

func maybeMS(t time.Time) *int64 {
	if t.IsZero() {
		return nil
	}
	ms := t.UnixMilli()
	return &ms
}

func maybeTime(ms *int64) time.Time {
	if ms == nil {
		return time.Time{}
	}
	return fromMS(*ms)
}

// change is a traveler.Change as it lies in the record. Its parts have the
// fields of the domain's types, so that a field added there must be given a key
// here before it compiles.
type change struct {
	From     *int64    `json:"f,omitempty"` // unix milliseconds
	Machines []machine `json:"m,omitempty"`
	Routes   []route   `json:"r,omitempty"`
	Reasons  []reason  `json:"s,omitempty"`
	Layout   *layout   `json:"g,omitempty"`
	Hours    []hours   `json:"h,omitempty"`
}

type layout struct {
	Corners []corner `json:"c,omitempty"`
	Aisles  []aisle  `json:"a,omitempty"`
	Picture *picture `json:"p,omitempty"`
}

type corner struct {
	ID string  `json:"i"`
	X  float64 `json:"x,omitempty"`
	Y  float64 `json:"y,omitempty"`
}

type aisle struct {
	From   string  `json:"f"`
	To     string  `json:"t"`
	Metres float64 `json:"m,omitempty"`
}

type picture struct {
	Ref    string  `json:"r"`
	X      float64 `json:"x,omitempty"`
	Y      float64 `json:"y,omitempty"`
	Width  float64 `json:"w,omitempty"`
	Height float64 `json:"h,omitempty"`
}

type hours struct {
	Name  string `json:"n"`
	Zone  string `json:"z,omitempty"`
	Turns []turn `json:"t,omitempty"`
}

type turn struct {
	Kind calendar.Kind `json:"k"`
	Days string        `json:"w,omitempty"`
	Date string        `json:"d,omitempty"`
	From string        `json:"f,omitempty"`
	To   string        `json:"t,omitempty"`
}

type machine struct {
	ID          traveler.MachineID  `json:"i"`
	Code        traveler.Code       `json:"c,omitempty"`
	Name        string              `json:"n,omitempty"`
	WorkCentre  traveler.WorkCentre `json:"w,omitempty"`
	X           float64             `json:"x,omitempty"`
	Y           float64             `json:"y,omitempty"`
	Kind        string              `json:"k,omitempty"`
	RatePerHour float64             `json:"r,omitempty"`
	Calendar    string              `json:"l,omitempty"`
	Unattended  bool                `json:"u,omitempty"`
}

type reason struct {
	Kind string `json:"k"`
	Code string `json:"c"`
	Text string `json:"t,omitempty"`

	WorkCentres []traveler.WorkCentre `json:"w,omitempty"`
}

type route struct {
	Part       string      `json:"p"`
	PartName   string      `json:"n,omitempty"`
	DrawingRev string      `json:"d,omitempty"`
	Material   string      `json:"m,omitempty"`
	Rev        string      `json:"v"`
	Operations []operation `json:"o,omitempty"`
}

type operation struct {
	Number         traveler.Op         `json:"n"`
	WorkCentre     traveler.WorkCentre `json:"w,omitempty"`
	Instruction    string              `json:"i,omitempty"`
	SetupMin       float64             `json:"s,omitempty"`
	CycleMin       float64             `json:"c,omitempty"`
	LoadMin        float64             `json:"l,omitempty"`
	PiecesPerCycle int                 `json:"p,omitempty"`
	Yield          float64             `json:"y,omitempty"`
	Clampings      int                 `json:"k,omitempty"`
	FirstOff       bool                `json:"f,omitempty"`
	OutsideDays    float64             `json:"o,omitempty"`
	AddedOnFloor   bool                `json:"a,omitempty"`
}

func packChange(c *traveler.Change) *change {
	out := &change{From: maybeMS(c.From)}
	for _, m := range c.Machines {
		out.Machines = append(out.Machines, machine(m))
	}
	for i := range c.Routes {
		out.Routes = append(out.Routes, packRoute(&c.Routes[i]))
	}
	for _, r := range c.Reasons {
		out.Reasons = append(out.Reasons, reason(r))
	}
	if l := c.Layout; l != nil {
		out.Layout = &layout{Picture: (*picture)(l.Picture)}
		for _, x := range l.Corners {
			out.Layout.Corners = append(out.Layout.Corners, corner(x))
		}
		for _, x := range l.Aisles {
			out.Layout.Aisles = append(out.Layout.Aisles, aisle(x))
		}
	}
	for _, k := range c.Calendars {
		h := hours{Name: k.Name, Zone: k.Zone}
		for _, t := range k.Turns {
			h.Turns = append(h.Turns, turn(t))
		}
		out.Hours = append(out.Hours, h)
	}
	return out
}

func packRoute(r *traveler.Route) route {
	out := route{Part: r.Part, PartName: r.PartName, DrawingRev: r.DrawingRev, Material: r.Material,
		Rev: r.Rev}
	for _, o := range r.Operations {
		out.Operations = append(out.Operations, operation(o))
	}
	return out
}

func (c *change) unpack() *traveler.Change {
	out := &traveler.Change{From: maybeTime(c.From)}
	for _, m := range c.Machines {
		out.Machines = append(out.Machines, traveler.Machine(m))
	}
	for i := range c.Routes {
		out.Routes = append(out.Routes, c.Routes[i].unpack())
	}
	for _, r := range c.Reasons {
		out.Reasons = append(out.Reasons, traveler.Reason(r))
	}
	if l := c.Layout; l != nil {
		out.Layout = &traveler.Layout{Picture: (*traveler.Picture)(l.Picture)}
		for _, x := range l.Corners {
			out.Layout.Corners = append(out.Layout.Corners, traveler.Corner(x))
		}
		for _, x := range l.Aisles {
			out.Layout.Aisles = append(out.Layout.Aisles, traveler.Aisle(x))
		}
	}
	for _, h := range c.Hours {
		k := calendar.Calendar{Name: h.Name, Zone: h.Zone}
		for _, t := range h.Turns {
			k.Turns = append(k.Turns, calendar.Turn(t))
		}
		out.Calendars = append(out.Calendars, k)
	}
	return out
}

func (r *route) unpack() traveler.Route {
	out := traveler.Route{Part: r.Part, PartName: r.PartName, DrawingRev: r.DrawingRev, Material: r.Material,
		Rev: r.Rev}
	for _, o := range r.Operations {
		out.Operations = append(out.Operations, traveler.Operation(o))
	}
	return out
}
