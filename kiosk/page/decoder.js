// Reads QR codes in pictures: by the browser's own detector where it has one, else by a
// reader that comes with the program. Loaded when the camera is opened first.
import { prepareZXingModule, readBarcodes } from "../../web/lib/vendor/zxing/reader/index.js";
import { nearest, stretch } from "./frames.js";

/**
 * @typedef {(canvas: HTMLCanvasElement) => Promise<string>} Decoder
 * @typedef {{rawValue: string, boundingBox: DOMRectReadOnly}} Detected
 * Detectors is what some browsers read codes with; the compiler does not know of it.
 * @typedef {{
 *   getSupportedFormats: () => Promise<string[]>,
 *   new (options: {formats: string[]}): {detect: (canvas: HTMLCanvasElement) => Promise<Detected[]>},
 * }} Detectors
 */

const OPTIONS = {
  formats: ["QRCode"],
  tryHarder: true,
  tryRotate: true,
  tryInvert: true,
  tryDownscale: true,
};

/**
 * A decoder: it gives the text of the code in the middle of a square picture, empty
 * where there is none.
 * @returns {Promise<Decoder>}
 */
export async function openDecoder() {
  return (await native()) ?? (await own());
}

/** @returns {Promise<Decoder | null>} */
async function native() {
  const Detector = /** @type {{BarcodeDetector?: Detectors}} */ (globalThis).BarcodeDetector;
  if (!Detector) return null;
  try {
    if (!(await Detector.getSupportedFormats()).includes("qr_code")) return null;
    const detector = new Detector({ formats: ["qr_code"] });
    await detector.detect(document.createElement("canvas")).catch(() => {}); // some have it, and it fails
    return async (canvas) => {
      const codes = await detector.detect(canvas);
      return nearest(codes.map(ofNative), canvas.width / 2);
    };
  } catch {
    return null;
  }
}

/** @type {(c: Detected) => {text: string, x: number, y: number}} */
const ofNative = ({ rawValue, boundingBox: b }) => ({
  text: rawValue,
  x: b.x + b.width / 2,
  y: b.y + b.height / 2,
});

/** @returns {Promise<Decoder>} */
async function own() {
  const file = new URL("../../web/lib/vendor/zxing/zxing_reader.wasm", import.meta.url).href;
  await prepareZXingModule({ overrides: { locateFile: () => file }, fireImmediately: true });
  return async (canvas) => {
    const pen = canvas.getContext("2d", { willReadFrequently: true });
    if (!pen) return "";
    const picture = pen.getImageData(0, 0, canvas.width, canvas.height);
    stretch(picture.data);
    const codes = await readBarcodes(picture, OPTIONS);
    return nearest(codes.map(ofOwn), canvas.width / 2);
  };
}

/** @param {import("../../web/lib/vendor/zxing/reader/index.js").ReadResult} code */
const ofOwn = ({ text, position: p }) => ({
  text,
  x: (p.topLeft.x + p.bottomRight.x) / 2,
  y: (p.topLeft.y + p.bottomRight.y) / 2,
});
