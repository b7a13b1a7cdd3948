// [data-sheet]: the examination sheet as it stands, by stage and region. Every
// line leads back to where it can be corrected.

import { fill, h } from "./dom.js";
import { key } from "./catalogue.js";
import { surely } from "./sure.js";

export function sheet(host, room) {
  const { visit } = room;
  const { cat } = visit;

  room.onChange(() => {
    const lines = visit.sheet();
    const open = visit.cue === "full" ? visit.open() : [];
    const byRegion = new Map();
    const put = (field, item) => {
      const region = cat.field(field)?.region;
      byRegion.set(region, [...(byRegion.get(region) || []), item]);
    };
    for (const f of cat.fields) {
      for (const p of cat.placesOf(f)) {
        const charted = lines.get(key(p));
        if (charted) put(f.id, charted);
        else if (open.some((o) => key(o) === key(p))) put(f.id, { ...p, open: true });
      }
    }
    if (visit.cue === "headings") for (const r of cat.regions) if (cat.fieldsOf(r.id).length && !byRegion.has(r.id)) byRegion.set(r.id, []);
    if (!byRegion.size) return fill(host, h("p", { class: "soft" }, visit.cue === "none" ? "Nothing is charted yet. What you write stands here." : "Nothing is charted yet. Lines appear here as you examine and write."));
    fill(host, cat.stages.map((stage) => {
      const regions = cat.regionsOf(stage.id).filter((r) => byRegion.has(r.id));
      return regions.length > 0 && h("section", { class: "sheet-stage" }, h("h3", {}, stage.label), regions.map((r) => regionBlock(r, byRegion.get(r.id))));
    }));
  });

  const regionBlock = (region, items) => {
    const swept = items.filter((i) => i.swept), written = items.filter((i) => !i.swept && !i.open), open = items.filter((i) => i.open);
    return h("div", { class: "sheet-region" },
      h("h4", {}, h("button", { type: "button", class: "plainly", onclick: () => room.go(region.id) }, region.label)),
      h("ul", { class: "plain" },
        merged(written).map(row),
        swept.length > 0 && h("li", { class: "swept" }, `Rest ${cat.school.nothing}`, visit.cue === "full" && h("span", { class: "soft small" }, `: ${names(swept)}`)),
        open.length > 0 && h("li", { class: "open-line" }, h("span", { class: "sign", "aria-hidden": "true" }, "○ "), h("button", { type: "button", class: "plainly", onclick: () => room.go(region.id) }, brief(open)))));
  };

  /** Sites with the same value stand in one row. */
  const merged = (items) => {
    const rows = new Map();
    for (const i of items) {
      const k = [i.field, i.value, i.reason, i.waiting, i.sure].join("|");
      if (rows.has(k)) rows.get(k).sites.push(i.site);
      else rows.set(k, { ...i, sites: i.site ? [i.site] : [] });
    }
    return [...rows.values()];
  };
  const row = (i) => h("li", { class: i.value === "not examined" ? "gap" : "" },
    h("button", { type: "button", class: "plainly entry", onclick: () => room.correct(i) },
      h("span", { class: "entry-name" }, cat.fieldLabel(i.field), places(i)),
      h("span", { class: "entry-value figures" }, cat.shown(i), i.interpretation && h("i", {}, " ", i.interpretation), i.sure && h("span", { class: "soft entry-sure" }, " · ", surely(i.sure)), i.waiting && h("span", { class: "soft" }, " · kept here")), h("span", { class: "unseen" }, ". Change")));
  const brief = (items) => {
    const fields = new Set(items.map((i) => i.field)).size;
    return fields > 3 ? `${items.length} lines open` : `open: ${names(items)}`;
  };
  const places = (i) => i.sites.length > 0 && h("span", { class: "soft" }, ", ", i.sites.join(", "));
  const names = (items) => [...new Set(items.map((i) => cat.fieldLabel(i.field).toLowerCase()))].join(", ");
}
