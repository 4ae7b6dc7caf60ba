// Keeps what stands in [data-live] up to date: asks for the page again and puts that part of it in place.
const EVERY_MS = 20_000;

const live = document.querySelector("[data-live]");

async function refresh() {
  // Whoever is just using the part must not lose their place.
  if (document.visibilityState !== "visible" || live.contains(document.activeElement)) return;
  try {
    const address = new URL(location.href);
    address.searchParams.delete("done");
    const answer = await fetch(address, { headers: { Accept: "text/html" } });
    const page = new DOMParser().parseFromString(await answer.text(), "text/html");
    const fresh = page.querySelector("[data-live]");
    live.classList.toggle("stale", !fresh);
    if (fresh && fresh.innerHTML !== live.innerHTML) live.replaceChildren(...fresh.childNodes);
  } catch {
    live.classList.add("stale");
  }
}

document.addEventListener("visibilitychange", refresh);
setInterval(refresh, EVERY_MS);
