// The comparison page: details on demand, other conditions on demand, gamuts in space on demand.

for (const button of document.querySelectorAll(".more-button")) {
  const row = document.getElementById(button.getAttribute("aria-controls"));
  const show = (open) => {
    button.setAttribute("aria-expanded", String(open));
    row.hidden = !open;
  };
  button.hidden = false;
  show(false);
  button.addEventListener("click", () => show(row.hidden));
}

const other = document.querySelector("[data-toggle-secondary]");
if (other) {
  const rows = document.querySelectorAll(".row.secondary");
  const show = (on) => {
    other.setAttribute("aria-pressed", String(on));
    for (const row of rows) {
      row.hidden = !on;
      if (!on) {
        row.nextElementSibling.hidden = true;
        row.querySelector(".more-button").setAttribute("aria-expanded", "false");
      }
    }
  };
  other.hidden = false;
  show(false);
  other.addEventListener("click", () => show(other.getAttribute("aria-pressed") !== "true"));
}

const space = document.querySelector("[data-space]");
space?.addEventListener("submit", async (event) => {
  event.preventDefault();
  const { showInSpace } = await import("./space.js");
  await showInSpace(space);
});
