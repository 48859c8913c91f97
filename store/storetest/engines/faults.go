package engines

// Kill ends node i without a word (SIGKILL) and waits until it is gone.
func (s *Set) Kill(i int) { s.nodes[i].end(true) }

// Stop ends node i as a service manager does (SIGTERM) and waits until it is gone.
func (s *Set) Stop(i int) { s.nodes[i].end(false) }

// Running reports whether node i runs, stopped in its tracks or not.
func (s *Set) Running(i int) bool { return s.nodes[i].running() }

// Log is the end of what node i said, in all its processes.
func (s *Set) Log(i int) string { return s.nodes[i].tail() }

// Begin starts node i again, at its addresses and with its folder, and does not wait for it.
func (s *Set) Begin(i int) {
	s.t.Helper()
	s.nodes[i].start(s.t)
}

// Restart starts node i again and waits until it answers, for which more than half of all nodes must run.
func (s *Set) Restart(i int) {
	s.t.Helper()
	s.Begin(i)
	s.AwaitReady(i)
}

// Pause stops node i in its tracks (SIGSTOP), with all its connections open.
func (s *Set) Pause(i int) {
	s.t.Helper()
	p := s.nodes[i].cmd.Process
	if err := stop(p); err != nil {
		s.t.Fatal(err)
	}
	s.Await(s.Name(i)+" stands still", func() bool { return isStopped(p) })
}

// Resume lets node i go on after Pause.
func (s *Set) Resume(i int) {
	s.t.Helper()
	if err := resume(s.nodes[i].cmd.Process); err != nil {
		s.t.Fatal(err)
	}
}

// Cut cuts the cable between two nodes.
func (s *Set) Cut(i, j int) { s.setBetween(i, j, true) }

// Join joins the cable between two nodes again.
func (s *Set) Join(i, j int) { s.setBetween(i, j, false) }

// CutOff cuts node i off from all other nodes; clients still reach it.
func (s *Set) CutOff(i int) {
	for j := range s.nodes {
		if j != i {
			s.Cut(i, j)
		}
	}
}

func (s *Set) setBetween(i, j int, cut bool) {
	s.t.Helper()
	there, back := s.between[[2]int{i, j}], s.between[[2]int{j, i}]
	if there == nil || back == nil {
		s.t.Fatalf("there is no link between nodes %d and %d", i, j)
	}
	there.set(cut)
	back.set(cut)
}

// CutClient cuts the cable between a client that goes Through its links and node i.
func (s *Set) CutClient(client string, i int) { s.setClient(client, i, true) }

// JoinClient joins the cable between a client and node i again.
func (s *Set) JoinClient(client string, i int) { s.setClient(client, i, false) }

func (s *Set) setClient(client string, i int, cut bool) {
	s.t.Helper()
	links := s.clients[client]
	if links == nil {
		s.t.Fatalf("no client goes through links as %q", client)
	}
	links[i].set(cut)
}

// JoinAll joins all cables.
func (s *Set) JoinAll() {
	for _, l := range s.between {
		l.set(false)
	}
	for _, links := range s.clients {
		for _, l := range links {
			l.set(false)
		}
	}
}
