// [data-open]: everything that was examined and not yet charted, in one run:
// vital signs first, then stage by stage. Enter goes on to the next line.

import { about } from "./about.js";
import { count, fill, h } from "./dom.js";
import { group } from "./group.js";
import { sweep } from "./sweep.js";

export function openLines(host, room) {
  const { visit } = room;
  const { cat } = visit;
  const meaning = about(host, cat);
  const counts = document.querySelectorAll("[data-open-count]");
  let groups = [];

  const show = () => {
    groups = [];
    const open = visit.open();
    if (!open.length) return fill(host, h("h2", {}, "Open lines"), h("p", {}, "Everything that you examined is charted."));
    const field = (p) => cat.field(p.field);
    const vitals = open.filter((p) => field(p)?.vital);
    const alone = open.filter((p) => field(p) && !field(p).vital && field(p).each);
    const rest = open.filter((p) => field(p) && !field(p).vital && !field(p).each);
    fill(host,
      h("h2", { tabindex: "-1" }, "Open lines"),
      h("p", { class: "soft small measure" }, "Examined and not charted yet. In a vital sign ", h("kbd", {}, "26x4n"), " writes 104 over 15 s and reads it as normal; ", h("kbd", {}, "l"), " is low, ", h("kbd", {}, "h"), " high. ", h("kbd", {}, "Enter"), " goes on."),
      meaning,
      h("div", { "data-lines": "" },
        vitals.length > 0 && h("section", { class: "open-stage" }, h("h3", {}, "Vital signs"), made(vitals)),
        alone.length > 0 && h("section", { class: "open-stage" }, h("h3", {}, "In words of their own"), made(alone, { withRegion: true, folded: true })),
        rest.length > 0 && h("section", { class: "open-stage" }, h("h3", {}, "The rest"), sweep(visit, `Rest of all examined regions ${cat.school.nothing}`, () => regions()), cat.stages.map((stage) => stagePart(stage, rest)))));
    host.querySelector("select, input, [data-sweep]")?.focus({ preventScroll: true });
  };

  const made = (places, options) => [...new Set(places.map((p) => p.field))].map((id) => {
    const g = group(visit, places.filter((p) => p.field === id), options);
    groups.push(g);
    return g.el;
  });
  const stageOf = (p) => cat.region(cat.field(p.field)?.region)?.stage;
  const regions = (stage) => [...new Set(visit.open().filter((p) => !stage || stageOf(p) === stage).map((p) => cat.field(p.field).region))];

  const stagePart = (stage, rest) => {
    const places = rest.filter((p) => stageOf(p) === stage.id);
    if (!places.length) return null;
    return h("details", { class: "open-part" },
      h("summary", {}, stage.label, h("span", { class: "small soft" }, ", ", count(places.length, "line"))),
      sweep(visit, `Rest of ${stage.label.toLowerCase()} ${cat.school.nothing}`, () => regions(stage.id)),
      made(places, { withRegion: true, folded: true }));
  };

  room.onTab((id) => id === "tab-open" && show());
  room.onChange(() => {
    const n = visit.open().length;
    for (const el of counts) el.textContent = n ? `(${n})` : "";
    for (const g of groups) g.update();
  });
}
