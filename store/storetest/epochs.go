package storetest

import "tallywalk/traveler"

// epochs checks an entry that does nothing but begin an epoch: it stands anywhere,
// is part of the chain, and the newest names the log.
func epochs(s *suite) {
	first := s.log.Epoch()
	s.must(s.log.Append(0, run(1, 3), nil))
	s.want(s.log.Epoch(), first)
	_, before := s.log.Head()
	begins := func(seq traveler.Seq, name string) *traveler.Entry {
		return &traveler.Entry{
			Seq: seq, Arrived: day, By: traveler.Actor{Name: "restore", Role: traveler.RoleAdministrator},
			Epoch: name, Say: traveler.Msg{Key: "epoch.restored", Args: []string{"copy.db", "3"}},
		}
	}
	s.must(s.log.Append(3, []*traveler.Entry{begins(4, "second")}, nil))
	s.want(s.log.Epoch(), "second")
	if _, after := s.log.Head(); after == before {
		s.Error("the epoch is no link of the chain")
	}
	s.must(s.log.Append(4, append(run(5, 6), begins(7, "third"), Entry(8)), nil))
	s.want(s.log.Epoch(), "third")
	s.must(s.log.Reopen())
	s.want(s.log.Epoch(), "third")
	s.want(s.all(4), []*traveler.Entry{begins(4, "second"), Entry(5), Entry(6), begins(7, "third"), Entry(8)})
	s.kind(s.log.Append(3, []*traveler.Entry{begins(4, "lost")}, nil), traveler.KindConflict)
	s.want(s.log.Epoch(), "third")
}

// epochAndMore checks that the first entry of a record names its epoch beside
// what it says.
func epochAndMore(s *suite) {
	e := Entry(1)
	e.Epoch = s.log.Epoch()
	s.must(s.log.Append(0, []*traveler.Entry{e}, nil))
	s.want(s.all(1), []*traveler.Entry{e})
	s.want(s.log.Epoch(), e.Epoch)
}
