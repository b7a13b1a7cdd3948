// [data-typed]: one line that does an act or writes an entry. "/" leads to it.

import { read, told } from "./api.js";
import { fill, h } from "./dom.js";
import { said } from "./said.js";
import { notAsked } from "./sure.js";
import { ask } from "./sweep.js";

/** How much a line that is refused may say of what could have been meant, and whether places have names. */
export const near = (visit) => (visit.cue === "none" ? "&near=none" : "") + (visit.cat.unplaced ? "&places=unlabelled" : "");

/** Whether an act waits for its place to be shown on the drawing. */
const unshown = (cat, act) => act.kind === "examine" && !act.site && cat.step(act.step)?.at?.length > 0;

/** Takes a step to the drawing, where its place is shown. */
function show(room, act) {
  const step = room.visit.cat.step(act.step);
  room.take(step.instrument || "");
  room.go(step.region, false);
  const pad = document.querySelector(`[data-chest="${CSS.escape(step.id)}"] .chest-pad`);
  pad?.focus({ preventScroll: true });
  pad?.scrollIntoView({ block: "center" });
}

export function typed(form, room) {
  const { visit } = room;
  const { cat } = visit;
  const input = form.querySelector("input");
  const answer = form.querySelector("[data-typed-answer]");
  let before = [];
  let at = 0;

  form.addEventListener("submit", async (e) => {
    e.preventDefault();
    const sent = input.value;
    const text = sent.trim().replace(/^\/+/, ""); // the key that led here may have come along
    if (!text) return;
    let reply;
    try {
      reply = await read(`/catalogue/${encodeURIComponent(cat.species)}/line?text=${encodeURIComponent(text)}${near(visit)}`);
    } catch {
      return fill(answer, h("p", { class: "wrong" }, "There is no connection, so the line cannot be read. It stays here; the buttons work meanwhile."));
    }
    if (!reply.ok) return fill(answer, h("p", { class: "wrong" }, told(reply.body)));
    if (visit.shut) return fill(answer, h("p", { class: "wrong" }, `${visit.shut}: no act is taken now. The line stays here.`));
    const acts = reply.body.acts || [];
    if (!visit.practice && acts.some((act) => act.sure)) return fill(answer, h("p", { class: "wrong" }, notAsked));
    const sweeps = acts.filter((act) => act.kind === "record" && act.region), others = acts.filter((act) => !sweeps.includes(act) && !unshown(cat, act));
    const toShow = acts.find((act) => unshown(cat, act));
    for (const act of others) visit.act(act, "typed-");
    fill(answer,
      others.length > 0 && h("p", {}, h("span", { class: "sign" }, "✓ "), others.map((act) => said(cat, act)).join("; ")),
      toShow && h("p", {}, `${cat.stepLabel(toShow)}: show the place on the drawing. The arrow keys move, Enter puts it down.`));
    // "Rest normal" is shown before it is written, here as at its button.
    if (sweeps.length) ask(visit, answer, sweeps.map((act) => act.region), () => input.focus());
    before = [text, ...before.filter((t) => t !== text)].slice(0, 50);
    at = -1;
    // Whoever is quick has begun the next line while this one was read.
    if (input.value.startsWith(sent)) input.value = input.value.slice(sent.length);
    const place = acts.find((a) => a.kind === "examine" || a.kind === "record");
    const region = place && (cat.step(place.step)?.region || place.region || cat.field(place.field)?.region);
    if (region) room.go(region, false);
    if (toShow) show(room, toShow);
  });

  input.addEventListener("keydown", (e) => {
    if (e.key === "Escape") return input.blur();
    if (e.key !== "ArrowUp" && e.key !== "ArrowDown") return;
    e.preventDefault();
    at = Math.max(-1, Math.min(before.length - 1, at + (e.key === "ArrowUp" ? 1 : -1)));
    input.value = before[at] || "";
  });
}
