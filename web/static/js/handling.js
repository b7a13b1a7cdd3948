// [data-handling]: actions, holds and waiting. Cautions stand beside the button before the deed.

import { fill, h } from "./dom.js";

export function handling(host, room) {
  const { visit } = room;
  const { cat } = visit;
  const row = (t) => h("div", { class: "handle" },
    h("button", { type: "button", "data-how": t.id, "aria-pressed": t.hold ? "false" : undefined, onclick: () => visit.act({ kind: "handle", how: t.id }) }, t.label),
    t.caution && h("p", { class: "caution small" }, t.caution));
  const seconds = h("input", { id: "wait-seconds", type: "text", inputmode: "numeric", maxlength: "4", value: "60", "aria-describedby": "wait-note" });
  const note = h("p", { id: "wait-note", class: "small soft" }, "Time passes for the animal only with what you do, and when you wait.");
  const wait = (e) => {
    e.preventDefault();
    const n = Number(seconds.value);
    if (!Number.isInteger(n) || n < 1 || n > 3600) return visit.say("Wait a whole number of seconds from 1 to 3600.", true);
    visit.act({ kind: "wait", seconds: n });
  };
  const doings = cat.handling.filter((t) => !t.hold), holds = cat.handling.filter((t) => t.hold);
  const log = h("ul", { class: "plain small", "aria-live": "polite" });
  fill(host, h("h2", {}, "Handling"),
    h("div", { class: "handling-parts" },
      h("section", {}, h("h3", {}, "Do"), doings.map(row)),
      h("section", {}, h("h3", {}, "Hold"), holds.map(row)),
      h("section", {}, h("h3", {}, "Wait"), h("form", { class: "wait row", onsubmit: wait }, h("label", { for: "wait-seconds" }, "Seconds"), seconds, h("button", {}, "Wait")), note, log)));

  room.onChange(() => {
    const hold = visit.hold();
    for (const b of host.querySelectorAll("[data-how]")) {
      if (b.hasAttribute("aria-pressed")) b.setAttribute("aria-pressed", String(b.dataset.how === hold));
      b.disabled = Boolean(visit.ended);
    }
    document.querySelector("[data-hold]").textContent = cat.handle(hold)?.label || "none";
    const done = visit.acts.filter((a) => a.kind === "handle" || a.kind === "wait").slice(-5).toReversed();
    fill(log, done.map((a) => h("li", {}, a.kind === "wait" ? `Waited ${a.seconds} s` : cat.handle(a.how)?.label || a.how, a.refused ? ": the animal did not allow it" : "",
      (a.percepts || []).map((p) => p.words && h("span", { class: "soft" }, ` ${p.words}`)))));
  });
}
