package desk

import (
	"tallywalk/traveler"
	"tallywalk/traveler/story"
)

// changes notes which families of the shown floor came, changed or left, each
// with the next version of the floor; the oldest are forgotten. The desk's lock
// guards it.
type changes struct {
	from  uint64 // version that the first of roots came after
	roots []traveler.Code
}

// changesKept is how many are at least remembered.
const changesKept = 4096

func newChanges() changes { return changes{from: 1} }

func (c *changes) version() uint64 { return c.from + uint64(len(c.roots)) }

func (c *changes) note(root traveler.Code) {
	c.roots = append(c.roots, root)
	if old := len(c.roots) - changesKept; old >= changesKept {
		c.roots, c.from = append(c.roots[:0], c.roots[old:]...), c.from+uint64(old)
	}
}

// forget makes every version before one that may have changed everywhere.
func (c *changes) forget() { c.from, c.roots = c.version()+1, c.roots[:0] }

// since lists what came after a version; false when that is not known any more.
func (c *changes) since(version uint64) ([]traveler.Code, bool) {
	if version < c.from || version > c.version() {
		return nil, false
	}
	return c.roots[version-c.from:], true
}

// ChangedSince gives the families that changed after a version of the floor; see
// story.Desk.
func (d *Desk) ChangedSince(version uint64) (families map[traveler.Code]*story.Family, now uint64, ok bool) {
	d.mu.RLock()
	defer d.mu.RUnlock()
	now = d.moved.version()
	roots, ok := d.moved.since(version)
	if len(roots) == 0 {
		return nil, now, ok
	}
	families = make(map[traveler.Code]*story.Family, len(roots))
	for _, root := range roots {
		families[root] = nil
		if t := d.shown.families[root]; t != nil {
			families[root] = t.f
		}
	}
	return families, now, true
}
