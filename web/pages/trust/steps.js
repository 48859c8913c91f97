// The steps by which a device comes to trust the authority: for each platform a list of
// {kind, rows, at, text}. kind and rows say what is drawn, at which row is pressed, text
// the sentence beside it.

export const PLATFORMS = ["android", "ios", "windows", "macos", "linux"];

/** @typedef {{kind: string, rows?: string[], at?: number, text: string}} Step */

/** @type {Record<string, Array<[string, string[], number]>>} */
const DRAWN = {
  android: [
    ["file", [], 0],
    ["list", ["security", "install", "ca"], 2],
    ["ask", ["leave", "anyway"], 1],
    ["list", ["downloads", "file"], 1],
    ["lock", [], 0],
  ],
  ios: [
    ["file", [], 0],
    ["list", ["general", "profile", "wifi"], 1],
    ["list", ["general", "about", "trusted"], 2],
    ["switch", ["called"], 0],
    ["lock", [], 0],
  ],
  windows: [
    ["file", [], 0],
    ["ask", ["close", "install"], 1],
    ["list", ["user", "machine"], 1],
    ["list", ["automatic", "roots"], 1],
    ["lock", [], 0],
  ],
  macos: [
    ["file", [], 0],
    ["list", ["system", "called"], 1],
    ["list", ["trust", "always"], 1],
    ["lock", [], 0],
  ],
  linux: [
    ["file", [], 0],
    ["list", ["privacy", "security", "manage"], 2],
    ["list", ["authorities", "import"], 1],
    ["switch", ["websites"], 0],
    ["lock", [], 0],
  ],
};

/** @type {(platform: string) => Step[]} */
export const stepsOf = (platform) =>
  DRAWN[platform].map(([kind, rows, at], i) => ({ kind, rows, at, text: `trust.${platform}.${i + 1}` }));
