package ahead

import (
	"cmp"
	"math"
	"slices"
	"time"

	"tallywalk/traveler"
	"tallywalk/traveler/calendar"
	"tallywalk/traveler/stat"
)

// weeksAhead is how many weeks the load is worked out for.
const weeksAhead = 8

// loadRuns is how many runs go on for all of those weeks: loads are means, which need
// fewer runs than percentiles do.
const loadRuns = 40

// outcome is what a run comes to, and sums over the runs.
type outcome struct {
	slots, open     int
	noting, loading bool
	begins, ends    []float64 // of this run, by slot
	done, delivered []float64 // of this run, by job
	delay           []float64 // by work centre, all runs
	setup           float64   // all runs
	edges           []float64 // of the weeks, seconds from now
	hours, carried  [][]float64
	begun           [][]float64 // batches begun, by work centre and week
}

// prepare makes room for runs.
func (o *outcome) prepare(s *sim, noting bool) {
	n := len(s.jobs)
	o.noting = noting
	o.begins, o.ends = make([]float64, o.slots), make([]float64, o.slots)
	o.done, o.delivered = make([]float64, n), make([]float64, n)
	o.delay = make([]float64, len(s.centres))
	o.edges = make([]float64, weeksAhead+1)
	week := weekOf(s.floor.now.In(s.floor.zone))
	for w := range o.edges {
		o.edges[w] = max(0, s.secs(week.AddDate(0, 0, 7*w)))
	}
	o.hours, o.carried, o.begun = sheet(len(s.centres)), sheet(len(s.centres)), sheet(len(s.centres))
}

func sheet(n int) [][]float64 {
	out := make([][]float64, n)
	for i := range out {
		out[i] = make([]float64, weeksAhead)
	}
	return out
}

func weekOf(t time.Time) time.Time { return calendar.WeekBegan(t) }

// weekAt is the number of the week that a moment lies in; weeksAhead beyond them.
func (o *outcome) weekAt(at float64) int {
	w := 0
	for w < weeksAhead && at >= o.edges[w+1] {
		w++
	}
	return w
}

// use adds the open time that a job keeps a machine for to its weeks.
func (o *outcome) use(s *sim, x *simMachine, from, to float64) {
	if !o.loading {
		return
	}
	w := o.weekAt(from)
	if w < weeksAhead {
		o.begun[x.centre][w]++
	}
	for ; w < weeksAhead && o.edges[w] < to; w++ {
		a, b := max(from, o.edges[w]), min(to, o.edges[w+1])
		o.hours[x.centre][w] += x.hours.passed(b) - x.hours.passed(a)
	}
}

// carry adds the work of a job that could have been begun in a week, and is only in
// a later one, to the weeks that it is carried out of.
func (o *outcome) carry(s *sim, x *simMachine, avail, from, to float64) {
	if !o.loading {
		return
	}
	work := x.hours.passed(to) - x.hours.passed(from)
	for w := o.weekAt(avail); w < o.weekAt(from); w++ {
		o.carried[x.centre][w] += work
	}
}

// drawnDates are what all runs gave, by batch on the floor.
type drawnDates struct {
	done, delivered [][]float32
	begins, ends    [][]float32 // by slot
	added           []float32   // when the last of those that a scenario adds is delivered
}

// simulate makes runs. Without noting, operations and weeks are left out. progress
// is asked now and then and ends it when it is false.
func (s *sim) simulate(runs int, noting bool, progress func(done int) bool) *drawnDates {
	s.out.prepare(s, noting)
	n := len(s.jobs)
	d := &drawnDates{done: lists(n, runs), delivered: lists(n, runs)}
	if noting {
		d.begins, d.ends = lists(s.out.slots, runs), lists(s.out.slots, runs)
	}
	for r := range runs {
		if progress != nil && r%20 == 0 && !progress(r) {
			return nil
		}
		s.out.loading = noting && r < loadRuns
		s.run(r, s.out.loading)
		for i := range n {
			d.done[i] = append(d.done[i], float32(s.out.done[i]))
			d.delivered[i] = append(d.delivered[i], float32(s.out.delivered[i]))
		}
		s.last(d)
		for k := range d.begins {
			d.begins[k], d.ends[k] = append(d.begins[k], float32(s.out.begins[k])),
				append(d.ends[k], float32(s.out.ends[k]))
		}
	}
	for _, all := range [][][]float32{d.done, d.delivered} {
		for i := range all {
			slices.Sort(all[i])
		}
	}
	return d
}

// last notes when the last of what a scenario adds was delivered in a run.
func (s *sim) last(d *drawnDates) {
	last, any := 0.0, false
	for i := range s.jobs {
		if s.jobs[i].job.isNew {
			last, any = max(last, s.out.delivered[i]), true
		}
	}
	if any {
		d.added = append(d.added, float32(last))
	}
}

// lists makes n empty lists for as many values each.
func lists(n, room int) [][]float32 {
	all := make([]float32, n*room)
	out := make([][]float32, n)
	for i := range out {
		out[i] = all[i*room : i*room : (i+1)*room]
	}
	return out
}

// quantile is a percentile of type 7 of sorted values.
func quantile(sorted []float32, p float64) float64 {
	if len(sorted) == 0 {
		return 0
	}
	h := p * float64(len(sorted)-1)
	i := int(h)
	if i+1 >= len(sorted) {
		return float64(sorted[len(sorted)-1])
	}
	return float64(sorted[i]) + (h-float64(i))*(float64(sorted[i+1])-float64(sorted[i]))
}

// forecast says what all runs come to.
func (s *sim) forecast(d *drawnDates, runs int, method Method, fix *Correction) *Forecast {
	now := s.floor.now
	f := &Forecast{AsOf: now, Method: method, Rule: s.rule, Runs: runs}
	at := func(secs float64) time.Time {
		return now.Add(seconds(secs)).Round(time.Second)
	}
	places := s.floor.places()
	for i := range s.jobs {
		b := s.jobs[i].job
		out := BatchDates{
			Card: b.card, Order: b.order, Line: b.line, Part: b.part, Name: b.name, Customer: b.customer,
			Hot: b.hot, Priority: b.prio,
			Due: b.due, State: b.state, Place: places[b.card], New: b.isNew,
		}
		done, delivered := rawOf(d.done[i]), rawOf(d.delivered[i])
		class := classOf(b.stage, float64(delivered[gridP50]))
		both := fix.both(&done, &delivered, class)
		out.Done, out.Delivered = both[ofDone].dates(at), both[ofDelivered].dates(at)
		if len(b.todo) > 0 {
			out.Next, out.WorkCentre = b.todo[0].op, b.todo[0].wc
		}
		if !b.due.IsZero() {
			out.OnTime = fix.of(ofDelivered).chance(d.delivered[i], class, s.secs(b.due))
			out.Slack = b.due.Sub(out.Delivered.P50)
		}
		s.steps(&out, i, d, at)
		f.Batches = append(f.Batches, out)
	}
	if len(d.added) > 0 {
		slices.Sort(d.added)
		raw := rawOf(d.added)
		f.Added = fix.of(ofDelivered).apply(&raw, horizonOf(float64(raw[gridP50]))).dates(at)
	}
	s.centreLoads(f, runs, at)
	f.Machines = map[traveler.MachineID]Dates{}
	for i := range s.jobs {
		if b := s.jobs[i].job; b.stage == atWork && d.ends != nil {
			draws := slices.Clone(d.ends[s.jobs[i].ops[0].slot])
			slices.Sort(draws)
			raw := rawOf(draws)
			f.Machines[b.machine] = (&shifts{}).apply(&raw, 0).dates(at)
		}
	}
	sortByNeed(f.Batches)
	return f
}

// steps says of each operation when it begins and ends, and where it waits most.
func (s *sim) steps(out *BatchDates, i int, d *drawnDates, at func(float64) time.Time) {
	b := s.jobs[i].job
	for k := range s.jobs[i].ops {
		o, x := &s.jobs[i].ops[k], &b.todo[k]
		if d.begins == nil {
			return
		}
		begins, ends := d.begins[o.slot], d.ends[o.slot]
		wait := 0.0
		before := max(0, s.secs(b.from))
		for r := range begins {
			if k > 0 {
				before = float64(d.ends[s.jobs[i].ops[k-1].slot][r])
			}
			wait += max(0, float64(begins[r])-before)
		}
		wait /= float64(max(1, len(begins)))
		st := Step{
			Operation: x.op, WorkCentre: x.wc, Outside: x.outside, Pieces: x.pieces, Waits: seconds(wait),
			Work:   seconds(x.setup + x.run),
			Begins: at(stat.Percentile(sorted(begins), 0.5)), Ends: at(stat.Percentile(sorted(ends), 0.5)),
		}
		if st.Waits > out.WaitsLasts {
			out.WaitsMost, out.WaitsLasts = x.wc, st.Waits
		}
		out.Steps = append(out.Steps, st)
	}
}

func sorted(v []float32) []float64 {
	out := make([]float64, len(v))
	for i := range v {
		out[i] = float64(v[i])
	}
	slices.Sort(out)
	return out
}

// farthest is what is later than any date that someone would say: nothing is said to
// come after it, for longer times no longer fit a time.Duration.
const farthest = 100 * 366 * 24 * time.Hour

func seconds(s float64) time.Duration {
	return time.Duration(min(s, farthest.Seconds()) * float64(time.Second))
}

// centreLoads says what is ahead of each work centre.
func (s *sim) centreLoads(f *Forecast, runs int, at func(float64) time.Time) {
	n := float64(max(1, min(runs, loadRuns)))
	week := weekOf(s.floor.now.In(s.floor.zone))
	worst := 0.0
	for c := range s.centres {
		x := &s.centres[c]
		if !s.works(c) {
			continue
		}
		out := Centre{WorkCentre: x.wc, Machines: len(x.machines), Delay: seconds(s.out.delay[c] / n)}
		for w := range weeksAhead {
			open := 0.0
			for _, m := range x.machines {
				h := s.machines[m].hours
				open += h.passed(s.out.edges[w+1]) - h.passed(s.out.edges[w])
			}
			k := Week{
				Begins: week.AddDate(0, 0, 7*w), Open: seconds(open), Hours: seconds(s.out.hours[c][w] / n),
				Carried: seconds(s.out.carried[c][w] / n), Batches: s.out.begun[c][w] / n,
			}
			out.Weeks = append(out.Weeks, k)
			if out.Full.IsZero() && open > 0 && s.out.hours[c][w]/n >= FullShare*open {
				out.Full = k.Begins
			}
		}
		if s.out.delay[c] > worst {
			worst, f.HoldsUp = s.out.delay[c], x.wc
		}
		f.Centres = append(f.Centres, out)
	}
}

// works reports whether operations are done at a work centre, rather than batches
// kept there.
func (s *sim) works(c int) bool {
	for _, m := range s.centres[c].machines {
		x, _ := s.floor.shop.Machine(s.machines[m].id, s.floor.now)
		if x.Kind == "dock" || x.Kind == "stores" {
			return false
		}
	}
	return true
}

// sortByNeed puts what needs someone first: the least chance to be on time, then
// the earliest due date; without due date last.
func sortByNeed(all []BatchDates) {
	slices.SortFunc(all, func(a, b BatchDates) int {
		if a.Due.IsZero() != b.Due.IsZero() {
			if a.Due.IsZero() {
				return 1
			}
			return -1
		}
		return cmp.Or(
			cmp.Compare(math.Round(a.OnTime*20), math.Round(b.OnTime*20)), a.Due.Compare(b.Due),
			cmp.Compare(a.Slack, b.Slack), cmp.Compare(a.Card, b.Card))
	})
}
