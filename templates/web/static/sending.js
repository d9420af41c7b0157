// Sends what is kept to the book, in order, one sender at a time over all tabs and the worker.
// An entry goes when the book has answered that it has it, and is sent again until then: its key
// makes the book enter it once.

import { answered, kept, lease, note } from "./keep.js";

const SENDER = "recondition-sender";
const LEASE_SECONDS = 120;
const ASK_SECONDS = 20;
const SEND_SECONDS = 90;
const FAULTS_MAX = 5;
const SLOW_DOWN = [408, 425, 429];

let running = null;
let more = false;

// Send what can be sent. Gives how it stands: "sent" (nothing is left), "away" (no connection),
// "busy" (the book cannot take it now), "signed out", or "others" (what is left is of others),
// and after how many seconds the book wants to be asked again, where it said so.
export function send() {
  more = true;
  running ??= (async () => {
    let end;
    while (more) {
      more = false;
      end = await alone(round);
    }
    return end;
  })().finally(() => (running = null));
  return running;
}

async function alone(work) {
  if (navigator.locks) return navigator.locks.request(SENDER, () => work(async () => true));
  const me = String(Math.random());
  const hold = () => lease(SENDER, me, LEASE_SECONDS);
  if (!(await hold())) return { stands: "busy" };
  try {
    return await work(hold);
  } finally {
    await lease(SENDER, me, 0);
  }
}

async function round(hold) {
  let who = null;
  for (;;) {
    const all = await kept();
    if (!all.some((entry) => !entry.refused)) return { stands: "sent" };
    try {
      who ??= await askWho();
    } catch (trouble) {
      return waiting(trouble);
    }
    if (!who.login) return { stands: "signed out" };
    const entry = next(all, who.login);
    if (!entry) return { stands: "others" };
    if (!(await hold())) return { stands: "busy" };
    try {
      who = await sendOne(entry, who);
    } catch (trouble) {
      return waiting(trouble);
    }
  }
}

class Busy extends Error {
  constructor(wait) {
    super("the book cannot take it now");
    this.wait = wait;
  }
}

function waiting(trouble) {
  if (trouble instanceof Busy) return { stands: "busy", wait: trouble.wait };
  return { stands: "away", why: String(trouble) };
}

// The first entry of a login that does not name one which is set aside.
function next(all, login) {
  const aside = all.filter((entry) => entry.refused).map((entry) => entry.key);
  const named = (entry) => entry.fields.some(([, text]) => aside.includes(text));
  return all.find((entry) => entry.login === login && !entry.refused && !named(entry));
}

// Ask the book who is signed in, the mark that goes with it, and what time it is there.
export async function askWho() {
  const answer = await fetch("/device/mark", {
    headers: { Accept: "application/json" },
    cache: "no-store",
    redirect: "error",
    signal: AbortSignal.timeout(ASK_SECONDS * 1000),
  });
  if (!answer.ok) throw new Busy(asked(answer));
  const who = await answer.json();
  return { ...who, ahead_ms: Date.parse(who.now) - Date.now() };
}

async function sendOne(entry, who) {
  const whole = entry.at ? entry : await note(entry.number, { at: momentOf(entry, who.ahead_ms) });
  if (!whole) return who; // thrown away meanwhile
  const answer = await fetch(whole.path, {
    method: "POST",
    body: bodyOf(whole),
    headers: { Accept: "application/json", "X-CSRF": who.csrf },
    redirect: "manual",
    signal: AbortSignal.timeout(SEND_SECONDS * 1000),
  });
  const words = await answer.json().catch(() => null);
  if (answer.ok && Array.isArray(words?.said)) {
    await answered(whole, words);
    return who;
  }
  if (answer.ok || SLOW_DOWN.includes(answer.status)) throw new Busy(asked(answer));
  if (answer.status >= 500) return fault(whole, answer, who);
  const now = await askWho();
  if (now.login === who.login && now.csrf === who.csrf) await setAside(whole, words);
  return now;
}

// The book failed: it is asked again, and after some faults of its own lets the others pass.
async function fault(entry, answer, who) {
  const faults = (entry.faults ?? 0) + (answer.status === 500);
  if (faults < FAULTS_MAX) {
    await note(entry.number, { faults });
    throw new Busy(asked(answer));
  }
  await setAside({ ...entry, faults: 0 }, { what: `The book failed at it ${faults} times.` });
  return who;
}

function setAside(entry, words) {
  const { what, where = "", todo = "", more = [] } = words ?? {};
  const refused = { what: what ?? "The book did not say why.", where, todo, more };
  return note(entry.number, { refused, faults: 0 });
}

const asked = (answer) => Number(answer.headers.get("Retry-After")) || 0;

function bodyOf(entry) {
  const body = new FormData();
  for (const [field, text] of entry.fields) {
    if (field === "key") continue;
    body.append(field, field === "at" && !text ? entry.at : text);
  }
  for (const { field, blob, called } of entry.files) body.append(field, blob, called);
  body.append("key", entry.key);
  body.append("pressed", entry.at);
  return body;
}

// Write when an entry was made, by the book's clock, in the zone in which it was made.
export function momentOf({ made_ms, zone_min }, ahead_ms = 0) {
  const local = new Date(made_ms + ahead_ms + zone_min * 60_000).toISOString().slice(0, 19);
  const [hours, minutes] = [Math.floor(Math.abs(zone_min) / 60), Math.abs(zone_min) % 60];
  const two = (number) => String(number).padStart(2, "0");
  return `${local}${zone_min < 0 ? "-" : "+"}${two(hours)}:${two(minutes)}`;
}
