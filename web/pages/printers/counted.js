// How far a book of cards has come, read from the comments that the server writes into
// the PDF while it draws: "%cards 100" after every hundred.

const tail = 40; // bytes that a comment or the end may have been cut in

// counter reads along: take gives the number of cards so far, whole whether the end is
// there.
export function counter() {
  let last = "",
    cards = 0;
  return {
    take(/** @type {Uint8Array} */ bytes) {
      const text = last + new TextDecoder("latin1").decode(bytes);
      for (const m of text.matchAll(/\n%cards (\d+)\n/g)) cards = Math.max(cards, Number(m[1]));
      last = text.slice(-tail);
      return cards;
    },
    whole: () => last.endsWith("%%EOF\n"),
  };
}
