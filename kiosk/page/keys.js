// Keys that somebody types, and the digit and key codes of an action sheet, go
// to the topmost view that wants them.

const takers = [];

/**
 * Hears typed keys while a view is shown. take gets digits, letters, Enter,
 * Escape, Backspace, and the names of sheet keys (key.next, key.all, key.ok,
 * key.back); it returns true for what it used.
 */
export function hearKeys(take) {
  takers.push(take);
  return () => takers.splice(takers.lastIndexOf(take), 1);
}

/** Offers a key to the views, the newest first. */
export function keyRead(name) {
  for (let i = takers.length - 1; i >= 0; i--) if (takers[i](name)) return true;
  return false;
}

const SHEET = { Enter: 'key.ok', Escape: 'key.back' };

/** A key of the keyboard. Enter on a button presses that button. */
export function keyTyped(key) {
  const el = document.activeElement;
  const onButton = el && el !== document.body && el.matches('button, a, summary');
  if (key === 'Enter' && onButton) return false;
  if (key.startsWith('Arrow')) return walk(key);
  if (key.length > 1 && !['Enter', 'Escape', 'Backspace'].includes(key)) return false;
  if (el && el.matches('input, textarea')) return key === 'Escape' || key === 'Enter' ? keyRead(SHEET[key]) : false;
  return keyRead(SHEET[key] || key);
}

// Arrows move the focus to the nearest button in their direction.
function walk(key) {
  const el = document.activeElement;
  if (el && el.matches('input, textarea')) return false;
  const from = (el && el !== document.body ? el : document.querySelector('main') || document.body).getBoundingClientRect();
  const [dx, dy] = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] }[key];
  let best = null;
  let nearest = Infinity;
  for (const b of document.querySelectorAll('button:not(:disabled), a[href]')) {
    const r = b.getBoundingClientRect();
    if (b === el || !r.width) continue;
    const x = r.left + r.width / 2 - from.left - from.width / 2;
    const y = r.top + r.height / 2 - from.top - from.height / 2;
    const ahead = x * dx + y * dy;
    const aside = Math.abs(x * dy) + Math.abs(y * dx);
    const far = ahead + 3 * aside;
    if (ahead > 4 && far < nearest) [best, nearest] = [b, far];
  }
  if (!best) return false;
  best.focus();
  return true;
}
