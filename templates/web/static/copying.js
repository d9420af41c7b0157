// A button that copies what stands in a field; without a script the field is selected by hand.

for (const button of document.querySelectorAll("[data-copy]")) {
  const field = document.getElementById(button.dataset.copy);
  const said = button.parentElement.querySelector("[data-copied]");
  field.addEventListener("focus", () => field.select());
  if (!navigator.clipboard) continue;
  button.hidden = false;
  button.addEventListener("click", async () => {
    try {
      await navigator.clipboard.writeText(field.value);
      said.textContent = "Copied.";
    } catch {
      field.select();
      said.textContent = "The browser did not allow it: copy what is selected.";
    }
  });
}
