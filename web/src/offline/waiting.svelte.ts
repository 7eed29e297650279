// Facts on their way to the server: sent at once when it answers, kept in this
// browser until it does. Oldest first; what the server does not take is set
// aside for a person and holds nothing else up; nothing is ever dropped.
import { ask, type Schemas, type Written } from "../api/client";
import type { paths } from "../api/schema";
import type { Problem } from "../api/problem";
import { newKey } from "../bench/keys";
import { live } from "../live.svelte";
import { standingWord } from "../words";
import { timedFetch } from "./clock";
import { allWaiting, type Arrived, dropWaiting, keepWaiting, type Waiting } from "./keep";

/** Routes that write facts and may wait. */
export type WritePath = "/api/v1/mates" | "/api/v1/mates/bulk" | "/api/v1/partings" | "/api/v1/inspections" | "/api/v1/cleanings" | "/api/v1/gaugings" | "/api/v1/holds" | "/api/v1/releases" | "/api/v1/retirements" | "/api/v1/put-aways" | "/api/v1/corrections";
/** What a person says about a look; the same names as in the address. */
export type LookSaid = NonNullable<paths["/api/v1/looks"]["post"]["parameters"]["query"]>;
export type BodyOf<P extends WritePath> = paths[P]["post"] extends { requestBody: { content: { "application/json": infer B } } } ? B : never;

export type Sent = { state: "written"; data: Written } | { state: "refused"; problem: Problem } | { state: "waiting" } | { state: "lost"; problem: Problem };

/** Answers after which sending the same bytes again can help. */
const isPassing = (status: number): boolean => status === 0 || status === 401 || status === 408 || status === 429 || status >= 500;

class Outbox {
  // Raw: a photo is no thing to look into, and entries are never changed in place.
  entries = $state.raw<Waiting[]>([]);
  /** What arrived since the page was opened, newest first. */
  arrived = $state<Arrived[]>([]);
  sending = $state(false);
  /** Said when this browser cannot keep facts. */
  trouble = $state<string | null>(null);
  #again: ReturnType<typeof setTimeout> | undefined;
  #onarrival = new Set<() => void>();

  readonly kept = $derived(this.entries.filter((entry) => entry.problem === null).length);
  readonly needsYou = $derived(this.entries.filter((entry) => entry.problem !== null).length);

  start(): void {
    void this.read().then(() => this.send());
    addEventListener("online", () => void this.send());
    live.follow(() => {}, () => void this.send());
  }

  onarrival(listen: () => void): () => void {
    this.#onarrival.add(listen);
    return () => this.#onarrival.delete(listen);
  }

  async read(): Promise<void> {
    try {
      this.entries = await allWaiting();
      this.trouble = null;
    } catch {
      this.trouble = "This browser keeps nothing: without a connection no fact can be taken.";
    }
  }

  /** Sends a fact, or keeps it with the moment it happened. The moment is in
   * the body before the first attempt, so every attempt sends the same bytes. */
  write<P extends WritePath>(path: P, said: BodyOf<P>, words: string, key: string, at: string): Promise<Sent> {
    return this.#write({ key, path, body: JSON.stringify({ ...(said as object), happened_at: at }), at, words, tried: false, problem: null });
  }

  /** The same for a look and its photo. */
  writeLook(said: LookSaid, photo: Blob | null, words: string, key: string, at: string): Promise<Sent> {
    return this.#write({ key, path: LOOKS, body: JSON.stringify({ ...said, happened_at: at }), ...(photo ? { photo } : {}), at, words, tried: false, problem: null });
  }

  async #write(entry: Waiting): Promise<Sent> {
    if (live.state !== "away") {
      const answer = await this.#post(entry);
      if (answer.ok) return { state: "written", data: answer.data };
      if (!isPassing(answer.problem.status)) return { state: "refused", problem: answer.problem };
      entry.tried = true;
    }
    try {
      await keepWaiting(entry);
    } catch {
      return { state: "lost", problem: { type: "about:blank", title: "Not kept", status: 0, code: "not-kept", detail: "The server did not answer and this browser could not keep it. It is still in the form: write it down, or send it again later." } };
    }
    await this.read();
    void navigator.storage?.persist?.();
    this.#later();
    return { state: "waiting" };
  }

  /** Sends what waits, oldest first, until the server is silent. */
  async send(): Promise<void> {
    if (this.sending || this.kept === 0) return;
    this.sending = true;
    try {
      await alone(async () => {
        await this.read();
        for (const entry of this.entries.filter((e) => e.problem === null)) {
          if (!(await this.#deliver(entry))) break;
        }
      });
    } finally {
      this.sending = false;
      await this.read();
      this.#later();
    }
  }

  /** A person says to send it again: as it is, or changed and then under another key. */
  async again(entry: Waiting, changed?: { body: Record<string, unknown>; words: string; photo?: null }): Promise<void> {
    const kept: Waiting = { ...entry, problem: null };
    if (changed) Object.assign(kept, { key: newKey(), body: JSON.stringify(changed.body), words: changed.words });
    if (changed?.photo === null) delete kept.photo;
    await keepWaiting(kept);
    await this.read();
    await this.send();
  }

  /** A person decides that it is not to be sent. */
  async leave(entry: Waiting): Promise<void> {
    if (entry.id !== undefined) await dropWaiting(entry.id);
    await this.read();
  }

  async #deliver(entry: Waiting): Promise<boolean> {
    const answer = await this.#post(entry);
    if (answer.ok) {
      if (entry.id !== undefined) await dropWaiting(entry.id);
      const now = [...answer.data.ends.map((end) => `${end.end.tag} is now: ${standingWord(end.standing)}.`), ...answer.data.cases.map((touched) => touched.text)];
      this.arrived = [{ key: entry.key, at: entry.at, words: entry.words, facts: [...answer.data.facts], now }, ...this.arrived].slice(0, 50);
      for (const listen of this.#onarrival) listen();
      return true;
    }
    if (isPassing(answer.problem.status)) {
      await keepWaiting({ ...entry, tried: true });
      return false;
    }
    await keepWaiting({ ...entry, tried: true, problem: answer.problem });
    return true;
  }

  #post(entry: Waiting) {
    const sent = timedFetch(...requestOf(entry));
    return ask<Schemas["WrittenJson"]>(
      sent.then(async (response) => {
        const answer: unknown = await response.json().catch(() => null);
        return response.ok ? { data: answer as Written, response } : { error: answer, response };
      }),
    );
  }

  #later(): void {
    clearTimeout(this.#again);
    if (this.kept > 0) this.#again = setTimeout(() => void this.send(), 5000);
  }
}

const LOOKS = "/api/v1/looks";

/** How an entry is sent: a look's words are its address, and its photo is posted. */
export function requestOf(entry: Waiting): [string, RequestInit] {
  const headers = { "content-type": "application/json", "idempotency-key": entry.key };
  if (entry.path !== LOOKS) return [entry.path, { method: "POST", headers, body: entry.body }];
  const words = Object.entries(JSON.parse(entry.body) as Record<string, string>);
  return [`${LOOKS}?${new URLSearchParams(words)}`, { method: "POST", headers: { ...headers, "content-type": "application/octet-stream" }, body: entry.photo ?? "" }];
}

/** Two windows of the same browser do not send at once; the key would keep it single anyway. */
async function alone(act: () => Promise<void>): Promise<void> {
  if (!navigator.locks) return act();
  await navigator.locks.request("matewell-send", act);
}

export const outbox = new Outbox();
