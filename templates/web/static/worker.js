// Holds the pages of the bench for when there is no connection, and sends what is kept when the
// connection comes back and no page is open. The server writes above this text which version of
// the pages' own files it goes with; another version is another worker, and takes this one's place.
/* global SHELL */

import { send } from "./static/sending.js";

const STATIC = `static-${SHELL.version}`;
const PAGES = "pages-";
const KEPT_AT = "X-Kept-At";
const FOR = "X-For";
const AHEAD = "X-Ahead";
const STALE_MS = 10 * 60_000;
const PATIENCE_MS = 6000;

let signOuts = 0;

self.addEventListener("install", (event) => {
  event.waitUntil(
    (async () => {
      const cache = await caches.open(STATIC);
      await cache.addAll(SHELL.files.map((path) => new Request(path, { cache: "no-cache" })));
      await self.skipWaiting();
    })(),
  );
});

self.addEventListener("activate", (event) => {
  event.waitUntil(
    (async () => {
      for (const name of await caches.keys()) {
        if (name.startsWith("static-") && name !== STATIC) await caches.delete(name);
      }
      await self.clients.claim();
    })(),
  );
});

self.addEventListener("sync", (event) => {
  if (event.tag !== "recondition-send") return;
  event.waitUntil(
    send().then(({ stands }) => {
      if (stands === "away" || stands === "busy") throw new Error("later");
    }),
  );
});

self.addEventListener("message", (event) => {
  if (event.data?.pages) event.waitUntil(holdAhead(event.data.pages));
});

self.addEventListener("fetch", (event) => {
  const { request } = event;
  const { origin, pathname } = new URL(request.url);
  if (origin !== self.location.origin) return;
  if (request.method === "POST" && pathname === "/sign-out") event.respondWith(signOut(request));
  else if (request.method !== "GET") return;
  else if (pathname.startsWith("/static/")) event.respondWith(ownFile(request));
  else if (ofBench(pathname)) event.respondWith(benchPage(request));
  else if (request.mode === "navigate") event.respondWith(otherPage(request));
});

// Which of these are kept, and for whom, the book says with each.
const ofBench = (path) => /^\/(bench|enter|unsent)(\/|$)/.test(path);

async function signOut(request) {
  signOuts += 1;
  await forget(() => true);
  return fetch(request).catch(() => nothing(STILL_SIGNED_IN));
}

async function forget(which) {
  for (const name of await caches.keys()) {
    if (name.startsWith(PAGES) && which(name)) await caches.delete(name);
  }
}

// Ask the book; where the device has a copy it is not waited for over a bad connection.
function inTime(request, copy) {
  const answer = fetch(request);
  if (!copy) return answer;
  answer.catch(() => {});
  const late = new Promise((_, fail) => setTimeout(fail, PATIENCE_MS, new Error("late")));
  return Promise.race([answer, late]);
}

// A file of the pages' own: fresh where there is a connection, else as it was kept.
async function ownFile(request) {
  // Where a newer worker has cleared this one's files away, they are not begun anew.
  const cache = (await caches.has(STATIC)) ? await caches.open(STATIC) : null;
  const found = await cache?.match(request, { ignoreSearch: true });
  try {
    const answer = await inTime(request, found);
    if (answer.ok) await cache?.put(request, answer.clone());
    return answer;
  } catch (trouble) {
    if (found) return found;
    throw trouble;
  }
}

async function benchPage(request) {
  const found = await heldPage(request.url);
  try {
    const answer = await inTime(request, found);
    await hold(request.url, answer.clone());
    return answer;
  } catch {
    return found ? marked(found) : nothing(NOT_HELD);
  }
}

async function otherPage(request) {
  return fetch(request).catch(() => nothing(NO_CONNECTION));
}

// Keep a page under the login that it was made for; what was made for another goes.
async function hold(url, answer) {
  const whose = answer.headers.get(FOR);
  if (!whose || !answer.ok || answer.redirected) return;
  const name = PAGES + whose;
  await forget((other) => other !== name);
  const content = answer.headers.get("Content-Type")?.startsWith("text/html")
    ? await answer.text()
    : await answer.blob();
  if (typeof content === "string" && content.includes('<div class="said"')) return;
  const headers = new Headers(answer.headers);
  headers.set(KEPT_AT, new Date().toISOString());
  const cache = await caches.open(name);
  await cache.put(url, new Response(content, { status: 200, headers }));
}

async function heldPage(url) {
  for (const name of await caches.keys()) {
    const found = name.startsWith(PAGES) && (await (await caches.open(name)).match(url));
    if (found) return found;
  }
  return null;
}

// Write into a page of before as of when it is.
async function marked(found) {
  if (!found.headers.get("Content-Type")?.startsWith("text/html")) return found;
  const text = await found.text();
  const mark = `<body data-as-of="${found.headers.get(KEPT_AT)}"`;
  return new Response(text.replace("<body", mark), { status: 200, headers: found.headers });
}

async function holdAhead(pages) {
  const before = signOuts;
  for (const path of pages) {
    const url = new URL(path, self.location.origin).href;
    if (!ofBench(new URL(url).pathname) || (await isFresh(url))) continue;
    const headers = { Accept: "text/html", [AHEAD]: "yes" };
    try {
      const answer = await fetch(url, { headers, redirect: "error" });
      if (signOuts !== before) return;
      await hold(url, answer);
    } catch {
      return; // no connection, or nobody is signed in: the next page asks again
    }
  }
}

async function isFresh(url) {
  const found = await heldPage(url);
  return found ? Date.now() - Date.parse(found.headers.get(KEPT_AT)) < STALE_MS : false;
}

const STILL_SIGNED_IN =
  "You are not signed out yet: there is no connection. Sign out once more when there is one.";
const NO_CONNECTION = "There is no connection, and this page is not kept on the device.";
const NOT_HELD = "There is no connection, and this page was not opened on this device before.";

function nothing(words) {
  const page = `<!DOCTYPE html>
<html lang="en"><head><meta charset="utf-8"><title>No connection · recondition</title>
<meta name="viewport" content="width=device-width, initial-scale=1">
<link rel="stylesheet" href="/static/site.css"></head>
<body class="bench"><main id="main" class="narrow"><h1>No connection</h1><p>${words}</p>
<p>What you entered is kept on this device.</p>
<p><a class="button" href="/bench">To the bench</a> <a class="button" href="/unsent">See what is kept</a></p>
</main></body></html>`;
  const headers = {
    "Content-Type": "text/html; charset=utf-8",
    "Content-Security-Policy": "default-src 'none'; style-src 'self'; base-uri 'none'",
  };
  return new Response(page, { status: 503, headers });
}
