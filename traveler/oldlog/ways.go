package oldlog

import (
	"cmp"
	"slices"
	"strings"
)

// way is an order of operations in which batches of a part went through the
// shop.
type way struct{ ops []string }

// ways groups the orders in which the batches of each part did their operations:
// orders that differ by steps that were left out, or done again, are one way, so
// that the figures of a route rest on more than one batch. What most batches did
// comes first; another order joins the first way that it fits, and may add a
// few operations to it. Orders that contradict each other are two ways.
func ways(all []*job) map[*job]*way {
	type order struct {
		part string
		ops  []string
		jobs []*job
	}
	var orders []*order
	by := map[string]*order{}
	for _, j := range all {
		key := routeKey(j.part, j.ops)
		if by[key] == nil {
			by[key] = &order{part: j.part, ops: j.ops}
			orders = append(orders, by[key])
		}
		by[key].jobs = append(by[key].jobs, j)
	}
	slices.SortStableFunc(orders, func(a, b *order) int {
		return cmp.Or(cmp.Compare(len(b.jobs), len(a.jobs)), cmp.Compare(len(b.ops), len(a.ops)),
			slices.Compare(a.ops, b.ops))
	})
	of, out := map[string][]*way{}, map[*job]*way{}
	for _, o := range orders {
		w := join(of[o.part], o.ops)
		if w == nil {
			w = &way{slices.Clone(o.ops)}
			of[o.part] = append(of[o.part], w)
		}
		for _, j := range o.jobs {
			out[j] = w
		}
	}
	return out
}

// join finds the way that an order belongs to, one that holds all of it first;
// nil for none.
func join(list []*way, ops []string) *way {
	for _, w := range list {
		if within(ops, w.ops) {
			return w
		}
	}
	for _, w := range list {
		if merged, ok := merge(w.ops, ops); ok {
			w.ops = merged
			return w
		}
	}
	return nil
}

// within reports whether an order of operations is another with some left out.
func within(ops, all []string) bool {
	for _, x := range all {
		if len(ops) > 0 && ops[0] == x {
			ops = ops[1:]
		}
	}
	return len(ops) == 0
}

// merge lays two orders into one that holds both; ok is false where they
// contradict each other, have less than two thirds of the shorter one in common,
// or would add more than a third.
func merge(a, b []string) (out []string, ok bool) {
	in := func(list []string) func(string) bool {
		return func(op string) bool { return !slices.Contains(list, op) }
	}
	common, same := slices.DeleteFunc(slices.Clone(a), in(b)), slices.DeleteFunc(slices.Clone(b), in(a))
	added := len(b) - len(common)
	if !slices.Equal(common, same) || 3*len(common) < 2*min(len(a), len(b)) || added > max(1, len(a)/3) {
		return nil, false
	}
	out = slices.Clone(a)
	at := 0 // after the last of b that is in its place
	for i, op := range b {
		if k := slices.Index(out, op); k >= 0 {
			at = k + 1
			continue
		}
		if i == 0 {
			if k := slices.Index(out, same[0]); k >= 0 {
				at = k
			}
		}
		out = slices.Insert(out, at, op)
		at++
	}
	return out, true
}

func routeKey(part string, ops []string) string { return part + "\x00" + strings.Join(ops, "\x00") }
