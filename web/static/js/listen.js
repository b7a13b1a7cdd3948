// Listening while a contact is open: one button, the loudness, what went wrong in
// words, and what else the clip or the person's leave gives: a pulse, a trace.

import { Player } from "./player.js";
import { h } from "./dom.js";
import { pulse } from "./pulse.js";
import { trace } from "./trace.js";

const buttons = { loading: "Listen", on: "Stop", failed: "Try again" };
const says = {
  loading: "The sound is coming …",
  refused: "Your browser lets sound begin with a press: Listen.",
  hidden: "Stopped while this page was hidden; the contact goes on.",
  broken: "Your device stopped the sound; the contact goes on.",
  failed: "The sound did not come.",
};

/** of(act) is the element to listen with; it ends by itself with the act's contact. */
export function listening(room) {
  const { visit } = room;
  let now = null;
  const end = () => {
    now?.player.end();
    now = null;
  };
  room.onChange(() => now && visit.held() !== now.n && end());
  room.onNearness = (x) => now?.player.near(x);
  return (act) => {
    if (now?.n !== act.n) {
      end();
      const player = new Player(`/api/v1/attempts/${visit.id}/acts/${act.n}/sound`, room.nearness ?? 1);
      now = { n: act.n, player, el: listenWith(player, visit.traced) };
    }
    return now.el;
  };
}

/** The element to listen with; notes are said in place of those of a contact, by state. */
export function listenWith(player, traced, notes = {}) {
  const button = h("button", { type: "button", "data-listen": "", onclick: () => player.press() });
  const loud = h("input", { type: "range", min: "0", max: "1", step: "0.05", value: String(player.loudness), "aria-label": "Loudness", oninput: (e) => { player.loudness = Number(e.target.value); } });
  const note = h("p", { class: "small soft listen-note", role: "status" });
  const el = h("div", { class: "listening" },
    h("div", { class: "listen" }, button, h("label", { class: "loud small" }, "Loudness ", loud), note),
    traced && trace(player));
  const state = () => {
    el.dataset.sound = player.state;
    button.textContent = buttons[player.state] || "Listen";
    button.setAttribute("aria-disabled", String(player.state === "loading"));
    note.textContent = notes[player.state] ?? says[player.state] ?? "";
    note.classList.toggle("wrong", player.state === "failed");
    if (player.clip?.pulse && !el.querySelector(".pulse")) el.append(pulse(player));
  };
  player.addEventListener("change", state);
  state();
  return el;
}
