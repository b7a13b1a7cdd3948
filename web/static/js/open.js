// [data-open]: everything that was examined and not yet charted, in one run:
// vital signs first, then stage by stage. Enter goes on to the next line.

import { fill, h } from "./dom.js";
import { key } from "./catalogue.js";
import { line } from "./line.js";
import { sweep } from "./sweep.js";

export function openLines(host, room) {
  const { visit } = room;
  const { cat } = visit;
  const counts = document.querySelectorAll("[data-open-count]");
  let lines = [];

  const show = () => {
    lines = [];
    const open = visit.open();
    const make = (p) => { const l = line(visit, p, true); lines.push(l); return l; };
    const vitals = open.filter((p) => cat.field(p.field)?.vital), rest = open.filter((p) => !cat.field(p.field)?.vital);
    if (!open.length) return fill(host, h("h2", {}, "Open lines"), h("p", {}, "Everything that you examined is charted."));
    fill(host,
      h("h2", { tabindex: "-1" }, "Open lines"),
      h("p", { class: "soft small" }, "Examined and not charted yet. In a vital sign ", h("kbd", {}, "26x4n"), " writes 104 over 15 s and reads it as normal; ", h("kbd", {}, "l"), " low, ", h("kbd", {}, "h"), " high. ", h("kbd", {}, "Enter"), " goes on."),
      h("div", { "data-lines": "" },
        vitals.length > 0 && h("section", { class: "open-stage" }, h("h3", {}, "Vital signs"), vitals.map(make)),
        cat.stages.map((stage) => stagePart(stage, rest.filter((p) => cat.region(cat.field(p.field)?.region)?.stage === stage.id), make))));
    host.querySelector("select, input")?.focus({ preventScroll: true });
  };

  const stagePart = (stage, places, make) => {
    if (!places.length) return null;
    const regions = () => [...new Set(visit.open().map((p) => cat.field(p.field)?.region))].filter((r) => cat.region(r)?.stage === stage.id);
    const alone = places.filter((p) => cat.field(p.field).each);
    const others = places.filter((p) => !cat.field(p.field).each);
    return h("section", { class: "open-stage" },
      h("h3", {}, stage.label),
      alone.map(make),
      others.length > 0 && sweep(visit, `Rest of ${stage.label.toLowerCase()} normal`, regions),
      others.length > 0 && h("details", {}, h("summary", { class: "small" }, "Line by line: ", [...new Set(others.map((p) => cat.fieldLabel(p.field).toLowerCase()))].join(", ")), others.map(make)));
  };

  room.onTab((id) => id === "tab-open" && show());
  room.onChange(() => {
    const n = visit.open().length;
    for (const el of counts) el.textContent = n ? `(${n})` : "";
    for (const l of lines) l.update();
  });
}
