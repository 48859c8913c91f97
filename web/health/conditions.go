package health

import (
	"slices"
	"strconv"
	"time"

	"github.com/gofiber/fiber/v2"

	"tallywalk/traveler"
	"tallywalk/traveler/story"
	"tallywalk/web/ask"
)

// condition is something that is wrong.
type condition struct {
	Name  string `json:"name" api:"enum=servers|clock|full|nearly-full|slow|copy-failed|copy-late|copy-ahead|no-copies"`
	Stops bool   `json:"stops"` // nothing is recorded until it is mended
	Says  string `json:"says"`
	Do    string `json:"do"` // empty where says has it
}

// numbers are for whoever is asked for help. Times are in seconds, sizes in bytes.
type numbers struct {
	Version  string       `json:"version"`
	Up       float64      `json:"up_s"`
	Entries  traveler.Seq `json:"entries"` // of the record
	Record   int64        `json:"record_bytes"`
	Free     int64        `json:"free_bytes"` // of its disk; 0 = not known
	Families int          `json:"families"`   // on the floor
	// What was said was safe after so long, of the last 256 times of a quarter of an hour.
	SafeP50 float64 `json:"safe_p50_s"`
	SafeP99 float64 `json:"safe_p99_s"`
}

// conditionsView is how the program is.
type conditionsView struct {
	At         time.Time   `json:"at"`
	Conditions []condition `json:"conditions"` // the worst first
	Numbers    numbers     `json:"numbers"`
	// Servers keep this record together, by name; left out where one file keeps it.
	Servers []serverView `json:"servers,omitempty"`
}

// When the disk is nearly full: when it has less than this, or than the record twice.
const leastFree = 1 << 30

// byHandEvery is how old a copy that was made by hand may be: a shop that has none made by
// the clock makes one a night, and misses some.
const byHandEvery = 7 * 24 * time.Hour

// slowCommit is how long 99 of 100 commits may take. A person at a machine waits for it.
const (
	slowCommit  = 500 * time.Millisecond
	fewestTimes = 50
	// A disk that was slow before is not slow now.
	slowFor = 15 * time.Minute
)

func (s *room) getHealth(c *fiber.Ctx) error {
	lang := ask.Language(c)
	n := s.numbers()
	v := conditionsView{At: s.Now().UTC(), Conditions: []condition{}, Numbers: n, Servers: s.servers()}
	if s.Servers != nil {
		for _, w := range s.Servers.Wrong() {
			v.Conditions = append(v.Conditions, condition{Name: "servers", Says: w.Text(lang)})
		}
	}
	for _, x := range s.wrong(&n) {
		v.Conditions = append(v.Conditions, condition{
			Name: x.name, Stops: x.stops, Says: x.says.Text(lang),
			Do: traveler.Msg{Key: "health." + x.name + ".do", Args: x.says.Args}.Text(lang),
		})
	}
	return c.JSON(v)
}

type fault struct {
	name  string
	stops bool
	says  traveler.Msg
}

// wrong lists what is wrong, the worst first.
func (s *room) wrong(n *numbers) (out []fault) {
	add := func(name string, stops bool, args ...string) {
		out = append(out, fault{name, stops, traveler.Msg{Key: "health." + name, Args: args}})
	}
	if d := s.Desk.ClockDoubt(); d != nil {
		out = append(out, fault{"clock", true, traveler.Msg{Key: d.Key(), Args: d.Args()}})
	}
	switch {
	case s.Room != nil && s.Room() != nil:
		add("full", true)
	case n.Free > 0 && n.Free < max(leastFree, 2*n.Record):
		add("nearly-full", false, megabytes(n.Free))
	}
	if n.SafeP99 > slowCommit.Seconds() {
		add("slow", false, strconv.FormatFloat(n.SafeP99, 'f', 1, 64))
	}
	s.copyFaults(add)
	return out
}

// copyFaults looks at the copies: of a demo there are none to be had.
func (s *room) copyFaults(add func(name string, stops bool, args ...string)) {
	if s.Keeper == nil || s.Open {
		return
	}
	c, now := s.Keeper.Copies(), s.Now()
	if c.Last.After(now) {
		c.Last = time.Time{} // of the future: the clock was set
	}
	end, _ := s.Desk.Head()
	late := c.Every > 0 && now.Sub(later(c.Last, s.Since)) > 2*c.Every
	switch {
	case end == 0: // there is nothing to lose
	case c.Every == 0 && now.Sub(c.Last) > byHandEvery:
		add("no-copies", false)
	case late && c.Last.IsZero():
		add("copy-late", false, "–")
	case late:
		add("copy-late", false, c.Last.In(s.Zone).Format("2006-01-02 15:04"))
	case c.Failed != nil:
		add("copy-failed", false)
	}
	if slices.ContainsFunc(c.Kept, func(x Copy) bool { return x.At.After(now.Add(time.Hour)) }) {
		add("copy-ahead", false)
	}
}

func later(a, b time.Time) time.Time {
	if a.After(b) {
		return a
	}
	return b
}

func megabytes(n int64) string { return strconv.FormatInt(n/1e6, 10) }

func (s *room) numbers() numbers {
	n := numbers{Version: s.Version, Up: s.Now().Sub(s.Since).Seconds()}
	n.Entries, _ = s.Desk.Head()
	if s.Disk != nil {
		d := s.Disk()
		n.Record, n.Free = d.Record, d.Free
	}
	s.Desk.Open(func(*story.Family) bool { n.Families++; return true })
	if took := s.Measured.Commits.Since(s.Now().Add(-slowFor)); len(took) >= fewestTimes {
		slices.Sort(took)
		n.SafeP50, n.SafeP99 = took[len(took)/2].Seconds(), took[len(took)*99/100].Seconds()
	}
	return n
}
