// Package plan answers and changes what the shop is made of: the plan of the floor,
// calendars, machines and routes.
package plan

import (
	"sync"

	"tallywalk/traveler"
	"tallywalk/web/ask"
	"tallywalk/web/door"
)

type room struct {
	*door.Door
	drawing sync.Mutex // held while a picture is decoded: that takes memory
}

// Routes are the ways to what the shop is made of.
func Routes(d *door.Door) []ask.Route {
	s := &room{Door: d}
	return []ask.Route{
		{Method: "GET", Path: "/api/v1/ground/plan", Deed: traveler.DeedLook, Handle: s.getPlan},
		{Method: "POST", Path: "/api/v1/ground/plan", Deed: traveler.DeedPlan, Handle: s.postPlan},
		{Method: "POST", Path: "/api/v1/ground/pictures", Deed: traveler.DeedPlan, Handle: s.postPicture},
		{Method: "GET", Path: "/api/v1/ground/pictures/:ref", Deed: traveler.DeedLook, Handle: s.getPicture},
		{Method: "GET", Path: "/api/v1/calendars", Deed: traveler.DeedLook, Handle: s.getCalendars},
		{Method: "POST", Path: "/api/v1/calendars", Deed: traveler.DeedPlan, Handle: s.postCalendar},
		{Method: "POST", Path: "/api/v1/machines", Deed: traveler.DeedPlan, Handle: s.postMachine},
		{Method: "POST", Path: "/api/v1/routes", Deed: traveler.DeedPlan, Handle: s.postRoute},
	}
}
