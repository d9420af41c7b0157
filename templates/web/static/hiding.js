// Draws a place to hide over a picture: by a finger or mouse, by arrow keys, by four figures.
// All is in percent of the picture, to a tenth.

const NAMES = ["from_left", "from_top", "width", "height"];
const LEAST = 1;
const area = document.getElementById("places");
const place = document.getElementById("new-place");
const fields = NAMES.map((name) => document.getElementById(`f-${name}`));

const tenth = (value) => Math.round(value * 10) / 10;
const within = (value, least, most) => Math.min(Math.max(value, least), most);

function read() {
  return fields.map((field) => Number(field.value.replace(",", ".")));
}

function draw([left, top, width, height]) {
  if ([left, top, width, height].some((value) => !Number.isFinite(value) || value < 0)) return;
  place.setAttribute("x", left);
  place.setAttribute("y", top);
  place.setAttribute("width", width);
  place.setAttribute("height", height);
}

function put([left, top, width, height]) {
  const wide = within(tenth(width), LEAST, 100);
  const high = within(tenth(height), LEAST, 100);
  const box = [within(tenth(left), 0, 100 - wide), within(tenth(top), 0, 100 - high), wide, high];
  box.forEach((value, i) => { fields[i].value = String(tenth(value)); });
  draw(box.map(tenth));
}

function at(event) {
  const frame = area.getBoundingClientRect();
  return [
    within((event.clientX - frame.left) / frame.width * 100, 0, 100),
    within((event.clientY - frame.top) / frame.height * 100, 0, 100),
  ];
}

let begun = null;
area.addEventListener("pointerdown", (event) => {
  if (!event.isPrimary) return;
  begun = at(event);
  area.setPointerCapture(event.pointerId);
});
area.addEventListener("pointermove", (event) => {
  if (begun === null) return;
  const [x, y] = at(event);
  const [x0, y0] = begun;
  put([Math.min(x, x0), Math.min(y, y0), Math.abs(x - x0), Math.abs(y - y0)]);
});
for (const end of ["pointerup", "pointercancel"]) {
  area.addEventListener(end, () => { begun = null; });
}

const STEPS = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] };
area.addEventListener("keydown", (event) => {
  const step = STEPS[event.key];
  if (!step) return;
  event.preventDefault();
  const [left, top, width, height] = read();
  const [right, down] = step;
  if (event.shiftKey) put([left, top, width + right, height + down]);
  else put([left + right, top + down, width, height]);
});

for (const field of fields) field.addEventListener("input", () => draw(read()));
