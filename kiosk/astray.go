package kiosk

// astray reports whether a batch that nobody has worked on yet is at a machine
// that cannot do its first operation, and gives the step that takes it there.
func (l *look) astray() (Step, bool) {
	k := l.first()
	if l.seen() || l.b.OnFloor || k >= len(l.ts) || l.isPlace() || l.canWork(k) || l.b.Ops[k].Outside() {
		return Step{}, false
	}
	o := &l.b.Ops[k]
	s := carryTo(string(o.WorkCentre), l.only(o.WorkCentre), o.WorkCentre)
	s.Key, s.Args = "move.planned", []string{o.Number.String(), string(o.WorkCentre)}
	s.Word = word(s.Key, s.Args...)
	return s, true
}

// hasWork reports whether pieces are left for the operation meant here: where
// all were counted at a twin machine that is still open, nobody begins afresh.
func (l *look) hasWork() bool { return l.left > 0 || !l.ts[l.k].Seen }

// ahead is the place of the operation that the batch goes to next: beyond one
// that is open at a machine but has every piece counted.
func (l *look) ahead() int {
	k := l.next
	for k < len(l.ts) && l.ts[k].Seen && l.ts[k].Could > 0 && l.ts[k].Left() == 0 {
		k++
	}
	return k
}
