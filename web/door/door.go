// Package door says who comes in and to what: it looks at every request first,
// knows who asks by session, token, station or screen, and slows guessing down.
//
// # Decisions, with their reasons
//
//   - Badges at a station give the scan their role; tokens and accounts keep their own.
//     A badge is no password: it opens floor actions only, never accounts or imports;
//     and a clock number, which anybody can guess, lends no role.
//   - A badge's code ends at the door. A scan is kept with the number of the person and
//     with the role that the badge lent, so nothing that reads the record meets a
//     credential. Records from before hold codes: Badges reads them as numbers in every
//     answer and export, and a scan that was kept with the code is found again when it
//     is sent with either. A note that held a code is another text in an export; it
//     alone is not recognised when that is imported where it came from.
//   - A replaced badge is kept, as a replaced one: it says whose old scans are, lends no
//     role, and never becomes another's.
//   - A device counts for itself only. The count of a device bounds the times of its
//     scans, so a station's is taken from its own credential; what a program or an
//     account calls its device is kept within its name ("cell 3/press").
//   - No body is taken in an encoding, and its limit is set from the header, before it
//     is read: what a few kilobytes unpack to has no limit.
//   - Guesses are counted by address, the first of each is free, and those who guess
//     hash one after the other: so a flood costs little, and locks nobody out from
//     elsewhere; an address from which someone has signed in goes first. A name is
//     locked for the guessing address only.
//   - Who was let in is remembered for a quarter of a second (web/door/passes.go): a
//     write through the server ends that at once, a command that writes beside it is
//     known well within the second.
//   - A session belongs to an account, not to a name: each account has an ID, new with
//     each password. Sockets look twice a second whether they would be let in now, since
//     what is removed by a command is not seen otherwise.
//   - A wall screen gets what boards are drawn with (forScreens in web/door/who.go), not
//     all that a watcher may look at: its link hangs where everybody can copy it. An
//     address that a board needs goes on that list.
//   - Nobody but the importer is called import, in any case: what goes by that name
//     counts as imported.
//   - A device whose server does not answer asks another one of the record from the page that
//     it has: the origins of the record's servers, and no others, are let in on the ways that
//     stations and wall screens need (crossing.go). Cookies count for nothing there, so that a
//     page of one server can do nothing in the name of someone at another; the device shows a
//     pass of its own, which opens those ways alone, only over the kind of connection that it
//     was given over, and ends with the device. A server that is down stays one of the record's
//     for thirty days: the pages that devices keep are of its origin.
//   - Cookies given over TLS and over plain HTTP have different names: what crossed the
//     network in the clear opens nothing over TLS, and a station is a device of one origin.
//   - Who comes in, who is refused and who is not allowed is logged by the ID of the
//     account, the beginning of the pass's hash, and the address; never by name, since
//     the log goes where the shop's names must not, and nothing that was typed, since a
//     password may stand in the field of the name. What is turned away for asking too
//     often is not logged: a flood must not fill the disk.
//   - Hosts written as numbers are always ours. DNS rebinding needs a name.
package door

import (
	"net/netip"
	"sync"

	"github.com/gofiber/fiber/v2"

	"tallywalk/web/ask"
)

// Door is the way in. It is safe for concurrent use.
type Door struct {
	*ask.House
	hosts   hostRule
	letIn   passes
	tries   tries
	once    sync.Mutex // held while a one-time code is looked up and taken
	signIns gate
	guesses gate // of one-time codes
	hashing turns
	proxies map[netip.Addr]bool

	contacts contacts
	servers  servers
}

// New makes the door of a house. hosts are names that the server goes by beside
// that of its public URL, proxies those whose X-Forwarded-For is believed. The
// house gets tables whose writes the door hears of.
func New(h *ask.House, hosts []string, proxies []netip.Addr) *Door {
	d := &Door{
		House: h, hosts: newHostRule(h.PublicURL, hosts), hashing: newTurns(), proxies: map[netip.Addr]bool{},
	}
	for _, ip := range proxies {
		d.proxies[ip.Unmap()] = true
	}
	h.Tables = heard{h.Tables, &d.letIn}
	return d
}

// Let is a route's handler for those who may: everybody where the route has no
// deed.
func (s *Door) Let(r *ask.Route) fiber.Handler {
	if r.Deed == "" {
		return r.Handle
	}
	return s.Allow(r.Deed, r.Handle)
}
