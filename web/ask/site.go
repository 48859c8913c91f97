package ask

import (
	"time"

	"tallywalk/traveler"
	"tallywalk/traveler/ground"
	"tallywalk/traveler/story"
)

// Site is a shop of a group, whose record this server follows and only shows.
type Site struct {
	Name  string
	Desk  story.Desk
	Zone  func() *time.Location // the site's own
	State func() SiteState
}

// SiteState is how far the record of a site was followed.
type SiteState struct {
	Reached bool      // the site's engines answer
	AsOf    time.Time // when the record was last known to end where it is shown to; zero = not since the start
	Heard   time.Time // when a server of the site was heard last; zero = not since the start
	Servers int       // of the site that are heard now
	Behind  uint64    // messages of the record that are known of and not shown yet
	Wrong   []traveler.Msg
}

// Of is the house of a site, by the clocks of this one.
func (s *House) Of(site *Site) *House {
	return &House{
		Desk: site.Desk, Now: s.Now, Real: s.Real, Rand: s.Rand, Log: s.Log, Floors: &ground.Floors{},
		Zone:     site.Zone(),
		Language: s.Language, Currency: s.Currency, Version: s.Version, Pace: s.Pace,
	}
}
