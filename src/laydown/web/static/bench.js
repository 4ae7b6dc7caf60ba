// The checklist of a sitting without waiting for the network: what is ticked stays on this tablet until the
// workbench has it, is sent in order, and is known there by its step and time, so that it counts once.
const run = document.querySelector("[data-run]").dataset.run;
const STORE = `laydown-bench-${run}`;
const AGAIN_MS = 5_000;
const token = document.querySelector("meta[name=csrf]").content;
const notice = document.querySelector(".unsent");

let queue = load();
let sending = false;
let printedRow = ""; // where a print was just noted: the focus goes back there once the row is renewed

function load() {
  try {
    return JSON.parse(localStorage.getItem(STORE)) || [];
  } catch {
    return [];
  }
}

function save() {
  try {
    if (queue.length) localStorage.setItem(STORE, JSON.stringify(queue));
    else localStorage.removeItem(STORE);
  } catch {
    // A browser that keeps nothing still sends; it only cannot outlive a reload.
  }
  const count = queue.length;
  notice.hidden = !count || !notice.dataset.held;
  notice.textContent = `${count} answer${count === 1 ? " waits" : "s wait"} here until the workbench can be reached. Go on; nothing is lost.`;
}

// What a row looks like when it was ticked here, before and after the workbench has it.
function show(item, said = "") {
  const row = document.getElementById(item.row);
  if (!row) return;
  const done = row.querySelector(".step-done");
  const open = row.querySelector(".step-open");
  row.classList.toggle("waiting-to-send", !said);
  if (item.kind === "printed") {
    const tap = row.querySelector(".step-tap");
    tap.disabled = true;
    tap.querySelector(".shape").textContent = "●";
    tap.querySelector(".step-text").textContent = said || `Printed ${clock(item.at)}`;
    return;
  }
  const ticked = item.kind === "tick";
  row.classList.toggle("open", !ticked);
  row.classList.toggle("done", ticked);
  done.hidden = !ticked;
  open.hidden = ticked;
  if (!ticked) return;
  done.querySelector(".step-said").textContent = said || [clock(item.at), item.fields.why || item.fields.value].filter(Boolean).join(", ");
  if (!said) done.querySelector("[name=ticked_at]").value = item.at;
}

function clock(at) {
  return new Date(at).toLocaleTimeString([], { hour: "2-digit", minute: "2-digit", hour12: false });
}

// What is done folds away but for the last one, which may have been a slip; the next step stands below it.
function markNext(move) {
  const rows = [...document.querySelectorAll(".step")].sort((one, other) => one.dataset.number - other.dataset.number);
  const open = rows.filter((row) => row.querySelector(".step-open:not([hidden])"));
  const [next, ...later] = open;
  for (const row of rows) row.classList.toggle("is-next", row === next);
  const done = rows.filter((row) => !open.includes(row));
  const last = done.reduce((late, row) => (late && ticked(late) > ticked(row) ? late : row), undefined);
  fold(document.getElementById("steps-done"), done.filter((row) => row !== last));
  fill(document.getElementById("steps-now"), [last, next].filter(Boolean));
  fold(document.getElementById("steps-later"), later);
  if (move && next) next.scrollIntoView({ block: "nearest", behavior: matchMedia("(prefers-reduced-motion: reduce)").matches ? "auto" : "smooth" });
  const bar = document.querySelector(".run-progress progress");
  if (bar) {
    bar.value = done.length;
    bar.nextElementSibling.textContent = `${done.length} of ${rows.length} steps`;
  }
}

function ticked(row) {
  return Date.parse(row.querySelector("[name=ticked_at]").value);
}

function fold(details, rows) {
  if (!details) return;
  fill(details.querySelector(".steps"), rows);
  details.hidden = !rows.length;
  details.querySelector("summary .num").textContent = rows.length;
}

function fill(list, rows) {
  if (list && (list.children.length !== rows.length || rows.some((row, place) => list.children[place] !== row))) list.replaceChildren(...rows);
}

function refuse(item, problem) {
  const row = document.getElementById(item.row);
  if (!row) return;
  row.querySelector(".trouble")?.remove();
  const box = document.createElement("div");
  box.className = "trouble";
  box.setAttribute("role", "alert");
  const words = document.createElement("p");
  words.textContent = problem;
  box.append(words);
  row.prepend(box);
  row.classList.remove("waiting-to-send");
  if (item.kind === "tick") {
    row.querySelector(".step-done").hidden = true;
    row.querySelector(".step-open").hidden = false;
    for (const details of row.querySelectorAll(".step-open details")) details.open = true;
  } else if (item.kind === "printed") {
    const tap = row.querySelector(".step-tap");
    tap.disabled = false;
    tap.querySelector(".shape").textContent = "○";
    tap.querySelector(".step-text").textContent = "Printed now";
  }
  markNext(false);
  row.closest("details.fold, #later-sheets")?.setAttribute("open", "");
  box.scrollIntoView({ block: "center" });
}

// One after the other, in order; two windows of one tablet take turns where the browser can arrange that.
async function send() {
  if (sending || !queue.length) return;
  sending = true;
  try {
    await (navigator.locks ? navigator.locks.request(STORE, sendAll) : sendAll());
  } finally {
    sending = false;
    save();
  }
  if (queue.length && !notice.dataset.held) send(); // something was ticked in the meantime
}

async function sendAll() {
  let sent = 0;
  while (queue.length) {
    const item = queue[0];
    let answer;
    try {
      answer = await fetch(item.address, {
        method: "POST",
        headers: { Accept: "application/json", "X-CSRF-Token": token },
        body: new URLSearchParams({ ...item.fields, [item.kind === "untick" ? "ticked_at" : "at"]: item.at }),
      });
    } catch {
      return hold();
    }
    // Not signed in any more, or trouble in the workbench: the answers wait, they are not wrong.
    if ([401, 403, 429].includes(answer.status) || answer.status >= 500) return hold();
    queue.shift();
    save();
    sent += 1;
    const told = await answer.json().catch(() => ({}));
    if (told.ticked_at) believe(item, told.ticked_at);
    if (!answer.ok) refuse(item, told.problem || "This was refused.");
    else if (!queue.some((other) => other.row === item.row)) show(item, told.said || (item.kind === "printed" ? `Printed ${clock(item.at)}` : " "));
  }
  delete notice.dataset.held;
  if (sent) await refresh();
}

// The time of a tick as the workbench keeps it: where this tablet's clock is wrong, it is another.
function believe(item, at) {
  const field = document.getElementById(item.row)?.querySelector("[name=ticked_at]");
  if (field) field.value = at;
  for (const other of queue) if (other.kind === "untick" && other.row === item.row && other.at === item.at) other.at = at;
}

function hold() {
  notice.dataset.held = "yes";
  save();
  setTimeout(send, AGAIN_MS);
}

// Cautions and sheets as the workbench sees them now; the steps themselves stay, somebody's finger is on them.
async function refresh() {
  try {
    const answer = await fetch(location.pathname, { headers: { Accept: "text/html" } });
    const page = new DOMParser().parseFromString(await answer.text(), "text/html");
    for (const part of ["[data-live]", "#bar", "#sheets", "#as-set", "#room"]) {
      const fresh = page.querySelector(part);
      const here = document.querySelector(part);
      if (fresh && here && !here.querySelector("input:focus, select:focus, textarea:focus")) renew(here, fresh);
    }
    for (const item of queue) show(item);
  } catch {
    // It was out of reach; the next answer brings it.
  }
}

// A part is left alone only while somebody writes in it, not because a button there was tapped; what was
// unfolded stays so.
function renew(here, fresh) {
  const unfolded = [...here.querySelectorAll("details[open]")].map(place);
  here.replaceChildren(...fresh.childNodes);
  for (const details of here.querySelectorAll("details")) if (unfolded.includes(place(details))) details.open = true;
  if (here.id !== "sheets" || !printedRow) return;
  document.getElementById(printedRow)?.querySelector("a, summary, button")?.focus({ preventScroll: true });
  printedRow = "";
}

function place(details) {
  return details.id || `${details.closest("[data-sheet]")?.id || ""} ${details.firstElementChild.textContent}`;
}

document.addEventListener("submit", (event) => {
  const form = event.target;
  if (!form.dataset.kept) return;
  const button = event.submitter;
  const data = new FormData(form, button);
  if (data.get("when")) return; // a time somebody typed goes the plain way
  const skipping = data.get("what") === "skip";
  const needed = form.querySelector(".step-open > .step-note input, :scope > .step-note input");
  if ((skipping && !data.get("why")) || (!skipping && needed && !needed.value)) {
    event.preventDefault();
    (skipping ? form.querySelector("[name=why]") : needed).focus();
    return;
  }
  event.preventDefault();
  const fields = {};
  for (const [name, value] of data) if (name !== "csrf" && name !== "ticked_at" && value) fields[name] = value;
  const item = {
    kind: form.dataset.kept,
    address: form.getAttribute("action"),
    row: form.closest("[data-step], [data-sheet]").id,
    at: form.dataset.kept === "untick" ? data.get("ticked_at") : new Date().toISOString(),
    fields,
  };
  form.closest("[data-step], [data-sheet]").querySelector(".trouble")?.remove();
  if (item.kind === "printed") {
    printedRow = item.row;
    document.activeElement?.blur(); // nobody writes in that row any more
  }
  queue.push(item);
  save();
  show(item);
  markNext(item.kind === "tick");
  send();
});

window.addEventListener("online", send);
for (const item of queue) show(item);
if (queue.length) {
  notice.dataset.held = "yes";
  save();
  markNext(false);
}
send();
