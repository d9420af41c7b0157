// A form as an entry that can be kept, and a kept entry as a form that can be changed.

import { entryOf } from "./keep.js";

const MARKED = "#kept=";

// Read a form as it is when its button is pressed; the pictures are copied, for the device may
// take the originals away.
export async function madeFrom(form, submitter) {
  const made = new Date();
  const data = [...new FormData(form, submitter)];
  const entry = {
    path: pathOf(form, submitter),
    page: location.pathname + location.search,
    called: calledSo(form, submitter),
    labels: labelsOf(form),
    made_ms: made.getTime(),
    zone_min: -made.getTimezoneOffset(),
    fields: [],
    files: [],
  };
  for (const [field, value] of data) {
    if (field === "csrf" || field === "key") continue;
    if (typeof value === "string") entry.fields.push([field, value]);
    else if (value.size) entry.files.push(await copied(field, value));
  }
  return entry;
}

async function copied(field, file) {
  const blob = new Blob([await file.arrayBuffer()], { type: file.type });
  return { field, called: file.name || "photograph", blob };
}

function pathOf(form, submitter) {
  const named = submitter?.getAttribute("formaction") ?? form.getAttribute("action") ?? "";
  const url = new URL(named || location.href, location.href);
  if (url.origin !== location.origin) throw new Error("the form goes elsewhere");
  return url.pathname + url.search;
}

// What the entry is called on the page of unsent entries.
function calledSo(form, submitter) {
  const button = submitter?.textContent.trim() ?? "";
  const title = document.querySelector("h1")?.textContent.trim() ?? document.title;
  const about = form.closest("[data-about]")?.dataset.about ?? title;
  return form.dataset.keep || [button, about].filter(Boolean).join(": ");
}

function labelsOf(form) {
  const labels = {};
  for (const each of form.elements) {
    if (!each.name || each.type === "hidden" || !each.labels?.length) continue;
    const legend = each.closest("fieldset")?.querySelector("legend");
    const several = each.type === "radio" || each.type === "checkbox";
    const label = several && legend ? legend : each.labels[0];
    labels[each.name] ??= label.textContent.trim().replace(/\s+/g, " ");
  }
  return labels;
}

export const toChange = (entry) => `${entry.page}${MARKED}${entry.number}`;

// Fill the form of this page with the entry that its address names.
export async function fillFromKept(say) {
  if (!location.hash.startsWith(MARKED)) return;
  const entry = await entryOf(Number(location.hash.slice(MARKED.length)));
  if (!entry || entry.login !== document.body.dataset.login) return;
  const form = [...document.querySelectorAll("form[data-keep]")].find((each) => goesTo(each, entry));
  if (!form) {
    say(["The form of this entry is no longer here: note what it says, and throw it away."]);
    return;
  }
  putBack(form, entry);
  if (entry.refused) say(refusalOf(entry));
  form.querySelector("input:not([type=hidden]), select, textarea, button")?.focus();
}

// Say in lines why the book did not take an entry.
export const refusalOf = ({ refused: { what, where, more = [], todo } }) =>
  [what, where && `Where: ${where}`, ...more, todo].filter(Boolean);

// Fill a form with an entry that it takes the place of when it is sent.
export function putBack(form, entry) {
  fill(form, entry);
  form.dataset.instead = entry.number;
}

function goesTo(form, entry) {
  const buttons = [null, ...form.querySelectorAll("button[formaction]")];
  return buttons.some((button) => pathOf(form, button) === entry.path);
}

function fill(form, entry) {
  const left = [...entry.fields];
  for (const each of [...form.elements]) {
    const at = left.findIndex(([field, text]) => field === each.name && suits(each, text));
    if (each.type === "radio" || each.type === "checkbox") each.checked = at >= 0;
    else if (each.type === "file" || each.name === "csrf" || each.name === "key" || at < 0) continue;
    else each.value = left[at][1];
    if (at >= 0) left.splice(at, 1);
    each.dispatchEvent(new Event("input", { bubbles: true }));
    each.dispatchEvent(new Event("change", { bubbles: true }));
  }
  putFiles(form, entry);
}

const suits = (each, text) =>
  (each.type !== "radio" && each.type !== "checkbox") || each.value === text;

// Each file goes into the first field that has none; whoever hears of it may add another field.
function putFiles(form, entry) {
  for (const { field, blob, called } of entry.files) {
    const fields = [...form.elements].filter((each) => each.type === "file" && each.name === field);
    const input = fields.find((each) => !each.files.length) ?? fields.at(-1);
    if (!input) continue;
    const chosen = new DataTransfer();
    if (input.multiple) for (const there of input.files) chosen.items.add(there);
    chosen.items.add(new File([blob], called, { type: blob.type }));
    input.files = chosen.files;
    input.dispatchEvent(new Event("change", { bubbles: true }));
  }
}
