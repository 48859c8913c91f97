package sites

import (
	"maps"
	"slices"

	"github.com/gofiber/fiber/v2"

	"tallywalk/web/ask"
)

// sitePartsView is the parts that can be compared.
type sitePartsView struct {
	Parts []sitePart `json:"parts"`
}

// sitePart is a part, and which sites have a route of it.
type sitePart struct {
	Part  string   `json:"part"`
	Name  string   `json:"name,omitempty"`
	Sites []string `json:"sites"`
}

// getParts answers the parts that sites have routes of, those of several sites first.
func (s *room) getParts(c *fiber.Ctx) error {
	parts := map[string]*sitePart{}
	for i := range s.Sites {
		site := &s.Sites[i]
		for _, r := range site.Desk.Shop().Routes() {
			p := parts[r.Part]
			if p == nil {
				p = &sitePart{Part: r.Part, Name: r.PartName}
				parts[r.Part] = p
			}
			if !slices.Contains(p.Sites, site.Name) {
				p.Sites = append(p.Sites, site.Name)
			}
		}
	}
	v := sitePartsView{Parts: []sitePart{}}
	for _, name := range slices.Sorted(maps.Keys(parts)) {
		v.Parts = append(v.Parts, *parts[name])
	}
	slices.SortStableFunc(v.Parts, func(a, b sitePart) int { return len(b.Sites) - len(a.Sites) })
	return c.JSON(v)
}

// getCompare answers the routes of one part at all sites.
func (s *room) getCompare(c *fiber.Ctx) error {
	size, err := ask.QueryInt(c, "size", 0)
	if err != nil {
		return err
	}
	v, err := s.Compare(c.Query("part"), size)
	if err != nil {
		return err
	}
	return c.JSON(v)
}
