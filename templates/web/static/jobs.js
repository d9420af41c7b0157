// The page of long work asks how far it is, and shows the result when there is one.

const job = document.querySelector("[data-job]");
const words = document.querySelector("[data-job-words]");
const bar = document.querySelector("[data-job-bar]");
const QUICK_MS = 500;
const SLOW_MS = 5000;
let wait = QUICK_MS;

const grouped = (number) => String(number).replace(/\B(?=(\d{3})+(?!\d))/g, ",");

const said = (now) => {
  let text = now.state[0].toUpperCase() + now.state.slice(1);
  if (now.ahead) text += `, ${now.ahead} before it`;
  if (now.words) text += `: ${now.words}`;
  if (now.total) text += `, ${grouped(now.done)} of ${grouped(now.total)}`;
  else if (now.done) text += `, ${grouped(now.done)} so far`;
  return `${text}.`;
};

const show = (now) => {
  const text = said(now);
  if (words.textContent !== text) words.textContent = text;
  if (now.total) {
    bar.max = now.total;
    bar.value = now.done;
  } else {
    bar.removeAttribute("value");
  }
};

const look = async () => {
  try {
    const answer = await fetch(job.dataset.job, { headers: { Accept: "application/json" } });
    const now = await answer.json();
    if (!answer.ok || now.ended) {
      location.replace(job.dataset.job);
      return;
    }
    show(now);
    wait = Math.min(wait * 1.2, 2000);
  } catch {
    words.textContent = "The server does not answer; asking again.";
    wait = SLOW_MS;
  }
  setTimeout(look, wait);
};

document.querySelector("[data-job-again]").hidden = true;
setTimeout(look, wait);
