// Who works here? The server says; the page only shows it and asks for a sign-in.
import { api, ask, type Schemas } from "./api/client";
import { bench } from "./bench/memory.svelte";

class Session {
  /** What the server said last; nothing while it was silent since the page was opened. */
  said = $state<Schemas["SessionJson"] | null>(null);
  #asking = false;

  readonly who = $derived(this.said?.who ?? null);
  /** Nobody is let in without a sign-in. */
  readonly shut = $derived(this.said !== null && !this.said.alone && this.said.who === null);

  start(): void {
    void this.refresh();
    addEventListener("matewell-sign-in", () => void this.refresh());
  }

  async refresh(): Promise<void> {
    if (this.#asking) return;
    this.#asking = true;
    const answer = await ask(api.GET("/api/v1/session"));
    this.#asking = false;
    if (answer.ok) this.take(answer.data);
  }

  take(said: Schemas["SessionJson"]): void {
    this.said = said;
    // What is done here is by whoever is signed in.
    if (said.who) bench.keep("person", said.who.name);
  }

  may(right: string): boolean {
    return this.who?.rights.includes(right) ?? false;
  }
}

export const session = new Session();
