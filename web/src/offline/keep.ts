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
  /** Exactly what is sent: the key belongs to it. For a look these words go
   * into the address, and the photo is what is posted. */
  body: string;
  /** The photo of a look, its bytes as they were when it was chosen. */
  photo?: Blob;
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

/** What the server said last about how an end is cleaned or looked at. */
interface KeptGuide {
  /** Which guide, and the label of the end. */
  name: string;
  at: string;
  guide: unknown;
}

type Shelf = "waiting" | "ends" | "guides";
const NAME = "matewell";
let opened: Promise<IDBDatabase> | undefined;

function open(): Promise<IDBDatabase> {
  opened ??= new Promise((done, fail) => {
    const request = indexedDB.open(NAME, 2);
    request.onupgradeneeded = (event) => {
      if (event.oldVersion < 1) {
        request.result.createObjectStore("waiting", { keyPath: "id", autoIncrement: true });
        request.result.createObjectStore("ends", { keyPath: "tag" }).createIndex("item", "item");
      }
      request.result.createObjectStore("guides", { keyPath: "name" });
    };
    const failed = (why: Error | null) => {
      opened = undefined;
      fail(why ?? new Error("this browser keeps nothing"));
    };
    request.onsuccess = () => {
      // A window with a newer page must not wait for this one.
      request.result.onversionchange = () => {
        request.result.close();
        opened = undefined;
      };
      done(request.result);
    };
    request.onerror = () => failed(request.error);
    request.onblocked = () => failed(new Error("another window of this page is older: close it"));
  });
  return opened;
}

async function run<T>(store: Shelf, mode: IDBTransactionMode, act: (store: IDBObjectStore) => IDBRequest<T>): Promise<T> {
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

/** Keeps a guide as the server said it, for where there is no connection. */
export async function keepGuide(kind: "clean" | "look", tag: string, guide: unknown, at: string): Promise<void> {
  try {
    await run("guides", "readwrite", (store) => store.put({ name: `${kind} ${tag}`, at, guide } satisfies KeptGuide));
  } catch {
    // It is asked anew next time.
  }
}

/** A guide as it was said last, with the moment; nothing when it never was. */
export async function keptGuide<T>(kind: "clean" | "look", tag: string): Promise<{ guide: T; at: string } | null> {
  try {
    const found = await run("guides", "readonly", (store) => store.get(`${kind} ${tag}`) as IDBRequest<KeptGuide | undefined>);
    return found ? { guide: found.guide as T, at: found.at } : null;
  } catch {
    return null;
  }
}
