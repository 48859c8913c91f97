package compare

import (
	"cmp"
	"math/rand/v2"
	"slices"

	"tallywalk/traveler"
	"tallywalk/traveler/stat"
	"tallywalk/traveler/story"
	"tallywalk/traveler/study"
	"tallywalk/web/ask"
	"tallywalk/web/door"
)

// Sites compares routes of one part between sites.
type Sites struct {
	names []string
	rooms []*room
}

// NewSites is for the sites of a server that mirrors their records.
func NewSites(d *door.Door, sites []ask.Site) *Sites {
	v := &Sites{}
	for i := range sites {
		v.names = append(v.names, sites[i].Name)
		v.rooms = append(v.rooms, &room{Door: &door.Door{House: d.Of(&sites[i])}})
	}
	return v
}

// siteRoute is a route while it is compared.
type siteRoute struct {
	study.SiteRoute
	samples *study.Samples
}

// Of lays the routes of a part beside each other, at most mostCompared of a site: those
// that were measured, with the most batches first, else the newest. It fails with
// KindInvalid for a part that no site has, and as the desks do.
func (s *Sites) Of(part string, size int) (*study.BySite, error) {
	if part == "" {
		return nil, traveler.Invalid("part", "form.missing")
	}
	if size < 0 || size > mostSize {
		return nil, traveler.Invalid("size", "release.pieces", "100000")
	}
	if size == 0 {
		size = s.usualSize(part)
	}
	v := &study.BySite{Part: part, Size: size, Few: study.Few, Routes: []study.SiteRoute{}}
	var routes []siteRoute
	for i, room := range s.rooms {
		at, err := room.siteRoutes(s.names[i], part, size)
		if err != nil {
			return nil, err
		}
		routes = append(routes, at...)
	}
	if len(routes) == 0 {
		return nil, traveler.Invalid("part", "sites.part", part)
	}
	for i := range routes {
		if i > 0 {
			routes[i].Against = against(&routes[0], &routes[i], size)
		}
		v.Routes = append(v.Routes, routes[i].SiteRoute)
	}
	return v, nil
}

// usualSize is the median of the batches of a part at all sites; 50 when there are none.
func (s *Sites) usualSize(part string) int {
	var sizes []float64
	for _, room := range s.rooms {
		sizes = append(sizes, room.sizesOf(part)...)
	}
	return usualOf(sizes)
}

// siteRoutes are those of a part at a site.
func (s *room) siteRoutes(site, part string, size int) (out []siteRoute, err error) {
	in := compareAsk{Part: part, Size: size}
	for _, r := range s.Desk.Shop().Routes() {
		if r.Part == part {
			in.Routes = append(in.Routes, routeAsk{RouteRev: r.Rev})
		}
	}
	if len(in.Routes) == 0 {
		return nil, nil
	}
	st, err := s.study(&in)
	if err != nil {
		return nil, err
	}
	for i := range in.Routes {
		r, samples, err := st.route(&in.Routes[i])
		if err != nil {
			return nil, err
		}
		view := st.routeView(r, &in.Routes[i])
		out = append(out, siteRoute{study.SiteRouteOf(site, &view), samples})
	}
	slices.Reverse(out) // the newest first, among those of as many batches
	slices.SortStableFunc(out, func(a, b siteRoute) int { return cmp.Compare(b.Batches, a.Batches) })
	return out[:min(mostCompared, len(out))], nil
}

// against is how a route stands to the first one: what of it can be compared without money.
func against(first, other *siteRoute, size int) []study.SiteCompare {
	var figures []study.Figure
	var names []string
	for _, f := range compared {
		if f.name != "cost" {
			figures, names = append(figures, f.figure), append(names, f.name)
		}
	}
	// The same question gets the same answer.
	rng := rand.New(rand.NewPCG(uint64(size), uint64(first.Batches+other.Batches)))
	out := []study.SiteCompare{}
	for k, x := range study.Compare(first.samples, other.samples, figures, float64(size), &study.Costs{},
		resamples, rng) {
		d := study.SiteCompare{Figure: names[k], Difference: estimateOf(x.Difference)}
		if d.Figure == "yield" {
			d.Difference.Within(-1, 1)
		}
		out = append(out, d)
	}
	return out
}

// sizesOf are the pieces started in the batches of a part.
func (s *room) sizesOf(part string) (sizes []float64) {
	_ = s.Desk.Facts(story.FactQuery{Part: part, Open: true, Bare: true}, func(b *story.BatchFact) bool {
		sizes = append(sizes, float64(b.Started))
		return true
	})
	return sizes
}

// usualOf is the median of sizes of batches; 50 when there are none.
func usualOf(sizes []float64) int {
	if len(sizes) == 0 {
		return 50
	}
	slices.Sort(sizes)
	return max(1, int(stat.Median(sizes)))
}
