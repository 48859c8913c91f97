// How large a CSS pixel is on a screen that nobody has measured. No DOM here.
//
// A CSS pixel is not a size, and no browser says how large its screen is. So the guess
// takes the smallest device that is sold with such a screen: a key that comes out too
// large is only large, one that comes out too small is missed by a glove. A touch screen
// is taken for a tablet of 7.9 inches (200 mm), the smallest that a station works on, or
// where its short side is a phone's for one of 5 inches (127 mm). Systems that scale by
// two or more aim at 132 to 163 CSS pixels an inch (5.2 to 6.4 a millimetre), and those
// that scale by less at 189 (1280 x 800 on 8 inches, 7.4): more is not believed, for
// large panels of high resolution. Without touch nobody presses with a glove: 100 an inch.

const TABLET_MM = 200;
const PHONE_MM = 127;
const PHONE_PX = 480; // the short side of a phone is less
const MOST = 7.6;
const MOST_SCALED = 6.7;
const LEAST = 5.6;
const MOUSE = 4;

/**
 * CSS pixels a millimetre, on the large side.
 * @param {{width: number, height: number, ratio: number, touch: boolean}} screen in CSS
 *   pixels; ratio is of device pixels to one of them
 */
export function guessMillimetre({ width, height, ratio, touch }) {
  if (!touch) return MOUSE;
  const diagonal = Math.hypot(width, height);
  const found = diagonal / (Math.min(width, height) < PHONE_PX ? PHONE_MM : TABLET_MM);
  return Math.max(LEAST, Math.min(ratio >= 2 ? MOST_SCALED : MOST, found));
}
