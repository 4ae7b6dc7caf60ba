// Asks how far the work is, says so, and goes on when it is done.
const EVERY_MS = 600;

const card = document.querySelector("[data-progress]");
const what = card.querySelector(".working-what");
const bar = card.querySelector("progress");

async function look() {
  try {
    const answer = await fetch(card.dataset.progress, { headers: { Accept: "application/json" } });
    const now = await answer.json();
    if (now.next) {
      location.replace(now.next);
      return;
    }
    const said = now.total ? `${now.what} (${now.done} of ${now.total})` : now.what;
    if (said && what.textContent !== said) what.textContent = said;
    if (now.total) {
      bar.max = now.total;
      bar.value = now.done;
    }
  } catch {
    what.textContent = "The workbench does not answer. Is it still running?";
  }
  setTimeout(look, EVERY_MS);
}

setTimeout(look, EVERY_MS / 2);
