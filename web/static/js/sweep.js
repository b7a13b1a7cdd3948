// "Rest normal": shows first which lines it states, which stay blank because
// nothing was examined there, and which want words of their own; only then writes.

import { read, told } from "./api.js";
import { count, fill, h } from "./dom.js";

/** A button with the place where its question appears. regions() are asked when it is pressed. */
export function sweep(visit, text, regions) {
  const host = h("div", { class: "sweep-ask", "aria-live": "polite" });
  const button = h("button", { type: "button", "data-sweep": "", onclick: () => ask(visit, host, regions(), () => button.focus()) }, text);
  return h("div", { class: "sweep" }, button, host);
}

/** Asks in host about these regions; back() when it is settled. */
export async function ask(visit, host, regions, back) {
  fill(host, h("p", { class: "soft" }, "Looking …"));
  if (!(await visit.settled())) return fill(host, h("p", { class: "wrong" }, "First the acts that wait here must be saved; ask again when the connection is back."));
  try {
    const answers = await Promise.all(regions.map((r) => read(`/attempts/${visit.id}/sweep/${encodeURIComponent(r)}`)));
    const bad = answers.find((a) => !a.ok);
    if (bad) return fill(host, h("p", { class: "wrong" }, told(bad.body)));
    question(visit, host, answers.map((a) => a.body), back);
  } catch {
    fill(host, h("p", { class: "wrong" }, "There is no connection; try again when it is back."));
  }
}

function question(visit, host, sweeps, back) {
  const all = (name) => sweeps.flatMap((s) => s[name] || []);
  const states = all("states");
  const close = () => { fill(host); back(); };
  const confirm = h("button", { type: "button", class: "main", onclick: () => {
    for (const s of sweeps) if (s.states?.length) visit.act({ kind: "record", region: s.region, value: "normal" });
    close();
  } }, visit.cue !== "full" ? `Chart the rest as ${visit.cat.school.nothing}` : states.length === 1 ? `Chart it as ${visit.cat.school.nothing}` : `Chart these ${states.length} as ${visit.cat.school.nothing}`);
  const leave = h("button", { type: "button", onclick: close }, states.length ? "Leave them" : "Close");
  const full = visit.cue === "full"; // else nothing is named that was not written
  fill(host,
    h("p", {}, states.length ? h("b", {}, full ? `${count(states.length, "line")} would be stated normal:` : "Whatever else you examined here would be stated normal.") : "Nothing that was examined here is still open for this."),
    full && states.length > 0 && h("dl", { class: "stated small" }, byRegion(visit.cat, states)),
    full ? list(visit.cat, "Stay blank, not examined: ", all("unexamined")) : h("p", { class: "small soft" }, "What was not examined stays blank; what wants words of its own is not stated by this."),
    full && list(visit.cat, "Need a line of their own: ", all("each")),
    h("p", { class: "row" }, states.length > 0 && confirm, leave));
  (states.length ? confirm : leave).focus();
}

function byRegion(cat, places) {
  const regions = [...new Set(places.map((p) => cat.field(p.field)?.region))];
  return regions.map((r) => h("div", {}, h("dt", {}, cat.region(r)?.label || r), h("dd", {}, names(cat, places.filter((p) => cat.field(p.field)?.region === r)))));
}

/** The fields by name, each with its sites. */
function names(cat, places) {
  const by = new Map();
  for (const p of places) by.set(p.field, [...(by.get(p.field) || []), cat.unplaced && cat.placed(cat.field(p.field)) ? "" : p.site].filter(Boolean));
  return [...by].map(([field, sites]) => cat.fieldLabel(field).toLowerCase() + (sites.length ? ` (${sites.join(", ")})` : "")).join("; ");
}

function list(cat, label, places) {
  if (!places.length) return null;
  if (places.length <= 12) return h("p", { class: "small soft" }, label, names(cat, places), ".");
  return h("details", {}, h("summary", { class: "small" }, label, count(places.length, "line")), h("p", { class: "small soft" }, names(cat, places)));
}
