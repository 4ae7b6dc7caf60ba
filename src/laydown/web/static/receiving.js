// Receives dropped or chosen files: one after the other, each with its progress, folders inside folders too.
import { droppedFiles } from "./dropped.js";

const AT_ONCE = 3;

for (const form of document.querySelectorAll("[data-drop]")) prepare(form);

function prepare(form) {
  form.classList.add("ready");
  const zone = form.querySelector(".drop-zone");
  for (const input of form.querySelectorAll("input[type=file]")) {
    input.addEventListener("change", () => {
      const chosen = [...input.files].map((file) => ({ file, path: file.webkitRelativePath || file.name }));
      if (chosen.length) receive(form, chosen);
    });
  }
  for (const kind of ["dragenter", "dragover"]) {
    zone.addEventListener(kind, (event) => {
      event.preventDefault();
      zone.classList.add("over");
    });
  }
  zone.addEventListener("dragleave", () => zone.classList.remove("over"));
  zone.addEventListener("drop", async (event) => {
    event.preventDefault();
    zone.classList.remove("over");
    const dropped = await droppedFiles(event.dataTransfer);
    if (dropped.length) receive(form, dropped);
  });
}

async function receive(form, chosen) {
  const zone = form.querySelector(".drop-zone");
  const panel = form.querySelector(".receiving");
  const title = panel.querySelector(".receiving-title");
  const list = panel.querySelector(".receiving-list");
  zone.hidden = true;
  panel.hidden = false;
  list.replaceChildren();
  const waiting = chosen.map((item) => ({ ...item, line: addLine(list, item.path) }));
  const total = waiting.length;
  title.textContent = `Receiving ${total} file${total === 1 ? "" : "s"}`;
  let draft = form.dataset.draft;
  try {
    if (!draft) draft = (await (await ask("POST", "/drafts")).json()).id;
  } catch {
    title.textContent = "The workbench does not answer. Is it still running?";
    zone.hidden = false;
    return;
  }
  form.dataset.draft = draft;
  let failed = 0;
  const queue = [...waiting];
  const worker = async () => {
    for (let item = queue.shift(); item; item = queue.shift()) {
      if (!(await send(draft, item, Number(form.dataset.largestMb)))) failed += 1;
    }
  };
  await Promise.all(Array.from({ length: AT_ONCE }, worker));
  const next = `/uploads/${draft}/arrange`;
  if (!failed) {
    title.textContent = "All received.";
    location.assign(next);
    return;
  }
  title.textContent = `${total - failed} of ${total} files received; the others say why not.`;
  const link = document.createElement("a");
  link.className = "button";
  link.href = failed < total ? next : "/new";
  link.textContent = failed < total ? "Go on without them" : "Start again";
  panel.querySelector(".receiving-next").replaceChildren(link);
}

const token = document.querySelector('meta[name="csrf"]').content;

function ask(method, url) {
  return fetch(url, { method, headers: { Accept: "application/json", "X-CSRF-Token": token } });
}

// XMLHttpRequest, because fetch cannot say how much of an upload is through.
function send(draft, { file, path, line }, largestMb) {
  return new Promise((resolve) => {
    const end = (fine, words) => {
      line.bar.value = fine ? 1 : 0;
      line.said.textContent = words;
      line.said.classList.toggle("refused", !fine);
      resolve(fine);
    };
    if (file.size > largestMb * 2 ** 20) {
      end(false, `The file is larger than ${largestMb} MB, far more than a measurement file needs.`);
      return;
    }
    const request = new XMLHttpRequest();
    request.open("PUT", `/drafts/${draft}/files?path=${encodeURIComponent(path)}`);
    request.setRequestHeader("Accept", "application/json");
    request.setRequestHeader("X-CSRF-Token", token);
    request.setRequestHeader("Content-Type", "application/octet-stream");
    request.responseType = "json";
    request.upload.onprogress = (event) => {
      if (event.lengthComputable) line.bar.value = (0.9 * event.loaded) / event.total;
    };
    request.onload = () => {
      const answer = request.response || {};
      if (request.status < 300) end(true, answer.said || "received");
      else end(false, answer.problem || "The file was refused.");
    };
    request.onerror = () => end(false, "The file could not be sent. Is it still there, and is the workbench running?");
    request.send(file);
  });
}

function addLine(list, path) {
  const item = document.createElement("li");
  const name = document.createElement("span");
  const bar = document.createElement("progress");
  const said = document.createElement("span");
  name.className = "file-name";
  name.textContent = path;
  bar.max = 1;
  bar.value = 0;
  bar.setAttribute("aria-label", `Sending ${path}`);
  said.className = "file-said";
  item.append(name, bar, said);
  list.append(item);
  return { bar, said };
}
