// Every file of a drop, with its path, going into folders.

export async function droppedFiles(transfer) {
  // Entries must be taken before the first await; the list is emptied afterwards.
  const entries = [...transfer.items].map((item) => item.webkitGetAsEntry?.()).filter(Boolean);
  if (!entries.length) return [...transfer.files].map((file) => ({ file, path: file.name }));
  const found = [];
  for (const entry of entries) await walk(entry, "", found);
  return found.sort((a, b) => a.path.localeCompare(b.path));
}

async function walk(entry, above, found) {
  const path = above ? `${above}/${entry.name}` : entry.name;
  if (entry.isFile) {
    found.push({ file: await new Promise((resolve, reject) => entry.file(resolve, reject)), path });
    return;
  }
  const reader = entry.createReader();
  // A reader hands out its entries in portions (of 100 in some browsers) and an empty one at the end.
  for (let portion = await read(reader); portion.length; portion = await read(reader)) {
    for (const child of portion) await walk(child, path, found);
  }
}

function read(reader) {
  return new Promise((resolve, reject) => reader.readEntries(resolve, reject));
}
