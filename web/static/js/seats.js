// [data-seats]: the seating sheet, written anew every five seconds. A form that is
// being filled in stays as it is.

import { read } from "./api.js";

const every = 5000;
const main = document.querySelector("[data-seats]");
const fresh = main.querySelector("[data-fresh]");
const rows = new Map([...main.querySelectorAll("[data-seat]")].map((row) => [row.dataset.seat, row]));
const cells = ["state", "begun", "patient", "act", "here", "left", "own"];

async function look() {
  try {
    const answer = await read(`/assignments/${main.dataset.seats}/seats`);
    if (!answer.ok) fresh.textContent = "The sheet cannot be read; load the page again.";
    else draw(answer.body);
  } catch {
    fresh.textContent = "No connection: this is how it stood then.";
  }
  setTimeout(look, every);
}

function draw(sheet) {
  main.querySelector("[data-now]").textContent = sheet.now;
  if (fresh.textContent) fresh.textContent = "";
  if (sheet.seats.length !== rows.size) return location.reload(); // somebody came or left
  for (const { person, words } of sheet.seats) {
    const row = rows.get(person);
    if (!row) return location.reload();
    row.dataset.mark = words.mark;
    for (const name of cells) {
      const cell = row.querySelector(`[data-${name}]`);
      if (cell.textContent !== words[name]) cell.textContent = words[name];
    }
  }
}

const find = main.querySelector("[data-find]:is(input)");
find?.addEventListener("input", () => {
  const words = find.value.toLowerCase().split(/\s+/).filter(Boolean);
  let n = 0;
  for (const row of rows.values()) {
    row.hidden = !words.every((w) => row.dataset.find.includes(w));
    n += !row.hidden;
  }
  main.querySelector("[data-count]").textContent = words.length ? `${n} of ${rows.size} shown` : "";
});

main.addEventListener("click", (e) => {
  const link = e.target.closest(".seat-do a");
  if (!link) return;
  e.preventDefault();
  document.getElementById("do-for").value = link.closest("[data-seat]").dataset.seat;
  document.getElementById("deed").scrollIntoView();
  document.getElementById("do-what").focus();
});

setTimeout(look, every);
