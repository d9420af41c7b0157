// What makes the bench quicker; every form works without it.
// - What a device keeps using (the gauge, the unit) is remembered on it.
// - A label is read off a picture: by the browser where it can, else by the server.
// - What was tapped folds away, so that the next thing to tap comes up.
// - A turn of the clock that is kept shows in its panel, before the book has heard of it.
// - One more field for a photograph whenever the last one is filled.

const kept = (name) => `recondition ${name}`;

function remember(name, value) {
  try {
    localStorage.setItem(kept(name), value);
  } catch {
    // A device that keeps nothing is asked each time.
  }
}

function remembered(name) {
  try {
    return localStorage.getItem(kept(name));
  } catch {
    return null;
  }
}

function recall() {
  for (const field of document.querySelectorAll("select[data-remember]")) {
    const value = remembered(field.dataset.remember);
    const there = [...field.options].some((option) => option.value === value);
    if (there && !field.querySelector("option[selected]")) field.value = value;
  }
  for (const group of document.querySelectorAll("[data-remember-one]")) {
    const value = remembered(group.dataset.rememberOne);
    for (const one of group.querySelectorAll("input")) if (one.value === value) one.checked = true;
  }
}

document.addEventListener("change", (event) => {
  const field = event.target;
  if (field.dataset.remember) remember(field.dataset.remember, field.value);
  const group = field.closest("[data-remember-one]");
  if (group) remember(group.dataset.rememberOne, field.value);
});
document.addEventListener("reset", () => setTimeout(recall));
recall();

// Folding. Only a tap folds: arrow keys walk through the choices.

function told(fold) {
  const one = fold.querySelector(`input[name=${fold.dataset.fold}]:checked`);
  fold.querySelector(".picked").textContent = one ? one.nextElementSibling.textContent : "";
}

for (const fold of document.querySelectorAll("[data-fold]")) {
  fold.addEventListener("change", () => told(fold));
  fold.addEventListener("click", (event) => {
    if (event.detail === 0 || event.target.name !== fold.dataset.fold) return;
    told(fold);
    fold.open = false;
    const summary = fold.querySelector("summary");
    summary.focus({ preventScroll: true });
    summary.scrollIntoView({ block: "start" });
  });
  document.addEventListener("reset", () => setTimeout(() => {
    told(fold);
    fold.open = true;
  }));
  told(fold);
}

// The clock: after a kept pause it can go on, after a kept stop nothing more can be done to it.

const TURNS = {
  pause: { next: "resume", button: "Go on", words: "Your clock is paused" },
  resume: { next: "pause", button: "Pause", words: "Your clock runs" },
  stop: { words: "Your clock is stopped" },
  drop: { words: "Your clock is dropped" },
};
const clock = document.querySelector("section.clock");
const clockHead = clock?.querySelector("h2");
let clockSaid = "";

function turnTo(form, turn, words) {
  form.setAttribute("action", form.getAttribute("action").replace(/[a-z]+$/, turn));
  form.querySelector("button").textContent = words;
}

clock?.addEventListener("kept", ({ target: form }) => {
  const turn = /[a-z]+$/.exec(form.getAttribute("action"))[0];
  clockSaid ||= clockHead.textContent;
  clockHead.textContent = `${TURNS[turn].words}: kept here, unsent`;
  if (TURNS[turn].next) turnTo(form, TURNS[turn].next, TURNS[turn].button);
  else for (const each of clock.querySelectorAll("button")) each.disabled = true;
});

clock?.addEventListener("refused", ({ target: form }) => {
  const turn = /[a-z]+$/.exec(form.getAttribute("action"))[0];
  clockHead.textContent = clockSaid;
  if (TURNS[turn].next) turnTo(form, TURNS[turn].next, TURNS[turn].button);
  for (const each of clock.querySelectorAll("button")) each.disabled = false;
});

// Scanning.

const LONGEST = 1600;

async function smaller(file) {
  const picture = await createImageBitmap(file, { imageOrientation: "from-image" });
  const scale = Math.min(1, LONGEST / Math.max(picture.width, picture.height));
  const canvas = document.createElement("canvas");
  canvas.width = Math.round(picture.width * scale);
  canvas.height = Math.round(picture.height * scale);
  canvas.getContext("2d").drawImage(picture, 0, 0, canvas.width, canvas.height);
  picture.close();
  return canvas;
}

async function readHere(canvas) {
  if (!("BarcodeDetector" in window)) return null;
  try {
    const found = await new BarcodeDetector({ formats: ["qr_code"] }).detect(canvas);
    return found.length === 1 ? found[0].rawValue.trim() : null;
  } catch {
    return null;
  }
}

async function readThere(canvas) {
  const picture = await new Promise((done) => canvas.toBlob(done, "image/jpeg", 0.9));
  const body = new FormData();
  body.append("picture", picture, "label.jpg");
  const headers = { Accept: "application/json", "X-CSRF": document.body.dataset.csrf };
  const answer = await fetch("/bench/read-label", { method: "POST", body, headers });
  const said = await answer.json();
  if (!answer.ok) throw new Error(`${said.what}. ${said.todo}`);
  return said.label;
}

async function scan(button, file) {
  const field = document.getElementById(button.dataset.scan);
  const told = document.getElementById(`${field.id}-read`);
  told.textContent = "Reading the label…";
  try {
    const canvas = await smaller(file).catch(() => null);
    if (!canvas) throw new Error("The picture could not be opened: take it again.");
    field.value = (await readHere(canvas)) ?? (await readThere(canvas));
    told.textContent = `Read: ${field.value}`;
    const inputs = [...field.form.elements].filter((each) => each.type === "text");
    inputs[inputs.indexOf(field) + 1]?.focus();
  } catch (error) {
    told.textContent =
      error instanceof TypeError ? "No connection: type the label." : error.message;
  }
}

for (const button of document.querySelectorAll("[data-scan]")) {
  button.hidden = false;
  const input = button.querySelector("input");
  input.addEventListener("change", () => {
    if (input.files[0]) scan(button, input.files[0]);
    input.value = "";
  });
}

// Photographs.

for (const first of document.querySelectorAll("[data-shots]")) {
  const group = first.closest("fieldset");
  group.addEventListener("change", () => {
    const fields = [...group.querySelectorAll("input[type=file]")];
    if (!fields.every((field) => field.files.length)) return;
    const made = group.lastElementChild.cloneNode(true);
    const input = made.querySelector("input");
    input.id = `photo-${fields.length + 1}`;
    input.value = "";
    made.querySelector("label").htmlFor = input.id;
    group.append(made);
  });
}
