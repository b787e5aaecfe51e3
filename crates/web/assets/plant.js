// Keeps an open page up to date. The server renders; this only puts new parts in the place of old ones.
"use strict";

const main = document.getElementById("plant");
const lost = document.getElementById("lost");

// Longer than any pause of a healthy service, whose clock alone changes more often.
const SILENCE_MS = 30_000;

let silence;
let fetching = false;
let again = false;

const named = (root) => new Map([...root.children].map((part) => [part.dataset.part, part]));

// Replaces only what differs, so that an eye sees, and a screen reader says, only what is new.
function show(markup) {
  const template = document.createElement("template");
  template.innerHTML = markup;
  const old = named(main);
  const fresh = named(template.content);
  for (const [name, part] of old) {
    if (!fresh.has(name)) part.remove();
  }
  let place = main.firstElementChild;
  for (const [name, part] of fresh) {
    const before = old.get(name);
    let shown = before ?? part;
    if (before && !before.isEqualNode(part)) {
      if (name === "spoken") {
        // A new element in its place would not be read out.
        before.textContent = part.textContent;
      } else {
        before.replaceWith(part);
        if (place === before) place = part;
        shown = part;
      }
    }
    if (shown === place) place = place.nextElementSibling;
    else main.insertBefore(shown, place);
  }
}

async function refresh() {
  if (fetching) {
    again = true;
    return;
  }
  fetching = true;
  do {
    again = false;
    try {
      const answer = await fetch("/fragment/plant");
      if (answer.ok) show(await answer.text());
    } catch {
      tellLost();
    }
  } while (again);
  fetching = false;
}

function tellLost() {
  if (!lost.hidden) return;
  const time = new Date().toLocaleTimeString([], { hour: "2-digit", minute: "2-digit", hour12: false });
  lost.textContent = `Not up to date: nothing heard from the service since ${time} (clock of this screen).`;
  lost.hidden = false;
  main.classList.add("old");
}

function heard() {
  clearTimeout(silence);
  silence = setTimeout(tellLost, SILENCE_MS);
  lost.hidden = true;
  main.classList.remove("old");
}

const live = new EventSource("/api/v1/live");
live.addEventListener("status", () => {
  heard();
  refresh();
});
live.addEventListener("error", tellLost);
