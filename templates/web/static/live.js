// Pages that are open show what others enter: asks for news, and takes over the parts that changed.
//
// <main data-live="0007" data-count="12"> (or any element with both) says what the page is about;
// the parts marked data-live-part="a name" are replaced by those of the page fetched anew. Whoever
// listens inside such a part begins anew at the event "live-taken" of the document.

const QUICK_MS = 2000;
const SLOW_MS = 60000;
const page = document.querySelector("[data-live][data-count]");
const sheets = new Map();
let wait = QUICK_MS;
let timer = 0;
let asking = null;

const status = () => {
  let line = document.querySelector("[data-live-news]");
  if (!line) {
    line = document.createElement("p");
    line.className = "unseen";
    line.setAttribute("role", "status");
    line.dataset.liveNews = "";
    document.querySelector("main").prepend(line);
  }
  return line;
};

const say = (lines) => {
  if (!lines.length) return;
  const line = status();
  line.className = "said";
  line.textContent = lines.join(". ");
};

// What differs in two parts though they show the same: marks of one answer, ids of one form.
const bare = (part) => {
  const copy = part.cloneNode(true);
  for (const sheet of copy.querySelectorAll("style")) sheet.removeAttribute("nonce");
  for (const field of copy.querySelectorAll('input[type="hidden"]')) field.removeAttribute("value");
  for (const fold of copy.querySelectorAll("details")) fold.removeAttribute("open");
  for (const form of copy.querySelectorAll("form")) form.removeAttribute("data-sent");
  copy.removeAttribute("data-count");
  return copy.innerHTML;
};

const typed = (part) =>
  [...part.querySelectorAll("input, textarea, select")].some((field) => {
    if (field.type === "hidden") return false;
    if (field.type === "checkbox" || field.type === "radio") return field.checked !== field.defaultChecked;
    if (field.tagName === "SELECT") {
      const options = [...field.options];
      const chosen = options.findIndex((option) => option.defaultSelected);
      return field.selectedIndex !== Math.max(chosen, 0);
    }
    return field.value !== field.defaultValue;
  });

const writing = (part) => {
  const held = document.activeElement;
  return part.contains(held) && held.matches("input, textarea, select");
};

// The policy lets style sheets through by the mark of the first answer only; a sheet made here
// needs none.
const styled = (part, name) => {
  const texts = [...part.querySelectorAll("style")].map((sheet) => {
    const text = sheet.textContent;
    sheet.remove();
    return text;
  });
  const sheet = new CSSStyleSheet();
  sheet.replaceSync(texts.join("\n"));
  const before = sheets.get(name);
  sheets.set(name, sheet);
  document.adoptedStyleSheets = [...document.adoptedStyleSheets.filter((each) => each !== before), sheet];
};

const placed = (part) => {
  const held = document.activeElement;
  if (!part.contains(held) || held === part) return null;
  return [...part.querySelectorAll("a, button, summary, input, select, textarea, [tabindex]")].indexOf(held);
};

const take = (old, fresh) => {
  const name = old.dataset.livePart;
  const place = placed(old);
  const id = place === null ? "" : document.activeElement.id;
  const open = [...old.querySelectorAll("details")].map((fold) => fold.open);
  const made = document.adoptNode(fresh);
  made.querySelectorAll("details").forEach((fold, number) => {
    if (open[number] !== undefined) fold.open = open[number];
  });
  styled(made, name);
  old.replaceWith(made);
  if (place === null) return;
  const all = made.querySelectorAll("a, button, summary, input, select, textarea, [tabindex]");
  const next = (id && document.getElementById(id)) || all[Math.min(place, all.length - 1)];
  next?.focus({ preventScroll: true });
};

// Gives whether everything was taken over; a part in which somebody writes is left for later.
const takeOver = (fresh) => {
  let whole = true;
  for (const old of document.querySelectorAll("[data-live-part]")) {
    const found = fresh.querySelector(`[data-live-part="${CSS.escape(old.dataset.livePart)}"]`);
    if (!found || bare(found) === bare(old)) continue;
    if (writing(old) || typed(old)) whole = false;
    else take(old, found);
  }
  document.dispatchEvent(new CustomEvent("live-taken"));
  return whole;
};

const fetched = async (signal) => {
  const answer = await fetch(location.href, { headers: { Accept: "text/html", "X-Live": "1" }, signal });
  if (!answer.ok || answer.redirected) throw new Error("no such page now");
  return new DOMParser().parseFromString(await answer.text(), "text/html");
};

const look = async () => {
  asking = new AbortController();
  const about = new URLSearchParams({ subject: page.dataset.live, since: page.dataset.count });
  try {
    const answer = await fetch(`/live?${about}`, {
      headers: { Accept: "application/json" }, signal: asking.signal,
    });
    if (answer.status === 401 || answer.status === 403 || answer.redirected) return;
    if (!answer.ok) throw new Error("no answer");
    if (answer.status === 200) {
      const news = await answer.json();
      const fresh = await fetched(asking.signal);
      const now = fresh.querySelector("[data-live][data-count]");
      const told = [...fresh.querySelectorAll("main > .said p")].map((line) => line.textContent);
      if (page.dataset.said !== String(news.count)) say([...told, ...news.said]);
      page.dataset.said = String(news.count);
      if (takeOver(fresh)) page.dataset.count = now ? now.dataset.count : String(news.count);
    }
    wait = QUICK_MS;
  } catch {
    if (asking.signal.aborted) return;
    wait = Math.min(wait * 2, SLOW_MS);
  }
  later();
};

const later = () => {
  clearTimeout(timer);
  if (document.visibilityState === "visible") timer = setTimeout(look, wait);
};

const stop = () => {
  clearTimeout(timer);
  asking?.abort();
};

if (page) {
  status();
  document.addEventListener("visibilitychange", () => {
    if (document.visibilityState === "visible") {
      wait = QUICK_MS;
      look();
    } else {
      stop();
    }
  });
  addEventListener("pagehide", stop);
  addEventListener("pageshow", later);
  addEventListener("online", () => {
    wait = QUICK_MS;
    later();
  });
  document.addEventListener("submit", (event) => {
    if (!event.defaultPrevented) stop();
  });
  later();
}
