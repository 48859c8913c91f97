package door

import (
	"slices"
	"sync"
	"time"

	"github.com/gofiber/fiber/v2"

	"tallywalk/traveler"
	"tallywalk/traveler/rows"
)

// silentAfter is how long a station says nothing before what is known of its
// machines is provisional: it asks every few seconds, while its page is open.
const silentAfter = 5 * time.Minute

// contactsMost is how many stations and machines are remembered at once.
const contactsMost = 4096

// contacts remembers when stations last asked about which machine. It is safe for
// concurrent use, and begins again with the server.
type contacts struct {
	mu   sync.Mutex
	last map[contact]time.Time // by the shop's clock
}

// contact is a station, by the key of its pass, at a machine.
type contact struct {
	key     string
	machine traveler.MachineID
}

// Heard notes that a station asked about a machine.
func (s *Door) Heard(c *fiber.Ctx, machine traveler.MachineID) {
	p := Who(c)
	if p.How != ByStation {
		return
	}
	s.contacts.mu.Lock()
	defer s.contacts.mu.Unlock()
	if s.contacts.last == nil || len(s.contacts.last) >= contactsMost {
		s.contacts.last = map[contact]time.Time{}
	}
	s.contacts.last[contact{p.Key, machine}] = s.Time()
}

// Silent is a station that has not been heard of, and may hold scans of a machine
// that it has not sent.
type Silent struct {
	Machine traveler.MachineID `json:"machine"`
	Station string             `json:"station"`
	Since   time.Time          `json:"since"`
}

// SilentAt lists the stations that were at one of some machines when they were last
// heard of, five minutes ago or longer. What is not known, since the server was
// started meanwhile, is not there. It fails as the tables do.
func (s *Door) SilentAt(machines []traveler.MachineID) ([]Silent, error) {
	late := s.lateContacts(machines)
	if len(late) == 0 {
		return nil, nil
	}
	stations, err := rows.All[pass](s.Tables, tableStations)
	if err != nil {
		return nil, err
	}
	var out []Silent
	for at, since := range late {
		if p, there := stations[at.key]; there { // else it was removed, and its scans stay where they are
			out = append(out, Silent{at.machine, p.Name, since})
		}
	}
	slices.SortFunc(out, func(a, b Silent) int { return a.Since.Compare(b.Since) })
	return out, nil
}

// lateContacts are the last contacts that are long ago. A station that was heard of
// at another machine since has sent what it held of all.
func (s *Door) lateContacts(machines []traveler.MachineID) map[contact]time.Time {
	s.contacts.mu.Lock()
	defer s.contacts.mu.Unlock()
	last := map[string]time.Time{}
	for at, when := range s.contacts.last {
		if when.After(last[at.key]) {
			last[at.key] = when
		}
	}
	out, now := map[contact]time.Time{}, s.Time()
	for at, when := range s.contacts.last {
		if slices.Contains(machines, at.machine) && now.Sub(last[at.key]) >= silentAfter &&
			last[at.key].Sub(when) < silentAfter {
			out[at] = when
		}
	}
	return out
}
