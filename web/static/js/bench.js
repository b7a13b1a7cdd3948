// [data-bench]: what can be done at the chosen place. One press is one act; the
// caution of a step stands beside it before the deed.

import { capital, fill, h } from "./dom.js";

export function bench(host, room) {
  const { visit } = room;
  const { cat } = visit;
  let manner = "";

  const choose = (region) => {
    const steps = cat.stepsOf(region);
    if (!steps.length) return fill(host, h("p", { class: "soft" }, "Nothing is examined here with this patient."));
    fill(host, steps.some((s) => s.touch) && mannerRow(), h("div", { class: "verbs" }, steps.map(verbRow)));
  };

  const mannerRow = () => {
    const manners = [{ id: "", label: "Usual" }, ...(cat.manners || []).filter((m) => m.id !== "" && m.id !== "usual")];
    const buttons = manners.map((m) => h("button", {
      type: "button", "aria-pressed": String(m.id === manner), onclick: () => {
        manner = m.id;
        buttons.forEach((b, i) => b.setAttribute("aria-pressed", String(manners[i].id === manner)));
      },
    }, m.label));
    return h("div", { class: "manner", role: "group", "aria-label": "Manner of touch" }, h("span", { class: "tag" }, "Touch"), buttons);
  };

  const verbRow = (step) => {
    const act = (site) => () => {
      const a = { kind: "examine", step: step.id };
      if (site) a.site = site;
      if (manner && step.touch) a.manner = manner;
      visit.act(a);
    };
    const sites = step.sites?.length ? step.sites : [""];
    const words = [step.verb, step.instrument].filter(Boolean).join(", ");
    return h("div", { class: "verb", role: "group", "aria-label": step.label },
      step.sites?.length ? h("p", { class: "verb-name" }, step.label, " ", h("span", { class: "tag" }, words)) : null,
      step.caution && h("p", { class: "caution small" }, step.caution),
      h("div", { class: "sites" }, sites.map((site) => h("button", {
        type: "button", "data-step": step.id, "data-site": site, "aria-label": site ? `${step.label}, ${site}` : undefined, onclick: act(site),
      }, site ? capital(site) : step.label)), !step.sites?.length && h("span", { class: "tag" }, words)));
  };

  const state = () => {
    for (const button of host.querySelectorAll("[data-step]")) {
      const done = visit.acts.some((a) => a.kind === "examine" && !a.refused && a.step === button.dataset.step && (a.site || "") === button.dataset.site);
      button.classList.toggle("done", done);
      button.disabled = Boolean(visit.ended);
    }
  };
  room.onGo((region) => { choose(region); state(); });
  room.onChange(state);
}
