// What is kept on this device until the book has it: entries in the order in which they were
// made, and what the book said of those that it took. Pages and the worker use this alike.

const DATABASE = "recondition";
const ENTRIES = "entries";
const SAID = "said";
const LEASE = "lease";
const SAID_DAYS = 2;
const NEWS = "recondition-kept";

let opened = null;

function open() {
  opened ??= new Promise((done, fail) => {
    const asked = indexedDB.open(DATABASE, 1);
    asked.onupgradeneeded = () => {
      asked.result.createObjectStore(ENTRIES, { keyPath: "number", autoIncrement: true });
      asked.result.createObjectStore(SAID, { keyPath: "number", autoIncrement: true });
      asked.result.createObjectStore(LEASE);
    };
    asked.onsuccess = () => {
      asked.result.onversionchange = () => asked.result.close();
      asked.result.onclose = () => (opened = null);
      done(asked.result);
    };
    asked.onerror = () => fail(asked.error);
    asked.onblocked = () => fail(new Error("another tab holds an older store"));
  });
  opened.catch(() => (opened = null));
  return opened;
}

// Do one piece of work in one transaction; it is over when the device has it on its disk.
async function within(stores, mode, work) {
  const database = await open();
  const transaction = database.transaction(stores, mode, { durability: "strict" });
  const over = new Promise((done, fail) => {
    transaction.oncomplete = done;
    transaction.onabort = () => fail(transaction.error ?? new Error("nothing was kept"));
  });
  const answer = work(...stores.map((name) => transaction.objectStore(name)));
  await over;
  return answer instanceof IDBRequest ? answer.result : answer;
}

// Change what stands under a number; what is gone stays gone. Gives the entry as it is then.
async function change(number, changes) {
  let changed = null;
  await within([ENTRIES], "readwrite", (entries) => {
    entries.get(number).onsuccess = ({ target }) => {
      if (!target.result) return;
      changed = { ...target.result, ...changes };
      entries.put(changed);
    };
  });
  return changed;
}

export const kept = () => within([ENTRIES], "readonly", (entries) => entries.getAll());

export const entryOf = (number) =>
  within([ENTRIES], "readonly", (entries) => entries.get(number));

// Keep an entry, in the place of the one that it was made from where there is one.
export async function keep(entry, instead = 0) {
  await within([ENTRIES], "readwrite", (entries) => {
    if (instead) entries.delete(instead);
    entries.add(entry);
  });
  tell();
}

export async function note(number, changes) {
  const changed = await change(number, changes);
  tell();
  return changed;
}

export async function throwAway(number) {
  await within([ENTRIES], "readwrite", (entries) => entries.delete(number));
  tell();
}

// The book has an entry: it goes, and what the book said waits for a page that shows it.
export async function answered(entry, said) {
  const { key, login, name } = entry;
  await within([ENTRIES, SAID], "readwrite", (entries, words) => {
    entries.delete(entry.number);
    words.add({ key, login, name, said: said.said, to: said.to ?? "", at: Date.now() });
  });
  tell();
}

// Take what was said to a login and no page has shown yet; what nobody asked for in days goes.
export async function saidTo(login) {
  const found = [];
  await within([SAID], "readwrite", (words) => {
    words.openCursor().onsuccess = ({ target: { result: cursor } }) => {
      if (!cursor) return;
      const mine = cursor.value.login === login;
      if (mine) found.push(cursor.value);
      if (mine || Date.now() - cursor.value.at > SAID_DAYS * 86_400_000) cursor.delete();
      cursor.continue();
    };
  });
  return found;
}

// What was said and is waiting, without taking it.
export const saidWaiting = () => within([SAID], "readonly", (words) => words.getAll());

// Take a lease under a name for a time, or prolong one's own; tell whether it is held.
export async function lease(name, holder, seconds) {
  let held = false;
  await within([LEASE], "readwrite", (leases) => {
    leases.get(name).onsuccess = ({ target: { result: found } }) => {
      held = !found || found.holder === holder || found.until < Date.now();
      if (held) leases.put({ holder, until: Date.now() + seconds * 1000 }, name);
    };
  });
  return held;
}

const channel = "BroadcastChannel" in self ? new BroadcastChannel(NEWS) : null;
const listeners = [];

// Hear of every change of what is kept, wherever it was made.
export function heard(listener) {
  if (!listeners.length && channel) channel.onmessage = () => listeners.forEach((each) => each());
  listeners.push(listener);
}

export function tell() {
  channel?.postMessage("changed");
  for (const each of listeners) each();
}
