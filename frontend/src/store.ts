/** What waits on this device: lines, photos, and a few facts, in the browser's own database. */

import { openDB, type DBSchema, type IDBPDatabase } from "idb";

/** One line said here and not yet known to be written. */
export interface WaitingLine {
  id: string;
  order: number;
  said: string;
  tree: string;
  text?: string;
  withdraws?: string;
  after?: string;
  /** True once it may have reached the server, whatever came back. */
  tried: boolean;
  /** Why the server would not take it; then it waits for the grower, not for signal. */
  refused?: string;
}

/** One photo taken here and not yet known to be written. */
export interface WaitingPhoto {
  id: string;
  order: number;
  said: string;
  tree: string;
  fields: Record<string, string>;
  file: Blob;
  refused?: string;
}

interface Layout extends DBSchema {
  lines: { key: string; value: WaitingLine; indexes: { order: number } };
  photos: { key: string; value: WaitingPhoto; indexes: { order: number } };
  facts: { key: string; value: unknown };
}

export type Store = IDBPDatabase<Layout>;

let opened: Promise<Store> | undefined;

/** Open the database, once a page. */
export function openStore(): Promise<Store> {
  opened ??= openDB<Layout>("bench", 1, {
    upgrade(db) {
      db.createObjectStore("lines", { keyPath: "id" }).createIndex("order", "order");
      db.createObjectStore("photos", { keyPath: "id" }).createIndex("order", "order");
      db.createObjectStore("facts");
    },
    blocking(_from, _to, event) {
      (event.target as IDBDatabase).close();
      opened = undefined;
    },
    terminated() {
      opened = undefined;
    },
  });
  opened.catch(() => {
    opened = undefined;
  });
  return opened;
}

/** Read a fact, or the given one when there is none yet. */
export async function fact<T>(name: string, otherwise: T): Promise<T> {
  const found = await (await openStore()).get("facts", name);
  return found === undefined ? otherwise : (found as T);
}

/** Keep a fact. */
export async function keepFact(name: string, value: unknown): Promise<void> {
  await (await openStore()).put("facts", value, name);
}

/** The next place in the queue; places never come twice, in whichever tab they are asked for. */
export async function nextOrder(store: Store): Promise<number> {
  const tx = store.transaction("facts", "readwrite");
  const next = Number((await tx.store.get("order")) ?? 0) + 1;
  await tx.store.put(next, "order");
  await tx.done;
  return next;
}
