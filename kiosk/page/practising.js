// Whether this page is for practice: a page of its own, loaded under another address, so
// that nothing of it meets what is recorded. No request leaves it, and nothing it keeps
// outlasts it.

const read = new URLSearchParams(globalThis.location?.search || "");

/** Whether what is said here is for practice only. */
export const practising = read.has("practice");

/** The machine that it was begun at. */
export const practiceMachine = read.get("practice") || "";

/** The code of the practice card; the program gives it to no batch. */
export const PRACTICE_CARD = "BPRACT1CW";

/** @param {string} machine the machine in front; '' to end it */
export const toPractice = (machine) =>
  location.replace("/station" + (machine ? "?practice=" + encodeURIComponent(machine) : ""));
