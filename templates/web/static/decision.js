// Estimates moved by hand. At once: which side of its flip point a figure lies on, by whole
// numbers alone. After a moment: the plan worked out anew by the server. Nothing is kept.

const PAUSE = 300;
const form = document.getElementById("what-if");
const box = document.getElementById("moved");
const levers = [...document.querySelectorAll(".lever")].map(prepared);
let waiting = 0;
let asked = 0;
let under = null;

// A figure as it is typed, in whole units of its last decimal; null where it is no figure.
function whole(text, places) {
  const found = /^(-?)(\d{1,12})(?:\.(\d*))?$/.exec(text.trim());
  if (!found || (found[3] || "").length > places) return null;
  const units = BigInt(found[2] + (found[3] || "").padEnd(places, "0"));
  return found[1] ? -units : units;
}

// What the field of a lever holds, in the same units; null also for hours or cash below zero.
function figureOf(lever) {
  const units = whole(lever.field.value, lever.places);
  return units !== null && units < 0n && !lever.adds ? null : units;
}

function written(units, places) {
  const digits = (units < 0n ? -units : units).toString().padStart(places + 1, "0");
  const at = digits.length - places;
  const text = places ? digits.slice(0, at) + "." + digits.slice(at) : digits;
  return (units < 0n ? "-" : "") + text;
}

function shown(units, places) {
  const [major, minor] = written(units, places).split(".");
  const grouped = major.replace(/\B(?=(\d{3})+$)/g, ",");
  return minor === undefined ? grouped : grouped + "." + minor;
}

function prepared(element) {
  const lever = {
    element,
    name: element.dataset.name,
    work: element.dataset.work,
    adds: element.dataset.adds === "yes",
    places: Number(element.dataset.places),
    unit: element.dataset.unit,
    likely: BigInt(element.dataset.likely),
    turn: element.dataset.turn === "" ? null : BigInt(element.dataset.turn),
    between: element.dataset.between.split(" ").filter(Boolean).map(BigInt),
    range: element.querySelector("input[type=range]"),
    field: element.querySelector("input[name]"),
    words: element.querySelector(".turn"),
  };
  lever.first = lever.words.textContent;
  lever.start = { turn: lever.turn, between: lever.between, first: lever.first };
  lever.range.hidden = false;
  const typed = figureOf(lever);
  if (typed !== null) lever.range.value = String(typed);
  lever.range.addEventListener("input", () => {
    lever.field.value = written(BigInt(lever.range.value), lever.places);
    moved(lever);
  });
  lever.field.addEventListener("input", () => {
    const units = figureOf(lever);
    if (units !== null) lever.range.value = String(units);
    moved(lever);
  });
  lever.field.addEventListener("keydown", (event) => {
    if (event.key === "Enter") event.preventDefault();
  });
  return lever;
}

function inside(lever, units) {
  return lever.adds ? units >= lever.turn : units < lever.turn;
}

// Between two figures the one that touches less is taken, and only a search tells which.
function undecided(lever, units) {
  return lever.between.length > 0 && units >= lever.between[0] && units < lever.between[1];
}

function insideNow(lever) {
  const shown = lever.element.closest("[data-verdict]").dataset.verdict;
  return undecided(lever, lever.likely) ? shown !== "leave" : inside(lever, lever.likely);
}

// What the flip point says at once, all else as it is.
function sayAtOnce(lever) {
  const units = figureOf(lever);
  lever.field.setAttribute("aria-invalid", units === null ? "true" : "false");
  if (units === null) {
    const below = whole(lever.field.value, lever.places) !== null;
    lever.words.textContent = below
      ? "This cannot be below zero: write zero or more."
      : "This is no figure: write it as 1234.50.";
    return;
  }
  const figure = `${shown(units, lever.places)} ${lever.unit}`;
  lever.range.setAttribute("aria-valuetext", figure);
  if (units === lever.likely) {
    lever.words.textContent = lever.first;
    lever.words.classList.remove("crossed");
    return;
  }
  if (lever.turn === null) {
    lever.words.textContent = `At ${figure}: no figure here changes the advice by itself.`;
    return;
  }
  if (undecided(lever, units)) {
    lever.words.textContent = `At ${figure} the plans with and without it are worth nearly the same, and what touches less is taken: the plan worked out anew says which.`;
    lever.words.classList.remove("crossed");
    return;
  }
  const now = inside(lever, units);
  const turned = now !== insideNow(lever);
  const [first, last] = lever.between.length ? lever.between : [lever.turn, lever.turn];
  const gap = shown(units < first ? first - units : units - last, lever.places);
  const would = now ? "be done" : "be left";
  lever.words.textContent = turned
    ? `At ${figure} this would ${would}: it is ${gap} ${lever.unit} beyond the turn.`
    : `At ${figure} this would still ${would}; the turn is ${gap} ${lever.unit} away.`;
  lever.words.classList.toggle("crossed", turned);
}

function sayVerdict(ref, now) {
  const work = [...document.querySelectorAll("article.work")].find((w) => w.dataset.work === ref);
  if (!work) return;
  const said = work.querySelector("[data-said]");
  const was = work.dataset.verdict;
  const first = was.charAt(0).toUpperCase() + was.slice(1);
  said.textContent = now === was ? first : `${first} (would become: ${now})`;
  said.classList.toggle("turned", now !== was);
}

function moved(lever) {
  sayAtOnce(lever);
  asked += 1;
  if (under) under.abort();
  clearTimeout(waiting);
  box.hidden = false;
  box.classList.add("old");
  box.querySelector("[data-moved-back]").hidden = false;
  const figures = changed();
  if (!Object.keys(figures).length) {
    back();
    if (levers.some((each) => figureOf(each) === null)) {
      box.hidden = false;
      say("A figure cannot be read, so nothing was tried.", []);
    }
    return;
  }
  say("Working the plan out anew …", []);
  waiting = setTimeout(ask, PAUSE, figures, asked);
}

function changed() {
  const figures = {};
  for (const lever of levers) {
    const units = figureOf(lever);
    if (units !== null && units !== lever.likely) figures[lever.name] = written(units, lever.places);
  }
  return figures;
}

async function ask(figures, number) {
  under = new AbortController();
  try {
    const answer = await fetch(form.dataset.answer, {
      method: "POST",
      signal: under.signal,
      headers: {
        "Content-Type": "application/json",
        Accept: "application/json",
        "X-CSRF": document.body.dataset.csrf,
      },
      body: JSON.stringify(figures),
    });
    const found = await answer.json();
    if (number !== asked) return;
    if (answer.ok) take(found);
    else if (answer.status !== 409) say(`${found.what} ${found.todo}`, []);
    else waiting = setTimeout(ask, 1000, figures, number);
  } catch (error) {
    if (error.name !== "AbortError" && number === asked) {
      say("There is no connection; what the flip points say stands beside each figure.", []);
    }
  }
}

function take(found) {
  box.classList.remove("old");
  const turns = found.turned.map((t) => `${t.ref}: ${t.was} becomes ${t.now}`);
  say(
    `Net ${found.net_words} instead of ${found.was_words}, ${found.known}.`,
    turns.length ? turns : ["No verdict changes."],
  );
  for (const [ref, now] of Object.entries(found.verdicts)) sayVerdict(ref, now);
  for (const lever of levers) {
    const anew = found.levers[lever.name];
    if (anew) {
      const turn = anew.turn === null ? null : BigInt(anew.turn);
      turnAt(lever, { turn, between: anew.between.map(BigInt), first: anew.words });
    }
  }
}

// Where a lever turns, with the others as they stand now.
function turnAt(lever, known) {
  Object.assign(lever, known);
  sayAtOnce(lever);
}

function say(words, turns) {
  box.querySelector("[data-moved-words]").textContent = words;
  const list = box.querySelector("[data-moved-turns]");
  list.replaceChildren(...turns.map((text) => {
    const item = document.createElement("li");
    item.textContent = text;
    return item;
  }));
}

function back() {
  asked += 1;
  if (under) under.abort();
  clearTimeout(waiting);
  box.hidden = true;
  for (const lever of levers) turnAt(lever, lever.start);
  for (const work of document.querySelectorAll("article.work")) {
    sayVerdict(work.dataset.work, work.dataset.verdict);
  }
}

if (form && box) {
  for (const link of document.querySelectorAll(".no-script")) link.hidden = true;
  box.querySelector("[data-moved-back]").addEventListener("click", () => {
    for (const lever of levers) {
      lever.field.value = written(lever.likely, lever.places);
      lever.range.value = String(lever.likely);
      sayAtOnce(lever);
    }
    back();
  });
}
