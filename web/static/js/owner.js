// [data-owner]: questions to the owner, and what was answered.

import { fill, h } from "./dom.js";

export function owner(host, room) {
  const { visit } = room;
  const { cat } = visit;
  const said = h("dl", { class: "said", "aria-live": "polite" });
  const buttons = cat.topics.map((t) => h("button", { type: "button", "data-topic": t.id, onclick: () => visit.act({ kind: "ask", topic: t.id }) }, t.label));
  fill(host, h("h2", {}, "Ask the owner"), h("div", { class: "choices", role: "group", "aria-label": "Questions" }, buttons), said);

  room.onChange(() => {
    const asked = visit.acts.filter((a) => a.kind === "ask");
    for (const b of buttons) {
      b.classList.toggle("done", asked.some((a) => a.topic === b.dataset.topic));
      b.disabled = Boolean(visit.ended);
    }
    fill(said,
      visit.waiting().filter(({ act }) => act.kind === "ask").map(({ act }) => h("div", {}, h("dt", {}, cat.topic(act.topic)?.ask || act.topic), h("dd", { class: "soft" }, "Waiting for the connection."))),
      asked.toReversed().map((a) => h("div", {}, h("dt", {}, cat.topic(a.topic)?.ask || a.topic), h("dd", {}, h("q", {}, a.answer || "")))));
  });
}
