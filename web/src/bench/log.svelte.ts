// Writing a mate, a refusal, and taking it back.
import { api, ask, type MateCheck } from "../api/client";
import type { Problem } from "../api/problem";
import { EntryKey } from "./keys";
import { bench } from "./memory.svelte";

interface Logged {
  words: string;
  /** Facts to take back, last first; empty when there is nothing to undo. */
  facts: string[];
}

export class Log {
  done = $state<Logged | null>(null);
  problem = $state<Problem | null>(null);
  busy = $state(false);
  #entry = new EntryKey();
  #undo = new EntryKey();

  /** Logs the pair. Gives the check to show when the server refused, else null. */
  async mate(check: MateCheck, because: string | null, leftApart = false): Promise<MateCheck | null> {
    if (this.busy) return null;
    this.busy = true;
    this.problem = null;
    const a = check.a.end.tag;
    const b = check.b.end.tag;
    const body = {
      a,
      b,
      person: bench.person.trim(),
      ...(bench.wrench.trim() ? { wrench: bench.wrench.trim() } : {}),
      ...(bench.frequency.trim() ? { at: bench.frequency.trim() } : {}),
      ...(because === null ? {} : { override_because: because }),
    };
    // The moment of the check tells one mate of a pair from the next.
    const key = this.#entry.for([body, check.at]);
    const answer = await ask(api.POST("/api/v1/mates", { body, headers: { "idempotency-key": key } }));
    this.busy = false;
    if (answer.ok) {
      this.#entry.written();
      // A refusal stays on record; the override and the mate are what is taken back.
      const facts = because === null ? answer.data.facts : answer.data.facts.slice(1);
      const words = leftApart
        ? `Meanwhile the answer changed: ${a} on ${b} was allowed and is logged. Take it back if you left them apart.`
        : `Logged: ${a} on ${b}${because === null ? "" : ", under an override"}.`;
      const cases = answer.data.cases.map((touched) => ` ${touched.text}`).join("");
      this.done = { words: words + cases, facts: [...facts].reverse() };
      return null;
    }
    if (answer.problem.code === "mate-refused") {
      this.#entry.written();
      this.done = { words: `The refusal is on record: ${a} on ${b}.`, facts: answer.problem.fact ? [answer.problem.fact] : [] };
      return answer.problem.check ?? null;
    }
    this.problem = answer.problem;
    return null;
  }

  async takeBack(): Promise<boolean> {
    const facts = this.done?.facts ?? [];
    if (this.busy || facts.length === 0) return false;
    this.busy = true;
    this.problem = null;
    for (const fact of facts) {
      const body = { fact, because: "Taken back at the bench.", person: bench.person.trim() };
      const key = this.#undo.for(body);
      const answer = await ask(api.POST("/api/v1/corrections", { body, headers: { "idempotency-key": key } }));
      if (!answer.ok) {
        this.problem = answer.problem;
        this.busy = false;
        return false;
      }
      this.#undo.written();
      this.done = { words: this.done?.words ?? "", facts: facts.slice(facts.indexOf(fact) + 1) };
    }
    this.done = { words: "Taken back. The record keeps both.", facts: [] };
    this.busy = false;
    return true;
  }
}
