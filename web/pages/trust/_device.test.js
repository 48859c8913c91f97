import assert from "node:assert/strict";
import test from "node:test";
import { clockFault, httpsOf, platformOf } from "./device.js";

test("the same server over HTTPS", () => {
  for (const [address, want] of [
    ["http://shop:8080/trust", "https://shop:8080"],
    ["http://192.168.1.5/trust", "https://192.168.1.5:80"],
    ["http://[::1]:8080/", "https://[::1]:8080"],
    ["https://shop/", "https://shop"],
    ["https://shop:8443/", "https://shop:8443"],
  ])
    assert.equal(httpsOf(new URL(address)), want);
});

test("a clock outside the certificate's time", () => {
  const server = { from: "2026-10-29T10:00:00Z", until: "2027-11-30T10:00:00Z" };
  const at = (/** @type {string} */ t) => clockFault(Date.parse(t), server);
  assert.equal(at("2026-11-28T10:00:00Z"), false);
  assert.equal(at("2015-01-01T00:00:00Z"), true);
  assert.equal(at("2026-10-29T09:59:59Z"), true);
  assert.equal(at("2027-11-30T10:00:01Z"), true);
  assert.equal(clockFault(0, {}), false);
});

// How browsers name themselves; from memory.
test("what a device runs", () => {
  const mac = "Mozilla/5.0 (Macintosh; Intel Mac OS X 10_15_7)";
  assert.equal(platformOf("Mozilla/5.0 (Linux; Android 14; K)", 5), "android");
  assert.equal(platformOf("Mozilla/5.0 (iPhone; CPU iPhone OS 17_5 like Mac OS X)", 5), "ios");
  assert.equal(platformOf(mac, 5), "ios");
  assert.equal(platformOf(mac, 0), "macos");
  assert.equal(platformOf("Mozilla/5.0 (Windows NT 10.0; Win64; x64)", 0), "windows");
  assert.equal(platformOf("Mozilla/5.0 (X11; Linux x86_64)", 0), "linux");
  assert.equal(platformOf("", 0), "linux");
});
