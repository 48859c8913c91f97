package kiosk

// astray reports whether a batch that nobody has worked on yet is at a machine
// that cannot do its first operation.
func (l *look) astray() bool {
	k := l.first()
	return !l.seen() && !l.b.OnFloor && k < len(l.ts) && !l.isPlace() && !l.canWork(k) &&
		!l.b.Ops[k].Outside()
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
