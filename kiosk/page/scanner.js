// Tells a typing scanner from a person: a scanner's keys come within a few
// hundredths of a second of each other and end with Enter or Tab. It is heard
// wherever the focus is; what it typed into a field is taken out again.

import { meant } from './layout.js';

const GAP_MS = 45; // longest pause inside a scan
const HOLD_MS = 70; // how long a typed key waits to see whether a scan follows
const LEAST = 4; // shortest scan that ends with Enter
const LEAST_OPEN = 8; // shortest scan of a scanner that sends no Enter

let tokens = [];
let last = 0;
let timer = 0;
let field = null; // the field that had the focus, with what stood in it
let swallow = 0; // an Enter that comes this late still belongs to the scan

/**
 * @param {(text: string, tokens: string[]) => void} onScan
 * @param {(key: string, event?: KeyboardEvent) => boolean} onKey typed keys; true when used
 */
export function listen(onScan, onKey) {
  document.addEventListener('keydown', (e) => keydown(e, onScan, onKey), { capture: true });
  document.addEventListener('keyup', (e) => e.key === ' ' && tokens.length > 1 && e.preventDefault(), { capture: true });
}

const isField = (el) => el && (el.tagName === 'INPUT' || el.tagName === 'TEXTAREA' || el.isContentEditable);

function keydown(e, onScan, onKey) {
  if (e.isComposing && e.key !== 'Dead') return;
  const token = tokenOf(e);
  if (token && e.repeat) return hold(e, token, onKey);
  const fast = e.timeStamp - last <= GAP_MS;
  if (token && !(token === ' ' && !fast)) {
    if (!fast) flush(onScan, onKey);
    add(e, token, fast, onScan, onKey);
    return;
  }
  if (e.key === 'Enter' || e.key === 'Tab') {
    if (e.timeStamp < swallow) return stop(e);
    if (fast && tokens.length >= LEAST) {
      stop(e);
      return finish(onScan);
    }
    flush(onScan, onKey);
  }
  if (e.key.length > 1 && !['Shift', 'AltGraph', 'Control', 'Alt', 'CapsLock', 'Dead'].includes(e.key) && onKey(e.key, e)) stop(e);
}

// A key that somebody holds down repeats as fast as a scanner types.
function hold(e, token, onKey) {
  if (isField(document.activeElement)) return;
  stop(e);
  onKey(token);
}

function stop(e) {
  e.preventDefault();
  e.stopPropagation();
}

// A dead key has no character of its own; its place on the keyboard stands for it.
function tokenOf(e) {
  if (e.key === 'Dead') return 'dead ' + e.code + (e.shiftKey ? '+' : '');
  if (e.key.length !== 1) return '';
  if ((e.ctrlKey || e.altKey || e.metaKey) && !e.getModifierState('AltGraph')) return '';
  return e.key;
}

function add(e, token, fast, onScan, onKey) {
  const el = document.activeElement;
  if (!tokens.length) field = isField(el) ? { el, value: el.value, start: el.selectionStart, end: el.selectionEnd } : null;
  tokens.push(token);
  last = e.timeStamp;
  // Outside a field nothing else may act on the key: a blank presses buttons.
  if (!field) stop(e);
  clearTimeout(timer);
  timer = setTimeout(() => flush(onScan, onKey), HOLD_MS);
}

function finish(onScan) {
  clearTimeout(timer);
  const read = tokens;
  tokens = [];
  if (field) {
    field.el.value = field.value;
    field.el.setSelectionRange?.(field.start, field.end);
    field.el.dispatchEvent(new Event('input', { bubbles: true }));
    field = null;
  }
  onScan(meant(read), read);
}

// No more came: a long burst was a scan without Enter, anything else was typed.
function flush(onScan, onKey) {
  clearTimeout(timer);
  if (!tokens.length) return;
  if (tokens.length >= LEAST_OPEN) {
    swallow = last + 250;
    finish(onScan);
    return;
  }
  const typed = tokens;
  tokens = [];
  if (!field) for (const t of typed) if (t.length === 1) onKey(t);
  field = null;
}
