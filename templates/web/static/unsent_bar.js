// The bar under the head of every page, and the place where the book's words are shown.

const place = document.getElementById("unsent");
const twoDigits = (number) => String(number).padStart(2, "0");

// A time of today as 14:02, another day's with its day.
export function clockTime(when) {
  const time = `${twoDigits(when.getHours())}:${twoDigits(when.getMinutes())}`;
  if (when.toDateString() === new Date().toDateString()) return time;
  return `${when.getFullYear()}-${twoDigits(when.getMonth() + 1)}-${twoDigits(when.getDate())} ${time}`;
}

let counted = [];

// Say sentences in the bar, with the way to what is kept; without any the bar goes.
export function bar(sentences, entries = []) {
  counted = entries;
  const shown = sentences.join(" ");
  if (!place || place.dataset.shown === shown) return;
  place.dataset.shown = shown;
  place.replaceChildren(shown);
  if (entries.length && location.pathname !== "/unsent") {
    const link = document.createElement("a");
    link.href = "/unsent";
    link.textContent = "See what is kept";
    place.append(" ", link);
  }
  place.hidden = !shown;
}

export function plainBar() {
  bar([
    "Nothing is kept on this device: this address is not protected (http).",
    "What you send needs a connection at that moment.",
  ]);
}

const words = document.createElement("div");
words.setAttribute("role", "status");
document.getElementById("main")?.prepend(words);

// A record that a line begins with leads to its page: "finding F-018: new".
function leading(line) {
  const found = /^([a-z][a-z ]*) ([A-Z]{1,4}-\d{1,9})(?=: )/.exec(line);
  if (!found) return [line];
  const [begins, kind, ref] = found;
  const link = document.createElement("a");
  link.href = `/records/${encodeURIComponent(kind)}/${ref}`;
  link.textContent = ref;
  return [`${kind} `, link, line.slice(begins.length)];
}

export function showSaid(lines) {
  words.className = "said";
  words.replaceChildren(
    ...lines.map((line) => {
      const shown = document.createElement("p");
      shown.append(...leading(line));
      return shown;
    }),
  );
  if (words.getBoundingClientRect().top < 0) words.scrollIntoView({ block: "start" });
}

// Bring the bar into sight, where somebody pressed a button far below it.
export function barInSight() {
  if (place && !place.hidden && place.getBoundingClientRect().top < 0) {
    place.scrollIntoView({ block: "start" });
  }
}

// Say why an entry was refused, right above the button that was pressed.
const refusal = document.createElement("div");
refusal.className = "refused";
refusal.tabIndex = -1;
refusal.setAttribute("role", "alert");
document.addEventListener("kept", () => refusal.remove());

export function showRefused(lines, button) {
  refusal.replaceChildren(
    ...lines.map((line, place) => {
      const shown = document.createElement("p");
      const words = place ? shown : shown.appendChild(document.createElement("strong"));
      words.textContent = line;
      return shown;
    }),
  );
  (button.closest("p") ?? button).before(refusal);
  refusal.focus({ preventScroll: true });
  refusal.scrollIntoView({ block: "nearest" });
}

// Whoever signs out with something unsent is told first that it stays.
export function confirmSignOut(login) {
  document.querySelector("form.out")?.addEventListener("submit", (event) => {
    const left = counted.filter((entry) => entry.login === login).length;
    const there = `Kept on this device and not in the book yet: ${left}.`;
    const then = "They stay here, and are sent when you sign in here again. Sign out?";
    if (left && !confirm(`${there} ${then}`)) {
      event.preventDefault();
      delete event.target.dataset.sent;
    }
  });
}
