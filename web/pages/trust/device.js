// What is known of the device that reads the page of trust. No DOM here and no clock:
// what it goes by are arguments.

/**
 * The same server over HTTPS: same host, same port.
 * @param {{hostname: string, port: string, protocol: string, host: string}} at
 */
export function httpsOf(at) {
  if (at.protocol === "https:" || at.port) return "https://" + at.host;
  return `https://${at.hostname}:80`;
}

/**
 * Whether the device's clock is one by which the certificate does not hold: then no
 * trust helps before its date is set.
 * @param {number} now the device's, in ms
 * @param {{from?: string, until?: string}} server
 */
export function clockFault(now, { from, until }) {
  if (!from || !until) return false;
  return now < Date.parse(from) || now > Date.parse(until);
}

/**
 * What the device runs, as its browser says; linux where it says nothing known.
 * @param {string} agent
 * @param {number} fingers that its glass can tell apart
 */
export function platformOf(agent, fingers) {
  if (/Android/.test(agent)) return "android";
  if (/iPhone|iPad|iPod/.test(agent)) return "ios";
  if (/Macintosh/.test(agent)) return fingers > 1 ? "ios" : "macos"; // a tablet calls itself a computer
  return /Windows/.test(agent) ? "windows" : "linux";
}
