// Two scans make a mate check. What is on the bench now, and the question asked of it.
import { api, ask, type End, type MateCheck } from "../api/client";
import type { Problem } from "../api/problem";
import { bench } from "./memory.svelte";

export class Scans {
  first = $state<End | null>(null);
  second = $state<End | null>(null);
  check = $state<MateCheck | null>(null);
  /** Said about the last scan. */
  problem = $state<Problem | null>(null);
  /** Said about the question: frequency or wrench. */
  asking = $state<Problem | null>(null);
  busy = $state(false);
  #turn = 0;

  startOver(): void {
    this.#turn += 1;
    this.first = this.second = this.check = this.problem = this.asking = null;
    this.busy = false;
  }

  /** Takes a label. The third scan starts a new pair. */
  async take(label: string): Promise<void> {
    if (this.second) this.startOver();
    const turn = (this.#turn += 1);
    this.busy = true;
    this.problem = null;
    const answer = await ask(api.GET("/api/v1/ends/{tag}", { params: { path: { tag: label } } }));
    if (turn !== this.#turn) return;
    this.busy = false;
    if (!answer.ok) {
      this.problem = answer.problem;
    } else if (this.first === null) {
      this.first = answer.data;
    } else {
      this.second = answer.data;
      await this.judge();
    }
  }

  /** Asks the mate check of the two ends. */
  async judge(): Promise<void> {
    if (!this.first || !this.second) return;
    const turn = (this.#turn += 1);
    this.busy = true;
    const query = {
      a: this.first.standing.end.tag,
      b: this.second.standing.end.tag,
      ...(bench.frequency.trim() ? { at: bench.frequency.trim() } : {}),
      ...(bench.wrench.trim() ? { wrench: bench.wrench.trim() } : {}),
    };
    const answer = await ask(api.GET("/api/v1/check", { params: { query } }));
    if (turn !== this.#turn) return;
    this.busy = false;
    if (answer.ok) {
      this.check = answer.data;
      this.asking = null;
    } else {
      // An answer to another question must not stay on the screen.
      this.check = null;
      this.asking = answer.problem;
    }
  }

  /** A standing changed elsewhere: what is shown must follow. */
  async follow(tag: string | null): Promise<void> {
    const shown = [this.first, this.second].map((end) => end?.standing.end.tag);
    if (tag !== null && !shown.includes(tag)) return;
    if (this.second) return this.judge();
    const first = this.first?.standing.end.tag;
    if (first === undefined) return;
    const turn = this.#turn;
    const answer = await ask(api.GET("/api/v1/ends/{tag}", { params: { path: { tag: first } } }));
    if (turn === this.#turn && answer.ok) this.first = answer.data;
  }
}
