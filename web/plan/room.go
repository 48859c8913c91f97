// Package plan answers and changes what the shop is made of: the plan of the floor,
// calendars, machines and routes.
package plan

import (
	"sync"

	"tallywalk/web/door"
)

type room struct {
	*door.Door
	drawing sync.Mutex // held while a picture is decoded: that takes memory
}
