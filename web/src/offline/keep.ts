// What this browser keeps: facts that wait, and the ends it saw last. IndexedDB
// with promises; a library for it is longer than this.
import type { End } from "../api/client";
import type { Problem } from "../api/problem";

/** A fact that a person said and the server has not written yet. */
export interface Waiting {
  /** Order of entry, given by the database. */
  id?: number;
  /** The idempotency key: sent twice, written once. */
  key: string;
  path: string;
  /** Exactly the bytes that are sent: the key belongs to them. */
  body: string;
  /** When it happened, RFC 3339 in UTC; the same as in the body. */
  at: string;
  words: string;
  /** Whether it left this browser once: it may have arrived. */
  tried: boolean;
  /** Why the server did not take it; a person has to decide. */
  problem: Problem | null;
}

/** A fact that arrived, for a while: what it is and how to take it back. */
export interface Arrived {
  key: string;
  at: string;
  words: string;
  facts: string[];
  /** What the server said about it. */
  now: string[];
}

export interface Seen {
  tag: string;
  item: string;
  /** When the server said it, RFC 3339. */
  at: string;
  end: End;
}

const NAME = "matewell";
let opened: Promise<IDBDatabase> | undefined;

function open(): Promise<IDBDatabase> {
  opened ??= new Promise((done, fail) => {
    const request = indexedDB.open(NAME, 1);
    request.onupgradeneeded = () => {
      request.result.createObjectStore("waiting", { keyPath: "id", autoIncrement: true });
      request.result.createObjectStore("ends", { keyPath: "tag" }).createIndex("item", "item");
    };
    request.onsuccess = () => done(request.result);
    request.onerror = () => {
      opened = undefined;
      fail(request.error ?? new Error("this browser keeps nothing"));
    };
  });
  return opened;
}

async function run<T>(store: "waiting" | "ends", mode: IDBTransactionMode, act: (store: IDBObjectStore) => IDBRequest<T>): Promise<T> {
  const database = await open();
  return new Promise((done, fail) => {
    const transaction = database.transaction(store, mode, { durability: "strict" });
    const request = act(transaction.objectStore(store));
    transaction.oncomplete = () => done(request.result);
    transaction.onerror = transaction.onabort = () => fail(transaction.error ?? new Error("this browser kept nothing"));
  });
}

export const keepWaiting = (entry: Waiting): Promise<IDBValidKey> => run("waiting", "readwrite", (store) => store.put(entry));
export const dropWaiting = (id: number): Promise<undefined> => run("waiting", "readwrite", (store) => store.delete(id));
export const allWaiting = (): Promise<Waiting[]> => run("waiting", "readonly", (store) => store.getAll() as IDBRequest<Waiting[]>);

/** Keeps what the server said about an end. A browser that keeps nothing still works while there is a server. */
export async function keepEnd(end: End, at: string): Promise<void> {
  try {
    await run("ends", "readwrite", (store) => store.put({ tag: end.standing.end.tag, item: end.item.tag, at, end } satisfies Seen));
  } catch {
    // Nothing to say: it is asked anew each time.
  }
}

/** The end of this label as it was last seen; labels of ends when it names an item with several; nothing when unknown. */
export async function lastSeen(label: string): Promise<Seen | string[] | null> {
  try {
    const found = await run("ends", "readonly", (store) => store.get(label) as IDBRequest<Seen | undefined>);
    if (found) return found;
    const ends = await run("ends", "readonly", (store) => store.index("item").getAll(label) as IDBRequest<Seen[]>);
    const whole = ends[0]?.end.item.ends.map((end) => end.tag) ?? [];
    if (whole.length === 1 && ends[0]) return ends[0];
    return whole.length > 1 ? whole : null;
  } catch {
    return null;
  }
}

/** How many ends this browser has seen. */
export async function seenCount(): Promise<number> {
  try {
    return await run("ends", "readonly", (store) => store.count());
  } catch {
    return 0;
  }
}
