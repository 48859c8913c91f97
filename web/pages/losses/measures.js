// What the bars of a loss are called, and by what they are measured.
import { chosen } from "../../lib/filters.js";
import { hours, number } from "../../lib/numbers.js";
import { me } from "../../lib/shell.js";
import { machineName, reasonText, shop } from "../../lib/shop.js";
import { count, say } from "../../lib/words.js";

/**
 * @typedef {import("../../lib/_types.js").Schema["Losses"]} Losses
 * @typedef {"cost" | "events" | "pieces" | "minutes"} Measure
 * @typedef {{name: string, more?: string, filters?: Record<string, string>}} Named
 */

export const kinds = ["scrap", "rework", "review", "stop"];
export const bys = ["reason", "found", "caused", "part", "machine", "clampings"];
/** @type {(kind: string) => Measure[]} */
export const measures = (kind) => ["cost", kind === "stop" ? "events" : "pieces", "minutes"];

// unrated are the machines without a rate, of those that work in the shop.
export const unrated = () =>
  shop.value
    ? shop.value.machines
        .filter((m) => !m.rate_per_hour && !["stores", "dock", "outside"].includes(m.kind || ""))
        .map((m) => m.machine)
    : [];

/** @param {Losses} l */
export const priced = (l) => l.bars.every((b) => b.cost !== null);

/**
 * measureOf is what bars are compared by: what was chosen, and minutes where the
 * cost is not known of each.
 * @param {Losses} l
 * @returns {Measure}
 */
export function measureOf(l) {
  const list = measures(l.kind),
    wanted =
      chosen.value.measure === "pieces" || chosen.value.measure === "events" ? list[1] : chosen.value.measure;
  const m = list.find((x) => x === wanted) ?? "cost";
  return m === "cost" && !priced(l) ? "minutes" : m;
}

/**
 * money is what time costs by the machines' rates, in the shop's currency.
 * @param {number} v
 */
export const money = (v) => say("money", number(v), me.value?.currency);

/**
 * amountText is an amount with its unit.
 * @param {Measure} m
 * @param {number | null} v
 */
export function amountText(m, v) {
  if (v === null) return say("none");
  switch (m) {
    case "pieces":
      return count("pieces", v);
    case "events":
      return count("losses.stops", v);
    case "minutes":
      return hours(v * 60);
  }
  return money(v);
}

/** @param {string} key */
const split = (key) => {
  const at = key.lastIndexOf("/"),
    before = key.lastIndexOf("/", at - 1);
  return { part: key.slice(0, before), route_rev: key.slice(before + 1, at), operation: key.slice(at + 1) };
};

/** @param {string} part */
const partName = (part) => {
  const r = shop.value && shop.value.parts.find((x) => x.part === part);
  return r && r.part_name ? r.part_name : "";
};

/**
 * barName is what a bar is called, and what one sees more of it by: a change of
 * the filters, where there is one.
 * @param {Losses} l
 * @param {string} key
 * @returns {Named}
 */
export function barName(l, key) {
  if (key === "") return { name: say("losses.unsaid") };
  switch (l.by) {
    case "reason":
      return { name: reasonText(key, l.kind) };
    case "part":
      return {
        name: key,
        more: partName(key),
        filters: { part: key, route_rev: "", operation: "", by: "caused", key: "" },
      };
    case "machine":
      return { name: key, more: machineName(key), filters: { machine: key, by: "reason", key: "" } };
    case "clampings":
      return { name: count("losses.clampings", Number(key)) };
  }
  const f = split(key);
  return {
    name: say("losses.operation-of", f.part, f.operation),
    more: [partName(f.part), say("route.rev", f.route_rev)].filter(Boolean).join(", "),
    filters: { ...f, by: "reason", key: "" },
  };
}
