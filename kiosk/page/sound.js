// Accept and refuse differ in rhythm as well as in pitch, so that they can be
// told apart in noise: two quick notes going up; three slow low ones.

let audio;
let quiet = localStorage.getItem('tallywalk.quiet') === '1';

// Browsers let a page sound only after someone touched it.
for (const type of ['pointerdown', 'keydown']) {
  document.addEventListener(type, () => audio?.state === 'suspended' && audio.resume(), { capture: true, passive: true });
}

const PATTERNS = {
  hear: [[0, 0.05, 660]],
  accept: [[0, 0.07, 880], [0.09, 0.1, 1320]],
  refuse: [[0, 0.16, 196], [0.24, 0.16, 196], [0.48, 0.28, 147]],
  ask: [[0, 0.1, 660], [0.2, 0.1, 660]],
};

/** @param {'hear'|'accept'|'refuse'|'ask'} kind */
export function sound(kind) {
  if (quiet) return;
  try {
    audio ??= new AudioContext({ latencyHint: 'interactive' });
    if (audio.state === 'suspended') audio.resume();
    for (const [at, length, hertz] of PATTERNS[kind]) note(audio.currentTime + at, length, hertz);
  } catch {
    // A device without sound has the edge of the screen.
  }
}

function note(at, length, hertz) {
  const tone = audio.createOscillator();
  const loud = audio.createGain();
  tone.type = hertz < 400 ? 'sawtooth' : 'triangle';
  tone.frequency.value = hertz;
  loud.gain.setValueAtTime(0, at);
  loud.gain.linearRampToValueAtTime(0.5, at + 0.01);
  loud.gain.setValueAtTime(0.5, at + length - 0.02);
  loud.gain.linearRampToValueAtTime(0, at + length);
  tone.connect(loud).connect(audio.destination);
  tone.start(at);
  tone.stop(at + length);
}

export const isQuiet = () => quiet;

export function setQuiet(q) {
  quiet = q;
  localStorage.setItem('tallywalk.quiet', q ? '1' : '');
}
