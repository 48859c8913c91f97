package health

import (
	"time"

	"github.com/prometheus/client_golang/prometheus"

	"tallywalk/traveler"
	"tallywalk/traveler/story"
)

// serverView is one of the servers that keep this record together, as this one heard of it
// last. Times are by this server's clock.
type serverView struct {
	Name    string       `json:"name"`
	URL     string       `json:"url"`     // empty = not known
	Self    bool         `json:"self"`    // it is the one that answers
	Decides bool         `json:"decides"` // it takes scans in and writes them; the others send theirs to it
	Term    uint64       `json:"term"`    // of the newest claim to decide that it has read
	Seq     traveler.Seq `json:"seq"`     // the end of the record there
	Behind  traveler.Seq `json:"behind"`  // entries that it lacks of the longest record heard of
	Heard   time.Time    `json:"heard"`
	Silent  float64      `json:"silent_s"` // since it was heard
	Ahead   float64      `json:"ahead_s"`  // how far its clock is ahead of this one's; less than 0 = after it
}

// servers lists the servers of this record, as Servers does; nil where one file keeps it.
func (s *room) servers() (out []serverView) {
	if s.Servers == nil {
		return nil
	}
	list, now := s.Servers.Servers(), s.Real()
	longest := longestOf(list)
	for i := range list {
		v := &list[i]
		if v.Self {
			v.Heard, v.Ahead = now, 0
		}
		out = append(out, serverView{
			v.Name, v.URL, v.Self, v.Writes, v.Term, v.Seq, longest - v.Seq, v.Heard.UTC(),
			max(0, now.Sub(v.Heard)).Seconds(), v.Ahead.Seconds(),
		})
	}
	return out
}

func longestOf(list []story.Server) (longest traveler.Seq) {
	for i := range list {
		longest = max(longest, list[i].Seq)
	}
	return longest
}

// watching measures the servers of this record when someone looks.
type watching struct {
	s                            *room
	term, writes, silent, behind *prometheus.Desc
}

func newWatching(s *room) watching {
	desc := func(name, help string, labels ...string) *prometheus.Desc {
		return prometheus.NewDesc("tallywalk_"+name, help, labels, nil)
	}
	return watching{
		s,
		desc("record_term", "Of the newest claim to decide that this server has read."),
		desc("record_writes", "1 while this server decides."),
		desc("writer_heard_seconds", "Since a server that decides was heard; -1 when none is known."),
		desc("server_behind_entries", "Entries that a server lacks of the longest record heard of.",
			"server"),
	}
}

// Describe says what is measured.
func (w watching) Describe(out chan<- *prometheus.Desc) {
	for _, d := range []*prometheus.Desc{w.term, w.writes, w.silent, w.behind} {
		out <- d
	}
}

// Collect measures.
func (w watching) Collect(out chan<- prometheus.Metric) {
	gauge := func(d *prometheus.Desc, v float64, labels ...string) {
		out <- prometheus.MustNewConstMetric(d, prometheus.GaugeValue, v, labels...)
	}
	silent := -1.0
	for _, v := range w.s.servers() {
		gauge(w.behind, float64(v.Behind), v.Name)
		if v.Self {
			gauge(w.term, float64(v.Term))
			gauge(w.writes, one(v.Decides))
		}
		if v.Decides && (silent < 0 || v.Silent < silent) {
			silent = v.Silent
		}
	}
	gauge(w.silent, silent)
}
