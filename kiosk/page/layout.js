// The keyboard layout of a typing scanner, learnt once per device from the test
// card and never guessed: which character arrives for which one printed.

import { TEST_CARD } from './consts.js';

const SAVED = 'tallywalk.scanner';
let map = JSON.parse(localStorage.getItem(SAVED) || '{}');

/** What was meant by the keys that arrived. */
export function meant(tokens) {
  return tokens.map((t) => map[t] ?? (t.length > 1 ? '' : t)).join('');
}

/**
 * Compares what a scanner typed with the test card, place by place. The answer
 * is the map of what differs, or null when it cannot be the card.
 */
export function compare(tokens) {
  if (tokens.length !== TEST_CARD.length) return null;
  const found = new Map();
  for (let i = 0; i < tokens.length; i++) {
    const printed = TEST_CARD[i];
    const came = fold(tokens[i]);
    if (found.has(came) && found.get(came) !== printed) return null;
    found.set(came, printed);
  }
  // Each printed character must have come the same each time.
  if (new Set(found.values()).size !== found.size) return null;
  const out = {};
  for (const [came, printed] of found) {
    if (came === printed) continue;
    out[came] = printed;
    if (came.toLowerCase() !== came && came.length === 1) out[came.toLowerCase()] = printed;
  }
  return out;
}

// Letters come in either case: codes do not care, and a lock key may be on.
const fold = (t) => (t.length === 1 && t.toUpperCase().length === 1 ? t.toUpperCase() : t);

/** Remembers a map. */
export function learn(m) {
  map = m;
  localStorage.setItem(SAVED, JSON.stringify(m));
}

export const isPlain = () => Object.keys(map).length === 0;
