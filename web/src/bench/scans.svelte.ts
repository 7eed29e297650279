// Two scans make a mate check. What is on the bench now, and the question asked of it.
import { api, ask, type End, type MateCheck } from "../api/client";
import type { Problem } from "../api/problem";
import { nowText } from "../offline/clock";
import { keepEnd, lastSeen } from "../offline/keep";
import { bench } from "./memory.svelte";
import { numberTyped } from "./typed";

/** An end on the bench: as the server says it, as it was last seen, or only its label. */
export interface OnBench {
  tag: string;
  end: End | null;
  /** When the server said it; null when it says it now. */
  seenAt: string | null;
  /** Whether the server was asked and silent. */
  unjudged: boolean;
}

export class Scans {
  first = $state<OnBench | null>(null);
  second = $state<OnBench | null>(null);
  check = $state<MateCheck | null>(null);
  /** Said about the last scan. */
  problem = $state<Problem | null>(null);
  /** A tool that was scanned: now it is in hand. */
  tool = $state<string | null>(null);
  /** Said about the question: frequency or wrench. */
  asking = $state<Problem | null>(null);
  busy = $state(false);
  /** Nobody could be asked about this pair. */
  unjudged = $state(false);
  #turn = 0;

  startOver(): void {
    this.#turn += 1;
    this.first = this.second = this.check = this.problem = this.asking = this.tool = null;
    this.busy = this.unjudged = false;
  }

  /** Takes a label. The third scan starts a new pair. */
  async take(label: string): Promise<void> {
    const turn = (this.#turn += 1);
    this.busy = true;
    this.problem = this.tool = null;
    const read = await look(label);
    const tool = "code" in read && read.status === 404 ? await toolInHand(label) : null;
    if (turn !== this.#turn) return;
    this.busy = false;
    if (tool !== null) {
      this.tool = tool;
      if (this.second) await this.judge();
    } else if ("code" in read) {
      this.problem = read;
    } else if (this.first === null || this.second !== null) {
      this.startOver();
      this.first = read;
    } else {
      this.second = read;
      await this.judge();
    }
  }

  /** Asks the mate check of the two ends. */
  async judge(): Promise<void> {
    if (!this.first || !this.second) return;
    const turn = (this.#turn += 1);
    this.busy = true;
    const query = {
      a: this.first.tag,
      b: this.second.tag,
      ...(bench.frequency.trim() ? { at: numberTyped(bench.frequency.trim()) } : {}),
      ...(bench.wrench.trim() ? { wrench: bench.wrench.trim() } : {}),
    };
    const answer = await ask(api.GET("/api/v1/check", { params: { query } }));
    if (turn !== this.#turn) return;
    this.busy = false;
    this.unjudged = !answer.ok && answer.problem.status === 0;
    if (answer.ok) {
      this.check = answer.data;
      this.asking = null;
    } else {
      // An answer to another question must not stay on the screen.
      this.check = null;
      this.asking = this.unjudged ? null : answer.problem;
    }
  }

  /** A standing changed elsewhere, or the server is back: what is shown must follow. */
  async follow(tag: string | null): Promise<void> {
    if (tag !== null && this.first?.tag !== tag && this.second?.tag !== tag) return;
    const turn = this.#turn;
    if (this.second === null || this.unjudged) {
      const [first, second] = await Promise.all([again(this.first), again(this.second)]);
      if (turn !== this.#turn) return;
      this.first = first;
      this.second = second;
    }
    if (this.second) await this.judge();
  }
}

async function again(on: OnBench | null): Promise<OnBench | null> {
  if (on === null) return null;
  const read = await look(on.tag);
  return "code" in read ? on : read;
}

/** A wrench or a gauge by its label goes into the bench's context. Gives what
 * to say about it; nothing when the label names no such tool. */
async function toolInHand(label: string): Promise<string | null> {
  const answer = await ask(api.GET("/api/v1/tools/{tag}", { params: { path: { tag: label } } }));
  if (!answer.ok) return null;
  const { kind, tag, text } = answer.data.tool;
  if (kind === "gauge-master") return `${tag} is a gauge master: scan it on the screen of a gauging.`;
  bench.keep(kind === "torque-wrench" ? "wrench" : "gauge", tag);
  return `${kind === "torque-wrench" ? "Wrench" : "Gauge"} in hand: ${tag}. ${text}`;
}

/** What a label names: asked of the server; from what this browser saw last when it is silent. */
async function look(label: string): Promise<OnBench | Problem> {
  const answer = await ask(api.GET("/api/v1/ends/{tag}", { params: { path: { tag: label } } }));
  if (answer.ok) {
    void keepEnd(answer.data, nowText());
    return { tag: answer.data.standing.end.tag, end: answer.data, seenAt: null, unjudged: false };
  }
  if (answer.problem.status !== 0) return answer.problem;
  const seen = await lastSeen(label);
  if (Array.isArray(seen)) {
    return { ...answer.problem, code: "which-end", status: 409, detail: `${label} has several ends. Which one?`, candidates: seen };
  }
  return { tag: seen?.tag ?? label, end: seen?.end ?? null, seenAt: seen?.at ?? null, unjudged: true };
}
