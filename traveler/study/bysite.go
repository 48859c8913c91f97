package study

// BySite is the routes of one part at several sites, side by side, without money: sites
// may reckon in different currencies.
type BySite struct {
	Part   string      `json:"part"`
	Size   int         `json:"size"` // pieces started in a batch
	Few    int         `json:"few"`  // batches, below which a route's own times are those planned
	Routes []SiteRoute `json:"routes"`
}

// SiteRoute is a route at a site, as its own comparison gives it.
type SiteRoute struct {
	Site     string        `json:"site"`
	RouteRev string        `json:"route_rev"`
	Batches  int           `json:"batches"` // that it was measured with
	Sizes    []int         `json:"sizes"`   // smallest and largest of them; empty = none
	Values   int           `json:"values"`  // set-up times, piece times and yields of its operations
	Guessed  int           `json:"planned"` // of those that are planned, not measured
	EachMin  *float64      `json:"each_min"`
	SetUpMin float64       `json:"setup_min"`
	Yield    float64       `json:"yield"` // along the route
	LeadH    float64       `json:"lead_h"`
	LeadIs   Source        `json:"lead_is"` // measured, or planned: work and waits added up
	Parts    []SiteStep    `json:"operations"`
	Against  []SiteCompare `json:"against"` // how it stands to the first route; empty for that one
}

// SiteStep is an operation of such a route.
type SiteStep struct {
	Operation  int    `json:"operation"`
	WorkCentre string `json:"work_centre"`
	SetUp      Value  `json:"setup_min"`
	Piece      Value  `json:"piece_min"`
	Yield      Value  `json:"yield"`
}

// SiteCompare is a figure less that of the first route.
type SiteCompare struct {
	Figure     string        `json:"figure" api:"enum=minutes|yield|setup"`
	Difference ComparedValue `json:"difference"`
}

// SiteRouteOf takes a route of a site's comparison without its money.
func SiteRouteOf(site string, r *ComparedRoute) SiteRoute {
	from := r.Sources()
	v := SiteRoute{
		Site: site, RouteRev: r.RouteRev, Batches: r.Batches, Sizes: r.Sizes, Guessed: r.guessed(),
		EachMin:  r.Result.EachMin,
		SetUpMin: r.Result.SetUpMin, Yield: r.Result.Yield, LeadH: r.Result.LeadH, LeadIs: r.Result.LeadIs,
		Parts: []SiteStep{}, Against: []SiteCompare{},
	}
	for _, n := range from {
		v.Values += n
	}
	for i := range r.Steps {
		s := &r.Steps[i]
		v.Parts = append(v.Parts, SiteStep{int(s.Operation), string(s.WorkCentre), s.SetUp, s.Piece, s.Yield})
	}
	return v
}
