// What the station shows of a batch while the server does not answer: the last
// view it had, carried on by predict.js.

import { boards, current } from './state.js';

/** What this station saw of a card last, at the machine in front. */
export function knownView(ref) {
  const b = boards.value[current.value];
  const v = b?.here.find((x) => x.card === ref || x.works_order === ref);
  return v && { ...v, got: b.got, alone: true };
}
