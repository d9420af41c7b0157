// Takes over the forms marked data-keep: what they hold is kept on this device first, and sent
// from there. The bar of every page says what is unsent, and the page what the book said.

import { heard, keep, kept, saidTo, saidWaiting } from "./keep.js";
import { send } from "./sending.js";
import { fillFromKept, madeFrom, putBack, refusalOf } from "./entries.js";
import { bar, barInSight, clockTime, confirmSignOut, plainBar, showRefused, showSaid } from "./unsent_bar.js";

const WAITS_SECONDS = [1, 2, 5, 10, 20, 30, 60];
const PAGES_AHEAD_MAX = 60;
const STILL_HERE_MS = 20_000;
const BENCH = "/bench";

const { login = "", name = "", asOf = "" } = document.body.dataset;
const mine = new Set(); // keys of what this very page kept and has no answer for
let touched = false;
let stands = "";
let failed = 0;
let timer = 0;
let sending = 0;
let leaving = false;
let away = 0;

const isKept = (form) => form.method === "post" && "keep" in form.dataset;

function newKey() {
  if (crypto.randomUUID) return crypto.randomUUID();
  const bytes = crypto.getRandomValues(new Uint8Array(16));
  return [...bytes].map((byte) => byte.toString(16).padStart(2, "0")).join("");
}

// Over an address that is not protected nothing is kept; a form that is sent twice counts once.
function beginPlain() {
  if (document.querySelector("form[data-keep]")) plainBar();
  document.addEventListener("submit", ({ target, defaultPrevented }) => {
    const field = isKept(target) && target.querySelector("input[name=key]");
    if (field && !defaultPrevented) field.value = newKey();
  });
}

function begin() {
  if (login) document.addEventListener("submit", takeOver);
  document.addEventListener("input", () => (touched = true));
  confirmSignOut(login);
  heard(refresh);
  addEventListener("online", () => trySoon().then(freshen));
  addEventListener("beforeunload", goingAway);
  addEventListener("pageshow", () => {
    stillHere();
    trySoon();
  });
  document.addEventListener("visibilitychange", () => document.hidden || trySoon());
  if (login) fillFromKept(showSaid).catch(() => {});
  refresh();
  trySoon();
  if (login) workAhead().catch(() => {});
}

async function takeOver(event) {
  const form = event.target;
  if (event.defaultPrevented || !isKept(form) || "plain" in form.dataset) return;
  event.preventDefault();
  stillHere();
  const sure = { key: newKey(), login, name };
  try {
    const entry = { words: wordsOf(form), ...(await madeFrom(form, event.submitter)), ...sure };
    await keep(entry, Number(form.dataset.instead ?? 0));
  } catch (trouble) {
    form.dataset.plain = "yes";
    delete form.dataset.sent;
    const still = "It is still in the form: send it once more, and it goes without being kept.";
    showSaid([`This device cannot keep it (${trouble}). ${still}`]);
    return;
  }
  mine.add(sure.key);
  touched = false;
  navigator.storage?.persist?.();
  delete form.dataset.sent;
  delete form.dataset.instead;
  if (location.hash) history.replaceState(null, "", location.pathname + location.search);
  form.reset();
  form.dispatchEvent(new CustomEvent("kept", { bubbles: true }));
  wakeWhenThereIsConnection().catch(() => {});
  await trySoon();
  await showEnd(form, event.submitter, sure.key);
}

// What was tapped, in the words that stood beside it: to be shown, never sent.
function wordsOf(form) {
  const words = {};
  for (const each of form.elements) {
    const chosen = each.selectedOptions ?? (each.checked && each.labels?.length ? [each] : []);
    for (const one of chosen) {
      const said = (one.labels?.[0] ?? one).textContent.trim().replace(/\s+/g, " ");
      if (each.name && said) (words[each.name] ??= {})[one.value] = said;
    }
  }
  return words;
}

// Say in sight what became of an entry that was not taken: one that the book refuses stands in its
// form again, unless the next one was begun there meanwhile.
async function showEnd(form, submitter, key) {
  const entry = (await kept()).find((each) => each.key === key);
  if (!entry || leaving) return;
  if (!entry.refused || touched || !form.isConnected) {
    barInSight();
    return;
  }
  putBack(form, entry);
  form.dispatchEvent(new CustomEvent("refused", { bubbles: true }));
  showRefused(refusalOf(entry), submitter ?? form.lastElementChild);
}

async function wakeWhenThereIsConnection() {
  const registration = await navigator.serviceWorker?.ready;
  await registration?.sync?.register("recondition-send");
}

// Somebody did something, or something came back: begin anew with the short waits.
function trySoon() {
  failed = 0;
  return trySending();
}

// Send now, and again later where it did not go through.
async function trySending() {
  clearTimeout(timer);
  sending += 1;
  const end = await send().catch((trouble) => ({ stands: "busy", why: String(trouble) }));
  sending -= 1;
  stands = end.stands;
  clearTimeout(timer);
  if (stands === "away" || stands === "busy") {
    const seconds = end.wait || WAITS_SECONDS[Math.min(failed, WAITS_SECONDS.length - 1)];
    failed += 1;
    timer = setTimeout(trySending, seconds * 1000);
  } else {
    failed = 0;
  }
  await refresh();
}

async function refresh() {
  let entries;
  try {
    entries = await kept();
  } catch (trouble) {
    bar([`What is kept on this device cannot be read: ${trouble}.`]);
    return;
  }
  bar(words(entries), entries);
  // Whoever is sending does not go away in the middle of it.
  if (login && !document.hidden && !sending && !leaving) await hear(entries);
}

// A page of before is loaded anew when there is a connection, unless somebody is typing in it.
async function freshen() {
  if (asOf && !touched && !leaving && stands === "sent") leave(location.href);
}

function leave(to) {
  leaving = true;
  location.assign(to);
}

// Somebody goes elsewhere: an answer that comes meanwhile does not lead them away from there, and
// the next page shows it. A link that only fetches a file leaves this page where it is.
function goingAway() {
  leaving = true;
  clearTimeout(away);
  away = setTimeout(() => {
    stillHere();
    refresh();
  }, STILL_HERE_MS);
}

function stillHere() {
  clearTimeout(away);
  leaving = false;
}

// Show what the book said; where this page's own entries are all answered and nothing was typed
// since, go on as the form would have gone, and let the next page show it.
async function hear(entries) {
  const said = (await saidWaiting()).filter((each) => each.login === login);
  if (!said.length || leaving) return;
  const own = said.filter((each) => mine.has(each.key));
  const waits = entries.some((entry) => mine.has(entry.key) && !entry.refused);
  const to = own.at(-1)?.to ?? "";
  if (own.length && waits) return;
  if (asOf && !touched) {
    if (stands === "sent") leave(location.href);
    return;
  }
  for (const each of own) mine.delete(each.key);
  if (own.length && !touched && to.startsWith("/") && !to.startsWith("//")) {
    leave(to);
    return;
  }
  const taken = await saidTo(login);
  if (taken.length) showSaid(taken.flatMap((each) => each.said));
}

function words(entries) {
  const said = [];
  if (asOf) said.push(`No answer from the book: this page is as of ${clockTime(new Date(asOf))}.`);
  const unsent = entries.filter((entry) => !entry.refused);
  const others = unsent.filter((entry) => entry.login !== login);
  if (unsent.length) {
    const since = clockTime(new Date(Math.min(...unsent.map((entry) => entry.made_ms))));
    said.push(`Kept here, unsent: ${unsent.length}, since ${since}.`);
    const names = [...new Set(others.map((entry) => entry.name))].join(", ");
    if (others.length) said.push(`By ${names}, who has to sign in here: ${others.length}.`);
    if (others.length < unsent.length) said.push(WHY[stands] ?? "");
  }
  const refused = entries.length - unsent.length;
  if (refused) said.push(`Not taken by the book, set aside: ${refused}.`);
  return said.filter(Boolean);
}

const WHY = {
  away: "There is no connection now; sending follows as soon as there is one.",
  busy: "The book cannot take entries now; it is asked again.",
  "signed out": "Your session is over: sign in again to send.",
};

// Let the worker hold the pages of the bench that lie one step ahead.
async function workAhead() {
  if (!navigator.serviceWorker) return;
  await navigator.serviceWorker.register("/worker.js", { type: "module", updateViaCache: "none" });
  const registration = await navigator.serviceWorker.ready;
  if (asOf || !(location.pathname + "/").startsWith(BENCH + "/")) return;
  const atBench = ({ pathname }) => (pathname + "/").startsWith(BENCH + "/");
  const links = [...document.querySelectorAll("main a[href]")]
    .map((link) => ({ url: new URL(link.href), ahead: "ahead" in link.dataset }))
    .filter(({ url, ahead }) => ahead || atBench(url))
    .map(({ url }) => url);
  const inside = [new URL(location.href), ...links]
    .filter((url) => url.origin === location.origin)
    .map((url) => url.pathname + url.search);
  const pages = [...new Set(inside)].slice(0, PAGES_AHEAD_MAX);
  registration.active.postMessage({ pages: ["/unsent", ...pages] });
}

if (!isSecureContext) beginPlain();
else begin();
