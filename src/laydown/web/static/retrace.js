// Shows only the symptoms that have the words typed or are of the family chosen, while typing. Without this
// the button "Show" does the same; marks are in the form either way and never lost.
const find = document.querySelector("[data-find]");
const family = document.querySelector("[data-family]");
const cards = [...document.querySelectorAll("[data-searched]")];
const count = document.querySelector("[data-count]");
const carried = document.querySelector(".carried");

function show() {
  const words = find.value.toLowerCase().split(/\s+/).filter(Boolean);
  let shown = 0;
  for (const card of cards) {
    const fits = (!family.value || card.dataset.in === family.value) && words.every((word) => card.dataset.searched.includes(word));
    card.hidden = !fits;
    shown += fits ? 1 : 0;
  }
  for (const section of document.querySelectorAll(".family")) {
    section.hidden = !section.querySelector("[data-searched]:not([hidden])");
  }
  count.textContent = `${shown} of ${cards.length} are shown. What you marked stays marked.`;
}

// A page that was asked for with a filter holds only some of them; then the button asks for others.
if (find && family && !find.value && !family.value && !carried) {
  find.addEventListener("input", show);
  family.addEventListener("change", show);
}
