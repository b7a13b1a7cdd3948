// [data-bench]: what can be done at the chosen place with what is in the hand. One
// press is one act; the caution of a step stands beside it before the deed.

import { chestFor } from "./chest.js";
import { capital, count, fill, h } from "./dom.js";
import { handled, withIt } from "./instruments.js";

export function bench(host, room) {
  const { visit } = room;
  const { cat } = visit;
  const instrument = (s) => s.instrument || "";
  const gentle = (s) => s.touch && handled(instrument(s));
  let manner = ""; // of the hands: it stays from place to place

  const choose = () => {
    if (!room.region) return;
    const steps = cat.stepsOf(room.region);
    if (!steps.length) return fill(host, h("p", { class: "soft" }, "Nothing is examined here with this patient."));
    const here = steps.filter((s) => instrument(s) === room.hand);
    fill(host,
      !here.length && h("p", { class: "soft" }, room.hand ? `Nothing is done here with the ${room.hand}.` : "Nothing is done here with hands and eyes alone."),
      here.some(gentle) && mannerRow(),
      here.length > 0 && h("div", { class: "verbs" }, here.map(verbRow)),
      others(steps.filter((s) => !here.includes(s)), here.length > 0));
    state();
  };

  /** What is done here with something else, by instrument. */
  const others = (steps, more) => h("div", { class: "others" }, [...new Set(steps.map(instrument))].map((other) => {
    const n = steps.filter((s) => instrument(s) === other).length;
    return h("button", { type: "button", class: "quiet small", "data-take": other, onclick: () => {
      room.take(other);
      host.querySelector(".verbs button")?.focus();
    } }, `${withIt(other)}: ${more ? n + " more" : count(n, "way", "ways")}`);
  }));

  const mannerRow = () => {
    const manners = [{ id: "", label: "Usual" }, ...(cat.manners || []).filter((m) => m.id !== "" && m.id !== "usual")];
    const buttons = manners.map((m) => h("button", {
      type: "button", "data-manner": m.id, "aria-pressed": String(m.id === manner), onclick: () => {
        manner = m.id;
        buttons.forEach((b, i) => b.setAttribute("aria-pressed", String(manners[i].id === manner)));
      },
    }, m.label));
    return h("div", { class: "manner", role: "group", "aria-label": "Manner of touch" }, h("span", { class: "tag" }, "Touch"), buttons);
  };

  const verbRow = (step) => {
    const act = (site) => {
      const a = { kind: "examine", step: step.id };
      if (site) a.site = site;
      if (manner && gentle(step)) a.manner = manner;
      visit.act(a);
    };
    const sites = step.sites?.length ? step.sites : [""];
    const button = (site) => h("button", { type: "button", "data-step": step.id, "data-site": site, "aria-label": site ? `${step.label}, ${site}` : undefined, onclick: () => act(site) }, site ? capital(site) : step.label);
    return h("div", { class: "verb", role: "group", "aria-label": step.label },
      step.sites?.length ? h("p", { class: "verb-name" }, step.label) : null,
      step.caution && h("p", { class: "caution small" }, step.caution),
      chestFor(room, step, act) || h("div", { class: "sites" }, sites.map(button), step.touch && h("span", { class: "tag", "data-goes": "" }, "This goes to the animal.")));
  };

  const state = () => {
    for (const button of host.querySelectorAll("[data-step]")) {
      const done = visit.acts.some((a) => a.kind === "examine" && !a.refused && a.step === button.dataset.step && (a.site || "") === button.dataset.site);
      button.classList.toggle("done", done);
      button.disabled = Boolean(visit.ended);
    }
    for (const note of host.querySelectorAll("[data-goes]")) note.hidden = visit.near();
  };
  room.onGo(choose);
  room.onHand(choose);
  room.onChange(state);
}
