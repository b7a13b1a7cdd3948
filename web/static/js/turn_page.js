// [data-turn-page]: the clock on the page of a turn and on the assessment of one of
// its patients. The page of a turn is read anew when something has changed.

import { covering, coverOf } from "./cover.js";
import { TurnClock, shows } from "./turn.js";
import { keepUnsent, showUnsent } from "./unsent.js";

for (const host of document.querySelectorAll("[data-unsent]")) showUnsent(host, host.dataset.unsent);
for (const row of document.querySelectorAll("[data-done]")) {
  for (const name of Object.keys(localStorage)) if (name === `dewclaw-assess-${row.dataset.done}` || (name.startsWith("dewclaw-acts-") && name.endsWith(row.dataset.done))) localStorage.removeItem(name);
}

const el = document.querySelector("[data-turn-page]");
const form = document.querySelector("form.assess");
if (el) {
  const clock = new TurnClock(el.dataset.turn);
  const box = document.querySelector("[data-cover]");
  const cover = box && covering(box, [form]);
  const shown = el.dataset.turnPage;
  shows(clock, el, document.querySelector("[data-turn-says]"));
  clock.addEventListener("change", () => {
    if (!clock.state) return;
    if (!cover) {
      const moved = clock.phase === "running" && Math.abs(Date.parse(clock.state.ends) - Number(el.dataset.turnEnds)) > 1000; // minutes were given
      if (moved || shown !== `${clock.state.here ? "here" : "elsewhere"} ${clock.phase}`) location.reload();
      return;
    }
    const words = coverOf(clock, { back: () => clock.do("here"), goOn: () => clock.do("resume") });
    if (!words) return cover.off();
    cover.over(...words);
    if (clock.phase === "over") end(clock);
  });
}

/** What was written of an assessment and not sent is kept to be read. */
function end(clock) {
  if (el.dataset.ended) return;
  el.dataset.ended = "yes";
  const texts = [...form.querySelectorAll("textarea")].filter((t) => t.value.trim()).map((t) => `${form.querySelector(`label[for="${t.id}"]`)?.firstChild.textContent.trim()}: ${t.value.trim()}`);
  const chosen = [...form.querySelectorAll("input[name=problem]:checked, input[name=urgency]:checked")].map((i) => i.parentElement.textContent.trim());
  keepUnsent(clock.id, [...texts, ...chosen]);
  setTimeout(() => location.assign(`/turns/${clock.id}`), 1500);
}
