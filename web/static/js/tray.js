// [data-tray]: what is in the hand, one thing at a time. To take another up ends a
// contact that was made with something else. A typed act brings its instrument along.

import { drawing, named } from "./instruments.js";
import { fill, h } from "./dom.js";

export function tray(host, room) {
  const { visit } = room;
  const { cat } = visit;
  const of = (act) => cat.step(act?.step)?.instrument || "";
  const here = ["", ...new Set(cat.steps.filter((s) => s.instrument && !cat.absent.has(s.id)).map((s) => s.instrument))];
  const radios = here.map((instrument) => h("button", { type: "button", role: "radio", "data-instrument": instrument, onclick: () => room.take(instrument) }, drawing(instrument), h("span", {}, named(instrument))));
  fill(host, h("div", { class: "tray", role: "radiogroup", "aria-label": "In your hand" }, radios));

  const hold = (instrument) => {
    room.hand = here.includes(instrument) ? instrument : "";
    radios.forEach((radio, i) => {
      radio.setAttribute("aria-checked", String(here[i] === room.hand));
      radio.tabIndex = here[i] === room.hand ? 0 : -1;
    });
    for (const f of room.handed) f(room.hand);
  };
  room.take = (instrument) => {
    const open = visit.acts.find((a) => a.n === visit.held());
    if (open && of(open) !== instrument) visit.lift();
    hold(instrument);
  };

  host.addEventListener("keydown", (e) => {
    const i = radios.indexOf(e.target.closest("[role=radio]"));
    const to = { ArrowRight: i + 1, ArrowDown: i + 1, ArrowLeft: i - 1, ArrowUp: i - 1, Home: 0, End: radios.length - 1 }[e.key];
    if (i < 0 || to === undefined) return;
    e.preventDefault();
    const next = (to + radios.length) % radios.length;
    room.take(here[next]);
    radios[next].focus();
  });
  visit.addEventListener("act", (e) => e.detail.kind === "examine" && of(e.detail) !== room.hand && hold(of(e.detail)));
  hold(of(visit.acts.findLast((a) => a.kind === "examine")));
}
