package storetest

import (
	"slices"
	"time"

	"pgregory.net/rapid"

	"tallywalk/traveler"
	"tallywalk/traveler/story"
)

// Shift draws what a shop sends: scans that fit and that do not, the same again,
// late ones, and corrections of what was sent before.
type Shift struct {
	ID    func() traveler.ScanID          // a new one
	Pass  func(d time.Duration) time.Time // lets time pass, gives the new time
	Cards []traveler.Code                 // those that were given out
	Sent  []story.Said                    // all so far
	last  map[traveler.DeviceID]uint64    // number of each device
}

// Send draws between one scan and at most of them, to be sent together. A minute
// passes before each.
func (m *Shift) Send(t *rapid.T, most int) (said []story.Said) {
	for range rapid.IntRange(1, most).Draw(t, "scans") {
		if len(m.Sent) > 0 && rapid.IntRange(0, 7).Draw(t, "again") == 0 {
			said = append(said, rapid.SampledFrom(m.Sent).Draw(t, "which"))
			continue
		}
		said = append(said, m.scan(t))
		m.Sent = append(m.Sent, said[len(said)-1])
	}
	return said
}

// Learn takes the cards that splits gave from the answers.
func (m *Shift) Learn(answers []story.Answer) {
	for i := range answers {
		f := answers[i].Family
		if f == nil || len(f.Batches) == 0 {
			continue
		}
		for _, b := range f.Batches[1:] {
			if !slices.Contains(m.Cards, b.Card) {
				m.Cards = append(m.Cards, b.Card)
			}
		}
	}
}

func (m *Shift) card(t *rapid.T, name string) string {
	if len(m.Cards) == 0 || rapid.IntRange(0, 11).Draw(t, name+" odd") == 0 {
		return rapid.SampledFrom([]string{"B00000019", "W1", "W2", "nothing"}).Draw(t, name)
	}
	// The same few cards again and again make stories long.
	return string(m.Cards[rapid.IntRange(0, min(3, len(m.Cards)-1)).Draw(t, name)])
}

func (m *Shift) scan(t *rapid.T) story.Said {
	act := rapid.SampledFrom([]traveler.Action{
		"arrive", "setup", "run", "stop", "count", "count", "count", "finish", "hold", "free", "split",
		"join", "move", "send", "receive",
		"decide", "correct", "correct", "undo", "undo", "override", "deliver", "cancel", "on", "off",
		"firstoff",
	}).Draw(t, "action")
	station := rapid.SampledFrom([]string{"L1", "L1", "L2", "M1", "M2", "Q1", "nowhere"}).Draw(t, "station")
	s := traveler.Scan{
		ID: m.ID(), Device: traveler.DeviceID(station), At: m.Pass(time.Minute),
		Station: station, Card: m.card(t, "card"), Action: act,
	}
	if act == traveler.ActCount || rapid.IntRange(0, 5).Draw(t, "counts") == 0 {
		good := rapid.IntRange(0, 20).Draw(t, "good")
		s.Good = &good
		if rapid.Bool().Draw(t, "scrap?") {
			s.Scrap = []traveler.Loss{{Reason: "dim", N: 1}}
		}
	}
	m.aim(t, &s)
	s.Anyway = rapid.Bool().Draw(t, "anyway")
	if m.last == nil {
		m.last = map[traveler.DeviceID]uint64{}
	}
	m.last[s.Device]++
	s.N = m.last[s.Device]
	if rapid.IntRange(0, 3).Draw(t, "late") == 0 {
		no := false
		s.Present = &no
		s.At = s.At.Add(-time.Duration(rapid.IntRange(0, 180).Draw(t, "minutes")) * time.Minute)
	}
	who := []traveler.Actor{Operator, Supervisor, Supervisor, {Name: "nobody"}}
	return story.Said{By: rapid.SampledFrom(who).Draw(t, "by"), Scan: s}
}

// aim says what the scan's action needs; a control is about a scan that was sent
// before.
func (m *Shift) aim(t *rapid.T, s *traveler.Scan) {
	switch s.Action {
	case traveler.ActSplit, traveler.ActSend, traveler.ActReceive, traveler.ActDeliver:
		s.Pieces = rapid.IntRange(0, 12).Draw(t, "pieces")
	case traveler.ActJoin:
		s.For = m.card(t, "other")
	case traveler.ActMove:
		s.To = "M1"
	case traveler.ActUndo, traveler.ActCorrect, traveler.ActDecide:
		if len(m.Sent) == 0 {
			return
		}
		last := m.Sent[max(0, len(m.Sent)-12):]
		s.For = string(rapid.SampledFrom(last).Draw(t, "target").Scan.ID)
		if s.Action == traveler.ActDecide {
			s.For, s.Reason = "scan:"+s.For, rapid.SampledFrom([]string{"add", "drop"}).Draw(t, "choice")
		}
	}
}
