// A contact that is open: the watch, what is on the animal, and the way to end it.

import { beep } from "./audio.js";
import { h } from "./dom.js";
import { watch } from "./watch.js";

const kinds = {
  rising: { says: "In place: let it settle.", ends: "Take it out" },
  looks: { says: "You are looking.", ends: "Look away" },
  touches: { says: "Your hand is on the animal.", ends: "Lift" },
};

export function contact(visit, act, step) {
  const rising = act.percepts?.some((p) => p.sense === "rising");
  const kind = kinds[rising ? "rising" : step?.touch ? "touches" : "looks"];
  const says = step?.touch && step.instrument && !rising ? `At the animal with the ${step.instrument}.` : kind.says;
  return h("div", { class: "contact" },
    watch(() => visit.seconds()),
    h("div", {},
      rising ? settling(visit, act, step, says) : h("p", { class: "small" }, says),
      h("button", { type: "button", class: "main", "data-lift": "", onclick: () => visit.lift() }, kind.ends, " ", h("kbd", {}, "Esc"))));
}

/** Says when an instrument that takes its time has settled; before that, nothing. */
function settling(visit, act, step, says) {
  const note = h("p", { class: "small settled", role: "status" }, says);
  const before = visit.seconds() < (step?.takes || 0);
  const look = () => {
    if (visit.held() !== act.n) return clearInterval(timer);
    if (visit.seconds() < (step?.takes || 0)) return;
    clearInterval(timer);
    note.textContent = "✓ In place; it has settled.";
    if (before) beep();
  };
  const timer = setInterval(look, 200);
  return note;
}
