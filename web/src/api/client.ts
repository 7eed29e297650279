// The one place that talks to the server.
import createClient from "openapi-fetch";
import { timedFetch } from "../offline/clock";
import type { components, paths } from "./schema";
import { type Answered, noAnswer, type Problem } from "./problem";
import { inMyHint } from "../said";

export type Schemas = components["schemas"];
export type MateCheck = Schemas["MateCheckJson"];
export type End = Schemas["EndJson"];
export type Standing = Schemas["EndStandingJson"];
export type Finding = Schemas["FindingJson"];
export type Written = Schemas["WrittenJson"];

/** Calls by path, typed by the OpenAPI document. */
export const api = createClient<paths>({ baseUrl: globalThis.location?.origin ?? "", fetch: (request) => timedFetch(request) });

/** Waits for a call; a refusal and a silent server are both problems, never exceptions. */
export async function ask<T>(call: Promise<{ data?: T; error?: unknown; response: Response }>): Promise<Answered<T>> {
  try {
    const { data, error, response } = await call;
    if (response.ok && data !== undefined) return { ok: true, data };
    // Whoever was signed in is so no more: the page asks for a sign-in.
    if (response.status === 401 && !new URL(response.url).pathname.startsWith("/api/v1/session")) dispatchEvent(new Event("matewell-sign-in"));
    return { ok: false, problem: asProblem(error, response) };
  } catch {
    return { ok: false, problem: noAnswer() };
  }
}

function asProblem(error: unknown, response: Response): Problem {
  if (typeof error === "object" && error !== null && "detail" in error) {
    const problem = error as Problem;
    return { ...problem, detail: inMyHint(problem.detail) };
  }
  return {
    type: "about:blank",
    title: response.statusText,
    status: response.status,
    code: "unreadable",
    detail: `The server answered ${response.status} without saying why.`,
  };
}
