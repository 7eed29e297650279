// Studies over HTTP: the path follows the question, so these calls are not
// typed by path. What comes back has one shape for all of them.
import { ask, type Schemas } from "../api/client";
import type { Answered } from "../api/problem";
import type { Row } from "./shown";
import { pictureAddress } from "./picture";

export type StudyAnswer = Row & {
  summary: string;
  unit: string;
  method: string;
  source: string;
  readings_from: string;
};

export type Inputs = Schemas["NumberJson"][];
export type StudyFindings = Schemas["StudyFindingJson"][];

/** Options that were filled in, as parameters. */
export function parameters(options: Record<string, string>): string {
  const filled = Object.entries(options).filter(([, value]) => value.trim() !== "");
  const text = new URLSearchParams(filled).toString();
  return text === "" ? "" : `?${text}`;
}

async function call<T>(path: string, body: BodyInit | null, read: (response: Response) => Promise<T>): Promise<Answered<T>> {
  const sent = async () => {
    const response = await fetch(path, body === null ? {} : { method: "POST", body, headers: { "content-type": "text/csv" } });
    if (response.ok) return { data: await read(response), response };
    return { error: await response.json().catch(() => undefined), response };
  };
  return ask(sent());
}

export const askStudy = (key: string, options: Record<string, string>, table: BodyInit | null): Promise<Answered<StudyAnswer>> =>
  call(`/api/v1/study/${key}${parameters(options)}`, table, (r) => r.json() as Promise<StudyAnswer>);

/** The picture as the address of a blob; give it back when it is no longer shown. */
export const askPicture = (key: string, options: Record<string, string>, table: BodyInit | null): Promise<Answered<string>> =>
  call(`/api/v1/study/${key}/picture${parameters(options)}`, table, async (r) => pictureAddress(await r.text()));

/** The picture of a drift, likewise. */
export const askDriftPicture = (tag: string, options: Record<string, string>): Promise<Answered<string>> =>
  call(`/api/v1/ends/${encodeURIComponent(tag)}/drift/picture${parameters(options)}`, null, async (r) => pictureAddress(await r.text()));
