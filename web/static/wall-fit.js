// Bringing a board onto at most three pages of a wall screen. Type never
// shrinks: what has no room is counted in a last line instead.
export const mostPages = 3;

// lay packs blocks of {lines} onto pages of so many lines, in order.
function lay(blocks, lines) {
  const pages = [];
  let room = 0;
  for (const b of blocks) {
    if (pages.length === 0 || b.lines > room) {
      pages.push([]);
      room = lines;
    }
    pages.at(-1).push(b);
    room -= b.lines;
  }
  return pages;
}

// fit gives the pages for the blocks. A block is {lines, need}: when there is
// no room, those with the least need go first, and more(left) makes the block
// that stands for them.
export function fit(blocks, lines, more) {
  let shown = blocks, left = [];
  for (;;) {
    const all = left.length ? [...shown, more(left)] : shown;
    const pages = lay(all, lines);
    if (pages.length <= mostPages || shown.length === 0) return pages;
    const least = shown.reduce((a, b) => (b.need <= a.need ? b : a));
    left = [...left, least];
    shown = shown.filter((b) => b !== least);
  }
}

// worst puts first what is late (the latest first), then what waits longest.
export function worst(list) {
  const late = (r) => (r.late ? r.due : "9999-99-99");
  return [...list].sort((a, b) => (late(a) < late(b) ? -1 : late(a) > late(b) ? 1 : Date.parse(a.since) - Date.parse(b.since)));
}
