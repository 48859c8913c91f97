// The tablet's camera in the place of a scanner: what it reads goes the same way. It
// needs a safe origin; over plain HTTP its button is not there and the menu says why.
import { html, useEffect, useRef, useState } from "../../web/lib/vendor/ui.js";
import { onRead } from "./flow.js";
import { AIM, newSight, squareOf } from "./frames.js";
import { parseRef } from "./refs.js";
import { over, remember, remembered } from "./state.js";
import { say } from "../../web/lib/words.js";

/** @typedef {import("./_types.js").Camera} Camera */

const EVERY_MS = 80; // between pictures that are read: the answer is there within 300
const STAYS = ["P", "M"]; // after a badge or a plate a card follows: the camera stays open

/** What was read last is one for the page: opening the camera again does not read it again. */
const sight = newSight();

const hasCamera = () => isSecureContext && !!navigator.mediaDevices?.getUserMedia;

/**
 * The button that opens the camera, where there can be one.
 * @param {{test: string}} props
 */
export function CameraKey({ test }) {
  if (!hasCamera()) return null;
  const open = () => (over.value = "camera");
  return html`<button class="key step" data-test=${test} onClick=${open}>${say("camera.open")}</button>`;
}

export function CameraView() {
  const video = useRef(/** @type {HTMLVideoElement | null} */ (null));
  const [state, setState] = useState("opening");
  const [lens, setLens] = useState(/** @type {Lens | null} */ (null));
  const [choice, setChoice] = useState(chosen);
  useEffect(() => {
    const gone = new AbortController();
    run(video, choice, gone.signal, setState, setLens).catch((err) => {
      if (!gone.signal.aborted) setState(faultOf(err));
    });
    return () => gone.abort();
  }, [choice]);
  const another = () => {
    const next = lens?.others[0];
    if (!next) return;
    remember("camera", next);
    setLens(null);
    setState("opening");
    setChoice(next);
  };
  return html`<section class="panel" data-test="camera" data-state=${state}>
    <p role="status">${say("camera." + state)}</p>
    <div class="lens" hidden=${state !== "live"}>
      <video ref=${video} muted playsinline></video>
      <${Aim} />
    </div>
    <div class="keys">
      ${lens?.torch && html`<${Torch} torch=${lens.torch} />`}
      ${lens &&
      lens.others.length > 0 &&
      html`<button class="key step" data-test="camera-other" onClick=${another}>
        ${say("camera.other")}
      </button>`}
      <button class="key step" data-test="back" onClick=${() => (over.value = "")}>${say("pad.back")}</button>
    </div>
  </section>`;
}

// The corners of the square to aim at.
function Aim() {
  const low = 50 - AIM * 50;
  const corner = (/** @type {number} */ turn) =>
    html`<path d=${`M${low} ${low + 14} V${low} H${low + 14}`} transform=${`rotate(${turn} 50 50)`} />`;
  return html`<svg class="aim" viewBox="0 0 100 100" aria-hidden="true">
    ${[0, 90, 180, 270].map(corner)}
  </svg>`;
}

/** @param {{torch: (on: boolean) => Promise<void>}} props */
function Torch({ torch }) {
  const [on, setOn] = useState(false);
  const turn = () =>
    torch(!on).then(
      () => setOn(!on),
      () => {},
    ); // a lamp that does not go on is seen
  return html`<button class="key step" data-test="camera-torch" aria-pressed=${on} onClick=${turn}>
    ${say(on ? "camera.dark" : "camera.light")}
  </button>`;
}

/**
 * Lens is what a camera that is open can do.
 * @typedef {object} Lens
 * @property {((on: boolean) => Promise<void>) | null} torch
 * @property {Camera[]} others the other cameras, the next first
 */

/**
 * Reads from a camera until it is over.
 * @param {{current: HTMLVideoElement | null}} video
 * @param {Camera | null} choice the camera that was chosen; null = the one that looks away
 * @param {AbortSignal} gone
 * @param {(state: string) => void} setState
 * @param {(lens: Lens) => void} setLens
 */
async function run(video, choice, gone, setState, setLens) {
  const loading = import("./decoder.js").then((m) => m.openDecoder());
  loading.catch(() => {}); // said below
  const stream = await openStream(choice);
  const stop = () => stream.getTracks().forEach((t) => t.stop());
  if (gone.aborted || !video.current) return stop();
  gone.addEventListener("abort", stop);
  const picture = video.current;
  picture.srcObject = stream;
  const [track] = stream.getVideoTracks();
  setLens({ torch: torchOf(track), others: await othersOf(track) });
  await picture.play();
  setState("live");
  const decode = await loading.catch(() => {
    throw new Error("decoder");
  });
  const canvas = document.createElement("canvas");
  sight.opens(performance.now());
  const look = async () => {
    if (gone.aborted) return;
    const begun = performance.now();
    if (document.hidden || sight.isIdle(begun)) return (over.value = "");
    const text = await decode(drawn(picture, canvas)).catch(() => "");
    if (gone.aborted) return;
    if (sight.sees(text, performance.now())) read(text);
    setTimeout(look, Math.max(0, EVERY_MS - (performance.now() - begun)));
  };
  look();
}

/** @returns {Camera | null} the camera that someone chose on this device */
function chosen() {
  const kept = remembered("camera");
  return typeof kept === "string" ? { id: kept, label: "" } : kept;
}

/**
 * Opens the camera that was chosen, by its id or, where that is another by now, by its
 * name, which browsers say of an open camera only; another where it is gone, or where
 * another program has it.
 * @param {Camera | null} choice
 */
async function openStream(choice) {
  const size = { width: { ideal: 1280 }, height: { ideal: 720 } };
  const open = (/** @type {MediaTrackConstraints} */ which) =>
    navigator.mediaDevices.getUserMedia({ audio: false, video: { ...size, ...which } });
  const away = { facingMode: "environment" };
  if (!choice) return open(away);
  try {
    return await open({ deviceId: { exact: choice.id } });
  } catch (err) {
    if (/** @type {Error} */ (err).name === "NotAllowedError") throw err;
  }
  const stream = await open(away);
  const named = (await cameras()).find((c) => c.id !== choice.id && c.label && c.label === choice.label);
  if (!named || named.id === stream.getVideoTracks()[0].getSettings().deviceId) return stream;
  stream.getTracks().forEach((t) => t.stop()); // many devices open one camera at a time
  return open({ deviceId: { exact: named.id } }).catch(() => open(away));
}

/** @returns {Promise<Camera[]>} those of the device */
async function cameras() {
  const all = await navigator.mediaDevices.enumerateDevices();
  return all.filter((d) => d.kind === "videoinput").map((d) => ({ id: d.deviceId, label: d.label }));
}

/** @type {(track: MediaStreamTrack) => Lens["torch"]} */
function torchOf(track) {
  // The compiler does not know of torches.
  const can = /** @type {MediaTrackCapabilities & {torch?: boolean}} */ (track.getCapabilities?.());
  if (!can?.torch) return null;
  return (on) => {
    const set = /** @type {MediaTrackConstraintSet} */ ({ torch: on });
    return track.applyConstraints({ advanced: [set] });
  };
}

/** @param {MediaStreamTrack} track */
async function othersOf(track) {
  const all = await cameras();
  const here = all.findIndex((c) => c.id === track.getSettings().deviceId);
  return [...all.slice(here + 1), ...all.slice(0, Math.max(0, here))];
}

/**
 * The middle of what the camera shows, on a canvas.
 * @param {HTMLVideoElement} picture
 * @param {HTMLCanvasElement} canvas
 */
function drawn(picture, canvas) {
  const { x, y, side, to } = squareOf(picture.videoWidth, picture.videoHeight);
  if (canvas.width !== to) canvas.width = canvas.height = to;
  const pen = canvas.getContext("2d", { willReadFrequently: true });
  pen?.drawImage(picture, x, y, side, side, 0, 0, to, to);
  return canvas;
}

/** @param {string} text */
function read(text) {
  if (!STAYS.includes((parseRef(text).code || "")[0])) over.value = "";
  onRead(text, { tokens: [...text], gaps: [], end: "Enter" });
}

/**
 * Why there is no picture (Media Capture and Streams, 10.2.1.1).
 * @param {Error} err
 */
function faultOf(err) {
  if (err.message === "decoder") return "decoder";
  if (err.name === "NotAllowedError") return "denied";
  return err.name === "NotFoundError" ? "none" : "failed";
}
