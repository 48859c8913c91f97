// Types of ui.js, from the packages that it is bundled of.
export * from "preact/hooks";
export { createRef, Fragment, h, render } from "preact";
export {
  batch,
  computed,
  effect,
  signal,
  useComputed,
  useSignal,
  useSignalEffect,
} from "@preact/signals";
export type { ReadonlySignal, Signal } from "@preact/signals";
import type { ComponentChildren, VNode } from "preact";
/** html makes elements from a template; a template of several gives a list. */
export function html(strings: TemplateStringsArray, ...values: unknown[]): VNode<any>;
export type Children = ComponentChildren;
