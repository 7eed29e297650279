// Writing a mate, a refusal, and taking it back.
import { api, ask, type MateCheck } from "../api/client";
import type { Problem } from "../api/problem";
import { nowText } from "../offline/clock";
import { outbox } from "../offline/waiting.svelte";
import { EntryKey, newKey } from "./keys";
import { bench } from "./memory.svelte";
import { inMyNumbers } from "../said";
import { numberTyped } from "./typed";

interface Logged {
  words: string;
  /** Facts to take back, last first; empty when there is nothing to undo. */
  facts: string[];
}

export class Log {
  done = $state<Logged | null>(null);
  problem = $state<Problem | null>(null);
  busy = $state(false);
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
      ...(bench.frequency.trim() ? { at: numberTyped(bench.frequency.trim()) } : {}),
      ...(because === null ? {} : { override_because: because }),
    };
    const words = `${a} on ${b}${because === null ? "" : ", under an override"}`;
    const sent = await outbox.write("/api/v1/mates", body, `Mate: ${words}`, newKey(), nowText());
    this.busy = false;
    if (sent.state === "written") {
      // A refusal stays on record; the override and the mate are what is taken back.
      const facts = because === null ? sent.data.facts : sent.data.facts.slice(1);
      const said = leftApart
        ? `Meanwhile the answer changed: ${a} on ${b} was allowed and is logged. Take it back if you left them apart.`
        : `Logged: ${words}.`;
      const cases = sent.data.cases.map((touched) => ` ${inMyNumbers(touched.text)}`).join("");
      this.done = { words: said + cases, facts: [...facts].reverse() };
      return null;
    }
    if (sent.state === "waiting") {
      this.done = { words: `Kept on this device: ${words}. It is sent when the server answers.`, facts: [] };
      return null;
    }
    if (sent.problem.code === "mate-refused") {
      this.done = { words: `The refusal is on record: ${a} on ${b}.`, facts: sent.problem.fact ? [sent.problem.fact] : [] };
      return sent.problem.check ?? null;
    }
    this.problem = sent.problem;
    return null;
  }

  /** Two ends were mated and nobody could be asked. It happened, so it is a
   * fact: it waits with its own time, and the standings follow when it arrives. */
  async unjudged(a: string, b: string): Promise<boolean> {
    if (this.busy) return false;
    if (bench.person.trim() === "") {
      this.problem = { type: "about:blank", title: "", status: 422, code: "bad-field", field: "person", detail: "person: expected a name or pseudonym, found nothing" };
      return false;
    }
    this.busy = true;
    this.problem = null;
    const at = nowText();
    const mate = { a, b, happened_at: at, ...(bench.wrench.trim() ? { wrench: bench.wrench.trim() } : {}) };
    const body = { mates: [mate], person: bench.person.trim(), note: "Mated without a mate check: no connection." };
    const sent = await outbox.write("/api/v1/mates/bulk", body, `Mate without a check: ${a} on ${b}`, newKey(), at);
    this.busy = false;
    if (sent.state === "written") this.done = { words: `Logged: ${a} on ${b}, without a mate check.`, facts: [...sent.data.facts].reverse() };
    else if (sent.state === "waiting") this.done = { words: `Kept on this device: ${a} on ${b}, without a mate check. It is sent when the server answers.`, facts: [] };
    else this.problem = sent.problem;
    return this.problem === null;
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
