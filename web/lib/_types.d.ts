// Types that the pages share. Those of the API are made of openapi.json by the
// check; until it has run once, editors do not know them.
import type { components, paths } from "../../.tools/types/api.d.ts";

/** Schema holds the API's own types by their names. */
export type Schema = components["schemas"];

type Json<R> = R extends { content: { "application/json": infer J } } ? J : null;
type Done<R> = R extends { 200: infer A }
  ? Json<A>
  : R extends { 201: infer A }
    ? Json<A>
    : R extends { 202: infer A }
      ? Json<A>
      : null;

// An address as a page puts it together is known by the address of the API that has the
// same fixed parts; what follows a question mark does not matter.
type Bare<P> = P extends `${infer A}?${string}` ? A : P;
type Pattern<K> = K extends `${infer A}{${string}}${infer B}` ? `${A}${string}${Pattern<B>}` : K;
type Known<P> = P extends keyof paths
  ? P
  : { [K in keyof paths]: [P, Pattern<K>] extends [Pattern<K>, P] ? K : never }[keyof paths];

/** Answer is what a method of an address answers; of an address that is any text, nothing is known. */
export type Answer<P, M extends "get" | "post" | "patch" | "delete"> = [Known<Bare<P>>] extends [never]
  ? unknown
  : paths[Known<Bare<P>>] extends { [k in M]: { responses: infer R } }
    ? Done<R>
    : unknown;

/** A person, a device or a program, as /api/v1/me says who asks. */
export type Me = Schema["Me"];

/** One scan of a batch that asks for no more than where it leads. */
export interface Linked {
  card: string;
  works_order?: string;
}

/** What a handler of a field gets. */
export type Input = Event & { target: HTMLInputElement };

/** The times of a batch by what it was at, in seconds: run_s, setup_s, ... */
export type Parts = Record<string, number>;
