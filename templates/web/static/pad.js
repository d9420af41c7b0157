// A number pad of our own beneath the field of the readings: 0 to 9, a point, next, undo.
// The field stays what is sent, so a keyboard works as well: a blank parts two readings.

const KEYS = ["1", "2", "3", "4", "5", "6", "7", "8", "9", ".", "0", "undo"];
const WORDS = { ".": "point", undo: "undo" };

function pressed(text, key) {
  const last = text.split(" ").at(-1);
  if (key === "undo") return text.slice(0, -1);
  if (key === " ") return last ? `${text} ` : text;
  if (key === "." && (last.includes(".") || !last)) return text;
  return text + key;
}

function shown(list, text) {
  const readings = text.trim() ? text.trim().split(/[\s;]+/) : [];
  list.replaceChildren(
    ...readings.map((reading, place) => {
      const item = document.createElement("li");
      item.textContent = reading;
      item.classList.toggle("typing", place === readings.length - 1 && !/[\s;]$/.test(text));
      return item;
    }),
  );
}

function button(words, label, key, field) {
  const made = document.createElement("button");
  made.type = "button";
  made.textContent = words;
  if (label) made.setAttribute("aria-label", label);
  made.addEventListener("click", () => {
    field.value = pressed(field.value, key);
    field.dispatchEvent(new Event("input", { bubbles: true }));
  });
  return made;
}

for (const field of document.querySelectorAll("[data-pad]")) {
  const list = document.createElement("ol");
  list.className = "readings";
  list.setAttribute("aria-label", "Readings so far");
  list.setAttribute("aria-live", "polite");
  const pad = document.createElement("div");
  pad.className = "pad";
  pad.setAttribute("role", "group");
  pad.setAttribute("aria-label", "Number pad");
  for (const key of KEYS) pad.append(button(key === "undo" ? "Undo" : key, WORDS[key], key, field));
  const next = button("Next reading", "", " ", field);
  next.className = "next";
  const fewer = button("Clear", "Clear all readings", "", field);
  fewer.addEventListener("click", () => {
    field.value = "";
    field.dispatchEvent(new Event("input", { bubbles: true }));
  });
  pad.append(next, fewer);
  // The device's own keyboard would cover the pad; a hardware keyboard still types.
  field.inputMode = "none";
  field.after(list, pad);
  field.addEventListener("input", () => shown(list, field.value));
  document.addEventListener("reset", () => setTimeout(() => shown(list, field.value)));
  shown(list, field.value);
}
