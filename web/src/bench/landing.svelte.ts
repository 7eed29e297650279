// Where a scan goes that arrives outside every field: to the screen that is
// open, when it says what to do with it; else it opens what it names, and asks
// first when something typed would be lost.
import { endPath, go } from "../router";

/** Takes what was scanned; false when the screen has no use for it. */
type Take = (text: string) => boolean;

class Landing {
  /** A label that was scanned while something typed is not recorded yet. */
  asked = $state<string | null>(null);
  #takers: Take[] = [];
  #typed = new Set<HTMLInputElement | HTMLTextAreaElement>();

  /** The screen that is open takes scans until the function given back is called. */
  here(take: Take): () => void {
    this.#takers.push(take);
    return () => {
      this.#takers = this.#takers.filter((one) => one !== take);
    };
  }

  take(text: string): void {
    for (const take of [...this.#takers].reverse()) if (take(text)) return;
    this.open(text);
  }

  /** Opens what a label names; asks first when something typed would be lost. */
  open(text: string, mayLose = this.#unsaved): void {
    if (mayLose) this.asked = text;
    else go(endPath(text));
  }

  /** Somebody types into a form. */
  typed(target: EventTarget | null): void {
    const isField = target instanceof HTMLTextAreaElement || (target instanceof HTMLInputElement && ["text", "radio", "checkbox", "file"].includes(target.type));
    if (isField && target.closest("main form") !== null) this.#typed.add(target);
  }

  /** Another screen is open. */
  moved(): void {
    this.asked = null;
    this.#typed.clear();
  }

  get #unsaved(): boolean {
    return [...this.#typed].some((field) => field.isConnected && (field.type === "radio" || field.type === "checkbox" ? field instanceof HTMLInputElement && field.checked : field.value.trim() !== ""));
  }
}

export const landing = new Landing();
