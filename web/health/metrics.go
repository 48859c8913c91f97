package health

import (
	"bytes"
	"strconv"
	"strings"
	"sync"
	"time"

	"github.com/gofiber/fiber/v2"
	"github.com/prometheus/client_golang/prometheus"
	"github.com/prometheus/client_golang/prometheus/collectors"
	"github.com/prometheus/common/expfmt"

	"tallywalk/traveler"
	"tallywalk/traveler/story"
)

// Measured is what is counted while the server runs, for a monitoring system. No label
// names a person, a part or a batch. It is safe for concurrent use.
type Measured struct {
	Commits  Commits
	once     sync.Once
	registry *prometheus.Registry
	scans    *prometheus.CounterVec
	safe     prometheus.Histogram
	late     prometheus.Histogram
	asked    *prometheus.HistogramVec
}

// How long something takes, in seconds: from what nobody notices to what is broken.
var (
	quick = []float64{.001, .002, .005, .01, .02, .05, .1, .2, .5, 1, 2, 5, 10}
	lates = []float64{1, 10, 60, 600, 3600, 4 * 3600, 24 * 3600, 7 * 24 * 3600}
)

// NewMeasured makes counters that stand at zero.
func NewMeasured() *Measured {
	m := &Measured{
		registry: prometheus.NewRegistry(),
		scans: prometheus.NewCounterVec(prometheus.CounterOpts{
			Name: "tallywalk_scans_total",
			Help: "Scans that were answered, by how; again is one that was answered before.",
		}, []string{"outcome"}),
		safe: prometheus.NewHistogram(prometheus.HistogramOpts{
			Name: "tallywalk_commit_seconds",
			Help: "How long a request of scans waited until they were safe.", Buckets: quick,
		}),
		late: prometheus.NewHistogram(prometheus.HistogramOpts{
			Name: "tallywalk_outbox_seconds",
			Help: "How long scans lay in a station's outbox until they arrived.", Buckets: lates,
		}),
		asked: prometheus.NewHistogramVec(prometheus.HistogramOpts{
			Name: "tallywalk_request_seconds",
			Help: "How long requests took, by the way in and the class of the answer.", Buckets: quick,
		}, []string{"way", "status"}),
	}
	m.registry.MustRegister(m.scans, m.safe, m.late, m.asked, collectors.NewGoCollector())
	return m
}

// Said counts scans that were answered, and how long they took to be safe; now is the
// shop's clock.
func (m *Measured) Said(said []story.Said, answers []story.Answer, took time.Duration, now time.Time) {
	m.Commits.Note(took, now)
	m.safe.Observe(took.Seconds())
	for i, a := range answers {
		switch {
		case a.Err != nil:
			m.scans.WithLabelValues("error").Inc()
		case a.Again:
			m.scans.WithLabelValues("again").Inc()
		default:
			m.scans.WithLabelValues(string(a.Outcome)).Inc()
			if i < len(said) {
				m.late.Observe(max(0, now.Sub(said[i].Scan.At).Seconds()))
			}
		}
	}
}

// Asked counts a request; way is a way in as the table of routes has it.
func (m *Measured) Asked(way string, status int, took time.Duration) {
	m.asked.WithLabelValues(way, strconv.Itoa(status/100)+"xx").Observe(took.Seconds())
}

// gauge is a figure that is read when someone looks.
func (s *room) gauge(name, help string, read func() float64) {
	s.Measured.registry.MustRegister(
		prometheus.NewGaugeFunc(prometheus.GaugeOpts{Name: "tallywalk_" + name, Help: help}, read))
}

// standing registers what is read when someone looks.
func (s *room) standing() {
	s.gauge("record_entries", "Entries of the record.", func() float64 {
		end, _ := s.Desk.Head()
		return float64(end)
	})
	s.gauge("board_sockets", "Live boards that are open.", func() float64 { return float64(s.Sockets()) })
	s.gauge("questions", "Questions that are open, and scans that belong to no batch.",
		func() float64 { return float64(s.questions()) })
	s.gauge("clock_in_doubt", "1 while the server's clock is not believed and nothing is recorded.",
		func() float64 {
			return one(s.Desk.ClockDoubt() != nil)
		})
	if s.Servers != nil {
		s.Measured.registry.MustRegister(newWatching(s))
	}
	if s.Disk != nil {
		s.gauge("record_bytes", "Size of the record's file.",
			func() float64 { return float64(s.Disk().Record) })
		s.gauge("disk_free_bytes", "What the disk of the record has left; 0 when nobody knows.",
			func() float64 { return float64(s.Disk().Free) })
	}
	if s.Keeper != nil {
		s.gauge("copy_timestamp_seconds",
			"When all that is recorded was last known to lie in a copy; 0 = never.", func() float64 {
				if last := s.Keeper.Copies().Last; !last.IsZero() {
					return float64(last.Unix())
				}
				return 0
			})
		s.gauge("copy_failed", "1 when the last copy could not be made.",
			func() float64 { return one(s.Keeper.Copies().Failed != nil) })
	}
}

func one(yes bool) float64 {
	if yes {
		return 1
	}
	return 0
}

func (s *room) questions() (n int) {
	s.Desk.Open(func(f *story.Family) bool {
		for _, q := range f.Questions() {
			if q.Settled == nil {
				n++
			}
		}
		return true
	})
	for _, e := range s.Desk.Loose() {
		if e.Scan != nil && e.Outcome == traveler.Questioned {
			n++
		}
	}
	return n
}

// getMetrics answers in the text format of Prometheus, version 0.0.4.
func (s *room) getMetrics(c *fiber.Ctx) error {
	all, err := s.Measured.registry.Gather()
	if err != nil {
		return err
	}
	var w bytes.Buffer
	format := expfmt.NewFormat(expfmt.TypeTextPlain)
	enc := expfmt.NewEncoder(&w, format)
	for _, family := range all {
		if err := enc.Encode(family); err != nil {
			return err
		}
	}
	c.Set(fiber.HeaderContentType, strings.TrimSpace(string(format)))
	return c.Send(w.Bytes())
}
