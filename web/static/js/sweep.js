// "Rest normal": shows first which lines it states, which stay blank because
// nothing was examined there, and which want words of their own; only then writes.

import { read, told } from "./api.js";
import { count, fill, h } from "./dom.js";

/** A button with the place where its question appears. regions() are asked when it is pressed. */
export function sweep(visit, text, regions) {
  const host = h("div", { class: "sweep-ask", "aria-live": "polite" });
  const button = h("button", { type: "button", "data-sweep": "", onclick: ask }, text);
  const el = h("div", { class: "sweep" }, button, host);

  async function ask() {
    fill(host, h("p", { class: "soft" }, "Looking …"));
    if (!(await visit.settled())) return fill(host, h("p", { class: "wrong" }, "First the acts that wait here must be saved; ask again when the connection is back."));
    try {
      const answers = await Promise.all(regions().map((r) => read(`/attempts/${visit.id}/sweep/${encodeURIComponent(r)}`)));
      const bad = answers.find((a) => !a.ok);
      if (bad) return fill(host, h("p", { class: "wrong" }, told(bad.body)));
      show(answers.map((a) => a.body));
    } catch {
      fill(host, h("p", { class: "wrong" }, "There is no connection; try again when it is back."));
    }
  }

  function show(sweeps) {
    const all = (name) => sweeps.flatMap((s) => s[name] || []);
    const states = all("states");
    const close = () => { fill(host); button.focus(); };
    const confirm = h("button", { type: "button", class: "main", onclick: () => {
      for (const s of sweeps) if (s.states?.length) visit.act({ kind: "record", region: s.region, value: "normal" });
      close();
    } }, states.length === 1 ? "Chart it as normal" : `Chart these ${states.length} as normal`);
    const back = h("button", { type: "button", onclick: close }, states.length ? "Leave them" : "Close");
    fill(host,
      h("p", {}, states.length ? h("b", {}, `${count(states.length, "line")} would be stated normal:`) : "Nothing that was examined here is still open for this."),
      states.length > 0 && h("dl", { class: "stated small" }, byRegion(states)),
      list("Stay blank, not examined: ", all("unexamined")),
      list("Need a line of their own: ", all("each")),
      h("p", { class: "row" }, states.length > 0 && confirm, back));
    (states.length ? confirm : back).focus();
  }
  const byRegion = (places) => {
    const regions = [...new Set(places.map((p) => visit.cat.field(p.field)?.region))];
    return regions.map((r) => h("div", {}, h("dt", {}, visit.cat.region(r)?.label || r), h("dd", {}, names(places.filter((p) => visit.cat.field(p.field)?.region === r)))));
  };
  const names = (places) => {
    const by = new Map();
    for (const p of places) by.set(p.field, [...(by.get(p.field) || []), p.site].filter(Boolean));
    return [...by].map(([field, sites]) => visit.cat.fieldLabel(field).toLowerCase() + (sites.length ? ` (${sites.join(", ")})` : "")).join("; ");
  };
  const list = (label, places) => places.length > 0 && (places.length > 12
    ? h("details", {}, h("summary", { class: "small" }, label, count(places.length, "line")), h("p", { class: "small soft" }, names(places)))
    : h("p", { class: "small soft" }, label, names(places), "."));
  return el;
}
