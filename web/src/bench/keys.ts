// Idempotency keys: the same entry sent twice is written once.

/** 128 random bits as hexadecimal. `crypto.randomUUID` is absent on plain HTTP. */
export function newKey(): string {
  const bytes = crypto.getRandomValues(new Uint8Array(16));
  return Array.from(bytes, (byte) => byte.toString(16).padStart(2, "0")).join("");
}

/** Keeps one key per entry: sending the same content again uses the same key
 * until it is known to be written; other content gets another key. */
export class EntryKey {
  #content = "";
  #key = "";

  for(content: unknown): string {
    const text = JSON.stringify(content);
    if (this.#key === "" || text !== this.#content) {
      this.#content = text;
      this.#key = newKey();
    }
    return this.#key;
  }

  written(): void {
    this.#key = "";
  }
}
