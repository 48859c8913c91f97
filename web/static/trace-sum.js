// Families out of a list of batches: who was split from whom, and what became of
// the pieces.

// familiesOf orders batches by family, a parent before its children; the
// families keep the order in which they came, the newest first.
export function familiesOf(list) {
  const by = new Map();
  for (const b of list) by.set(b.root, [...(by.get(b.root) || []), b]);
  return [...by].map(([root, members]) => ({root, batches: ordered(members), pieces: pieces(members)}));
}

function ordered(members) {
  const cards = new Set(members.map((b) => b.card)), out = [];
  const put = (b, depth) => {
    out.push({...b, depth});
    members.filter((c) => c.parent === b.card).sort((a, c) => Date.parse(a.released) - Date.parse(c.released)).forEach((c) => put(c, depth + 1));
  };
  members.filter((b) => !cards.has(b.parent)).forEach((b) => put(b, 0));
  return out;
}

const total = (list, f) => list.reduce((n, b) => n + f(b), 0);
const left = (b) => total(b.deliveries, (d) => d.pieces);
export const isOpen = (b) => b.state !== "done" && b.state !== "cancelled";

// pieces is where those of some batches are. What was started is that of the
// batches that were not split from another of them.
export function pieces(list) {
  const cards = new Set(list.map((b) => b.card));
  const known = {
    started: total(list.filter((b) => !cards.has(b.parent)), (b) => b.started), good: total(list, (b) => b.good), delivered: total(list, left), stock: total(list, (b) => b.stock),
    scrap: total(list, (b) => b.scrap), review: total(list, (b) => b.review), missing: total(list, (b) => b.missing), concession: total(list, (b) => b.concession),
  };
  return {...known, floor: list.some(isOpen) ? Math.max(0, known.started - known.scrap - known.missing - known.delivered - known.stock) : 0};
}
