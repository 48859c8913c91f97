// What is looked at in a camera's picture, and when what is seen there is a new read.
// No DOM here and no clock: times are arguments, in milliseconds.

/** How much of the shorter side of the picture the frame to aim at takes, and what is read. */
export const AIM = 0.76;
const READ = 0.95;
const MOST = 720; // pixels a side that are read: a card at arm's length has modules of 3 there

const IDLE_MS = 120000; // a camera before which nobody holds anything is closed: it sees people
const GONE_MS = 1500; // a code that was not seen for so long has left; less is a hand that shook

/**
 * The square of a picture that is read, and how many pixels a side it becomes.
 * @param {number} width
 * @param {number} height
 */
export function squareOf(width, height) {
  const side = Math.round(Math.min(width, height) * READ);
  return {
    x: Math.round((width - side) / 2),
    y: Math.round((height - side) / 2),
    side,
    to: Math.min(side, MOST),
  };
}

/**
 * Of codes in a picture, the text of that nearest to its middle: a sheet has many.
 * @param {{text: string, x: number, y: number}[]} codes with the middle of each
 * @param {number} middle of the picture, in both directions
 */
export function nearest(codes, middle) {
  const far = (/** @type {{x: number, y: number}} */ c) => Math.hypot(c.x - middle, c.y - middle);
  return codes.reduce((a, c) => (a && far(a) <= far(c) ? a : c), codes[0])?.text ?? "";
}

const FLAT = 128; // levels between light and dark below which a picture is stretched
const ENDS = 0.01; // of the pixels may lie beyond, at either end

/**
 * Stretches the light of a dim picture over all levels: a reader of codes takes what
 * hardly differs for one grey. Pixels are of four bytes, of which the second stands for
 * their light.
 * @param {Uint8ClampedArray} data
 */
export function stretch(data) {
  const levels = new Uint32Array(256);
  for (let i = 1; i < data.length; i += 16) levels[data[i]]++;
  const beyond = (data.length / 16) * ENDS;
  const end = (/** @type {number} */ at, /** @type {number} */ step) => {
    for (let n = 0; at >= 0 && at < 256; at += step) if ((n += levels[at]) > beyond) break;
    return at;
  };
  const low = end(0, 1);
  const high = end(255, -1);
  if (high - low >= FLAT || high <= low) return;
  for (let i = 0; i < data.length; i++) {
    if (i % 4 !== 3) data[i] = ((data[i] - low) * 255) / (high - low);
  }
}

/**
 * Sight tells what is read from what is only still there: a code counts once, until it
 * has left the picture or another took its place.
 */
export function newSight() {
  let held = "";
  let last = -Infinity;
  let opened = -Infinity;
  return {
    /** @param {number} at when the camera was opened */
    opens(at) {
      opened = at;
    },
    /** @param {number} at whether it has seen nothing for so long that it can be closed */
    isIdle: (at) => at - Math.max(opened, last) > IDLE_MS,
    /**
     * What a picture shows counts as read, or not.
     * @param {string} text empty when it shows no code
     * @param {number} at
     */
    sees(text, at) {
      if (held && at - last >= GONE_MS) held = "";
      if (!text) return false;
      const isNew = text !== held;
      held = text;
      last = at;
      return isNew;
    },
  };
}
