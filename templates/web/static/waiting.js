// Something is being worked out: ask now and then whether it is ready, and show the page anew.
// [data-waits] names an address whose JSON says {"ready": true} or {"ended": true} at the end.

const line = document.querySelector("[data-waits]");
let pause = 700;

async function look() {
  try {
    const answer = await fetch(line.dataset.waits, { headers: { Accept: "application/json" } });
    const found = await answer.json();
    if (!answer.ok) return;
    if (found.ready || found.ended) {
      location.reload();
      return;
    }
    const words = line.querySelector("[data-waits-words]");
    if (words && found.words) words.textContent = found.words;
  } catch {
    // The connection is away for a moment; the link on the page stays.
  }
  pause = Math.min(pause * 1.3, 5000);
  setTimeout(look, pause);
}

if (line) setTimeout(look, pause);
