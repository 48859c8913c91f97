package ask

import (
	"io"
	"log/slog"
	"time"

	"tallywalk/traveler"
	"tallywalk/traveler/ground"
	"tallywalk/traveler/measure"
	"tallywalk/traveler/story"
)

// House is what every room of the server works with: the desk, the clocks, and
// what the shop fixed once. All fields are set before it serves and stay.
type House struct {
	Desk   story.Desk
	Tables story.Tables
	Now    func() time.Time // the shop's clock
	Real   func() time.Time // for deadlines: the demo's Now runs faster
	Rand   io.Reader        // for tokens and codes
	Log    *slog.Logger
	Floors *ground.Floors // plans of the floor that were worked out already

	Open      bool   // the demo: nobody signs in, everybody may do everything
	Secure    bool   // a proxy speaks TLS for this server: cookies say so
	PublicURL string // as printed on the cards
	Zone      *time.Location
	Language  string // the shop's, for those who say none; empty is English
	Currency  string // of rates and costs, ISO 4217
	Version   string
	Pace      float64  // how fast Now runs; 1 is as fast as Real
	Boards    []string // the live boards by name; the first is the usual one
	// Servers knows those that keep the record together; nil where one file does.
	Servers story.Servers
	// Sites says that this server shows the records of several sites, and has no shop.
	Sites bool
	// EntryURL is where a device begins that may not trust the server yet: over plain
	// HTTP, where the server's authority is its own.
	EntryURL string
}

// Meter measures visits and batches by the shop as it is now.
func (s *House) Meter() *measure.Meter {
	return &measure.Meter{Shop: s.Desk.Shop(), Floors: s.Floors, Now: s.Time()}
}

// HoldsFrom is the moment from which a change holds: the beginning of a date in the
// shop's zone, or now where none is named. It fails with KindInvalid where the text
// is no date such as 2026-11-25.
func (s *House) HoldsFrom(date string) (time.Time, error) {
	if date == "" {
		return s.Time(), nil
	}
	t, err := s.Midnight("from", date, 0)
	return t.UTC(), err
}

// Midnight is the beginning of a date in the shop's zone, so many days on. It fails
// with KindInvalid, and names the field, where the text is no date such as
// 2026-11-25.
func (s *House) Midnight(field, date string, days int) (time.Time, error) {
	t, err := time.ParseInLocation(time.DateOnly, date, s.Zone)
	if err != nil {
		return t, traveler.Invalid(field, "web.date", date)
	}
	return t.AddDate(0, 0, days), nil
}

// ZoneName is the shop's zone by its name; empty when it is only known as this
// computer's own, and a page then takes its own too.
func ZoneName(z *time.Location) string {
	if z == time.Local {
		return ""
	}
	return z.String()
}

// Time is the server's clock in whole milliseconds, UTC.
func (s *House) Time() time.Time { return s.Now().UTC().Truncate(time.Millisecond) }

// FamilyOf finds a batch by what was scanned or typed, as its family and its place
// there. It fails with KindNotFound where there is none, with KindConflict where a
// works order means several, and as the desk does.
func (s *House) FamilyOf(ref string) (*story.Family, int, error) {
	cards := s.Desk.FindCard(ref)
	if len(cards) > 1 {
		return nil, 0, traveler.Fail(traveler.KindConflict, "card.several", ref, joinCodes(cards))
	}
	if len(cards) == 0 {
		return nil, 0, traveler.Fail(traveler.KindNotFound, "card.unknown", ref)
	}
	f, err := s.Desk.Family(cards[0])
	if err != nil {
		return nil, 0, err
	}
	i := f.Index(cards[0])
	if i < 0 {
		return nil, 0, traveler.Fail(traveler.KindNotFound, "card.unknown", ref)
	}
	return f, i, nil
}

func joinCodes(cards []traveler.Code) string {
	s := ""
	for i, c := range cards {
		if i > 0 {
			s += ", "
		}
		s += string(c)
	}
	return s
}
