// [data-turn] in the room: the time that is left, and what happens to the room when
// the sitting stands, is over or is taken over.

import { covering, coverOf } from "./cover.js";
import { TurnClock, shows } from "./turn.js";

export function turn(el, room) {
  const { visit } = room;
  const clock = new TurnClock(el.dataset.turn);
  const cover = covering(document.querySelector("[data-cover]"), document.querySelectorAll(".typed, .room-grid, [data-orient]"));
  const back = async () => {
    const told = await clock.do("here");
    if (!told) await visit.reread();
    return told;
  };
  let leaving = false;

  shows(clock, el, document.querySelector("[data-turn-says]"));
  clock.addEventListener("change", () => {
    if (!clock.state) return;
    const words = coverOf(clock, { back, goOn: () => clock.do("resume") });
    visit.shut = words ? words[0] : "";
    if (!words) return cover.off();
    cover.over(...words);
    if (clock.phase === "over") leave();
  });
  visit.addEventListener("shut", () => clock.look());

  /** Goes to the page of the turn; what still waits here is refused first, and its words are kept. */
  async function leave() {
    if (leaving) return;
    leaving = true;
    await Promise.race([visit.settled(), new Promise((later) => setTimeout(later, 3000))]);
    setTimeout(() => location.assign(`/turns/${clock.id}`), 1500); // time to read the cover
  }
}
