// Lets files and folders be dropped on the form that hands them in; the form itself works without.
import { droppedFiles } from "./dropped.js";

for (const form of document.querySelectorAll("[data-hand-in]")) prepare(form);

function prepare(form) {
  const zone = form.querySelector(".drop-zone");
  const input = form.querySelector("input[type=file]");
  const said = form.querySelector(".hand-in-said");
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
    const found = await droppedFiles(event.dataTransfer);
    if (!found.length) return;
    const held = new DataTransfer();
    // The folders' names may hold the sheet's code.
    for (const { file, path } of found) held.items.add(new File([file], path, { type: file.type, lastModified: file.lastModified }));
    input.files = held.files;
    form.requestSubmit();
  });
  form.addEventListener("submit", () => {
    const count = input.files.length;
    said.textContent = `Reading ${count} file${count === 1 ? "" : "s"} …`;
    form.querySelector("button[type=submit]").setAttribute("aria-disabled", "true");
  });
}
