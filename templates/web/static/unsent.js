// The page that lists what is kept on this device: what waits, and what the book did not take.

import { heard, kept, note, throwAway } from "./keep.js";
import { send } from "./sending.js";
import { toChange } from "./entries.js";
import { clockTime } from "./unsent_bar.js";

const list = document.getElementById("kept");
const empty = document.getElementById("nothing-kept");
const { login = "" } = document.body.dataset;
const pictures = [];

function made(tag, text = "", named = "") {
  const element = document.createElement(tag);
  element.textContent = text;
  if (named) element.className = named;
  return element;
}

function button(text, act) {
  const element = made("button", text);
  element.type = "button";
  element.addEventListener("click", act);
  return element;
}

async function show() {
  const entries = await kept();
  for (const address of pictures.splice(0)) URL.revokeObjectURL(address);
  list.replaceChildren(...entries.map(item));
  list.hidden = !entries.length;
  empty.hidden = Boolean(entries.length);
}

function item(entry) {
  const own = entry.login === login;
  const shown = made("li", "", "tile");
  shown.append(made("h2", own ? entry.called : `An entry by ${entry.name}`));
  shown.append(made("p", state(entry, own), "note"));
  if (entry.refused) shown.append(refusal(entry.refused));
  if (own) shown.append(content(entry), ...photographs(entry));
  shown.append(buttons(entry, own));
  return shown;
}

function state(entry, own) {
  const when = `Made at ${clockTime(new Date(entry.made_ms))}`;
  if (entry.refused) return `${when}. The book did not take it; it is set aside.`;
  if (!own) return `${when}. It is sent when ${entry.name} signs in on this device.`;
  return `${when}. It waits to be sent.`;
}

function refusal({ what, where, todo, more = [] }) {
  const shown = made("div", "", "refused");
  const first = made("p");
  first.append(made("strong", what));
  shown.append(first);
  if (where) shown.append(made("p", `Where: ${where}`));
  for (const line of more) shown.append(made("p", line));
  if (todo) shown.append(made("p", todo));
  return shown;
}

function content(entry) {
  const shown = made("dl", "", "kept-fields");
  for (const [field, text] of entry.fields) {
    const words = entry.words?.[field]?.[text] ?? text;
    if (!words.trim() || !(field in entry.labels)) continue;
    shown.append(made("dt", entry.labels[field]), made("dd", words));
  }
  return shown;
}

function photographs(entry) {
  return entry.files.map(({ blob, called }) => {
    if (!blob.type.startsWith("image/")) return made("p", called);
    const picture = made("img", "", "kept-picture");
    picture.src = URL.createObjectURL(blob);
    picture.alt = called;
    pictures.push(picture.src);
    return picture;
  });
}

function buttons(entry, own) {
  const row = made("p", "", "row");
  if (own && entry.refused) {
    const change = made("a", "Open and change", "button main");
    change.href = toChange(entry);
    row.append(change, button("Send as it is", () => sendAgain(entry)));
  }
  row.append(button("Throw away", () => thrown(entry, own)));
  for (const each of row.children) each.setAttribute("aria-label", `${each.textContent}: ${entry.called}`);
  if (!own) row.lastChild.setAttribute("aria-label", `Throw away the entry by ${entry.name}`);
  return row;
}

async function sendAgain(entry) {
  await note(entry.number, { refused: null });
  await send();
}

async function thrown(entry, own) {
  const called = own ? `"${entry.called}"` : `The entry by ${entry.name}`;
  const doubt = entry.refused ? "" : " If it was under way just now, it may be in the book already.";
  if (confirm(`${called} is on this device alone and would be lost.${doubt} Throw it away?`)) {
    await throwAway(entry.number);
  }
}

if (isSecureContext) {
  heard(show);
  show();
} else {
  empty.hidden = false;
}
