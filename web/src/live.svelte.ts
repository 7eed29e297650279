// Is the server there, and which standings change?
import type { Schemas } from "./api/client";

type Listener = (event: Schemas["StandingEvent"]) => void;

class Live {
  state = $state<"connecting" | "live" | "away">("connecting");
  #listeners = new Set<Listener>();
  #returned = new Set<() => void>();
  #lost = false;
  #source: EventSource | undefined;
  #later: ReturnType<typeof setTimeout> | undefined;

  /** Asks anew at once, after somebody signed in. */
  again(): void {
    if (this.state !== "live") this.start();
  }

  start(): void {
    this.#source?.close();
    clearTimeout(this.#later);
    const source = (this.#source = new EventSource("/api/v1/events"));
    source.addEventListener("open", () => {
      this.state = "live";
      if (this.#lost) for (const again of this.#returned) again();
      this.#lost = false;
    });
    source.addEventListener("error", () => {
      this.#lost = true;
      this.state = "away";
      if (source.readyState === EventSource.CLOSED) {
        source.close();
        clearTimeout(this.#later);
        this.#later = setTimeout(() => this.start(), 3000);
      }
    });
    source.addEventListener("standing", (message) => {
      const event = read(message.data);
      if (event) for (const listen of this.#listeners) listen(event);
    });
  }

  /** Calls `listen` for each standing that changed and `again` when events may
   * have been missed. Gives the function that stops it. */
  follow(listen: Listener, again: () => void): () => void {
    this.#listeners.add(listen);
    this.#returned.add(again);
    return () => {
      this.#listeners.delete(listen);
      this.#returned.delete(again);
    };
  }
}

function read(text: unknown): Schemas["StandingEvent"] | null {
  try {
    return typeof text === "string" ? (JSON.parse(text) as Schemas["StandingEvent"]) : null;
  } catch {
    return null;
  }
}

export const live = new Live();
