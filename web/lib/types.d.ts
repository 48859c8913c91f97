// Types that the pages share. Those of the API are made of openapi.json by the
// check; until it has run once, editors do not know them.
import type { components, paths } from "../../.tools/types/api.d.ts";

/** Schema holds the API's own types by their names. */
export type Schema = components["schemas"];

type Json<R> = R extends { content: { "application/json": infer J } } ? J : null;
type Done<R> = R extends { 200: infer A } ? Json<A> : R extends { 201: infer A } ? Json<A> : any;
// A type that says nothing says nothing.
type Loose<T> = Record<string, never> extends T ? any : T;

/** Answer is what a method of an address answers; anything for an address that is put together. */
export type Answer<P, M extends "get" | "post"> = P extends keyof paths
  ? paths[P] extends { [k in M]: { responses: infer R } }
    ? Loose<Done<R>>
    : any
  : any;

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
