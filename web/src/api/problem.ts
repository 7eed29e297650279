// RFC 9457 problem details, as this server fills them.
import type { components } from "./schema";

export interface Problem {
  type: string;
  title: string;
  status: number;
  detail: string;
  code: string;
  /** The field that could not be understood. */
  field?: string;
  /** Labels that a tag fits. */
  candidates?: string[];
  /** The check behind a refusal. */
  check?: components["schemas"]["MateCheckJson"];
  /** What keeps a case from being closed. */
  missing?: components["schemas"]["CaseMissingJson"][];
  /** The fact that records a refusal. */
  fact?: string;
}

export type Answered<T> = { ok: true; data: T } | { ok: false; problem: Problem };

/** The server is away. A write may or may not have arrived: the same entry sent again is written once. */
export function noAnswer(): Problem {
  return {
    type: "about:blank",
    title: "No answer",
    status: 0,
    code: "no-answer",
    detail:
      "The server did not answer. An entry may or may not have arrived; sending the same entry again writes it once.",
  };
}

/** What to show at a field; nothing when the problem is about another one. */
export function atField(problem: Problem | null, field: string): string | null {
  if (problem?.field !== field) return null;
  const prefix = `${field}: `;
  return problem.detail.startsWith(prefix) ? problem.detail.slice(prefix.length) : problem.detail;
}

/** What to show above a form: whatever no field of it shows. */
export function elsewhere(problem: Problem | null, fields: readonly string[]): string | null {
  if (problem === null || (problem.field !== undefined && fields.includes(problem.field))) return null;
  return problem.detail;
}
