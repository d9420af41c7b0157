// What every page does: show where one is, move to what was refused, guard against sending twice.

const here = location.pathname;
for (const link of document.querySelectorAll(".top nav a")) {
  const to = link.getAttribute("href");
  if (here === to || here.startsWith(to + "/")) link.setAttribute("aria-current", "true");
}

const refused = document.querySelector(".refused[tabindex]");
if (refused) refused.focus();

for (const form of document.querySelectorAll("form[method=post]:not([data-again])")) {
  form.addEventListener("submit", (event) => {
    if (form.dataset.sent) {
      event.preventDefault();
      return;
    }
    form.dataset.sent = "yes";
  });
}
addEventListener("pageshow", () => {
  for (const form of document.querySelectorAll("form[data-sent]")) delete form.dataset.sent;
});
