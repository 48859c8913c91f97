// What is used of zxing-wasm 3.1.6 (MIT; its files index.js, share.js and
// zxing_reader.wasm as they are in the package), which reads bar codes in pictures.
export interface Point {
  x: number;
  y: number;
}
export interface ReadResult {
  text: string;
  position: { topLeft: Point; topRight: Point; bottomLeft: Point; bottomRight: Point };
}
export function prepareZXingModule(options: {
  overrides: { locateFile: (path: string) => string };
  fireImmediately: true;
}): Promise<unknown>;
export function readBarcodes(
  image: ImageData,
  options: { formats: string[]; tryHarder: boolean; tryRotate: boolean; tryInvert: boolean; tryDownscale: boolean },
): Promise<ReadResult[]>;
