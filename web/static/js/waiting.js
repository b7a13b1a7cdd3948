// [data-waiting]: the page on which one waits for an assignment. The server says when
// it is open; the time shown runs from its last answer, by the browser's steady count.

import { read } from "./api.js";
import { spelled } from "./turn.js";

const main = document.querySelector("[data-waiting]");
const now = main.querySelector("[data-now]");
const says = main.querySelector("[data-says]");
const button = main.querySelector("[data-begin] button");
const later = main.querySelector("[data-later]");
let phase = main.dataset.phase;
let begun = false; // the page is on its way to the sitting
let at = null; // {now, opens, when}: by the server, and the steady count at that moment

async function look() {
  let next = 5000;
  const sent = performance.now();
  try {
    const answer = await read(`/assigned/${main.dataset.waiting}`);
    if (begun) return; // to load the page again would stop its way
    if (answer.ok) {
      const { body } = answer, when = performance.now();
      at = { now: Date.parse(body.now) + (when - sent) / 2, opens: Date.parse(body.opens), when };
      if (body.phase !== phase) return opened(body.phase);
    }
  } catch {
    says.textContent = "Waiting for the connection. The clock is the server’s.";
  }
  if (at && phase === "early") next = Math.min(next, Math.max(250, at.opens - server()));
  setTimeout(look, next);
}

/** The server's clock, in milliseconds. */
const server = () => at.now + performance.now() - at.when;

function opened(to) {
  if (!(phase === "early" && to === "open" && button)) return location.reload();
  phase = to;
  button.disabled = false;
  says.textContent = "Open. Begin when you are ready.";
  later?.remove();
  setTimeout(look, 5000);
}

const offset = () => { // of the school's zone, from how the server wrote the time
  const [h, m, s] = now.dataset.now0.split(":").map(Number);
  return ((h * 3600 + m * 60 + s) - Math.floor(Date.parse(now.dataset.at) / 1000) % 86400 + 86400) % 86400;
};

function tick() {
  if (!at) return;
  const day = (Math.floor(server() / 1000) + offset()) % 86400, two = (n) => String(n).padStart(2, "0");
  now.textContent = [Math.floor(day / 3600), Math.floor(day / 60) % 60, day % 60].map(two).join(":");
  if (phase !== "early") return;
  const left = Math.max(0, at.opens - server()) / 1000;
  if (left < 3600 && later) later.textContent = `It can be pressed in ${spelled(left)}.`;
}

main.querySelector("[data-begin]")?.addEventListener("submit", () => { begun = true; });
addEventListener("pageshow", (e) => e.persisted && location.reload()); // one came back
now.dataset.now0 = now.textContent;
setInterval(tick, 500);
look();
