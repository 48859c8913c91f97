package board

import (
	"time"

	"tallywalk/traveler"
	"tallywalk/traveler/ground"
)

// Plan is the plan of the floor.
type Plan struct {
	Corners []traveler.Corner  `json:"corners"`
	Aisles  []traveler.Aisle   `json:"aisles"`
	Picture *traveler.Picture  `json:"picture"`
	By      ground.Basis       `json:"by"` // how walks are measured
	Places  []traveler.Machine `json:"places,omitempty"`
	Next    time.Time          `json:"next,omitzero"` // when the ground changes again, where that is known already
}

func PlanOf(shop *traveler.Shop, at time.Time) Plan {
	l := shop.Layout(at)
	v := Plan{Corners: l.Corners, Aisles: l.Aisles, Picture: l.Picture, By: ground.Rectangular}
	if v.Corners == nil {
		v.Corners = []traveler.Corner{}
	}
	if v.Aisles == nil {
		v.Aisles = []traveler.Aisle{}
	}
	if len(v.Aisles) > 0 {
		v.By = ground.Aisles
	}
	return v
}
