// For tests in node: what a browser has around the page. There is no IndexedDB: the
// box has a memory for browsers that keep nothing.

/**
 * browser lets requests be answered; what throws is not answered.
 * @param {(path: string, body: any) => any} answer the JSON, with a status where it is not 200
 */
export function browser(answer) {
  Object.defineProperty(globalThis, "navigator", { value: {}, configurable: true });
  const stub = /** @type {any} */ (globalThis);
  stub.window = { addEventListener() {} };
  stub.document = { hidden: false, addEventListener() {} };
  stub.localStorage = { getItem: () => null, setItem() {}, removeItem() {} };
  stub.screen = { width: 1280, height: 800 };
  stub.devicePixelRatio = 1;
  stub.matchMedia = () => ({ matches: false });
  stub.setInterval = () => 0;
  stub.fetch = async (/** @type {string} */ path, { body = "" } = {}) => {
    const { status = 200, ...data } = answer(path, body ? JSON.parse(body) : null);
    return { ok: status < 300, status, text: async () => (status === 204 ? "" : JSON.stringify(data)) };
  };
}
