// The lines of one field. A field with several sites has a line for all of them
// at once, and one a site for where they differ.

import { fresh, h } from "./dom.js";
import { key } from "./catalogue.js";
import { line, nextLine } from "./line.js";
import { sureButtons } from "./sure.js";

const differ = "*";

/** {el, update} of one field at these places. folded: the single sites wait behind a fold. */
export function group(visit, places, { withRegion = false, folded = false } = {}) {
  const field = visit.cat.field(places[0].field);
  if (places.length === 1) {
    const one = line(visit, places[0], withRegion);
    return { el: one, update: one.update };
  }
  const alike = () => Boolean(field.choices?.length) && new Set(places.map((p) => visit.sheet().get(key(p))?.value || "")).size === 1;
  const lines = places.map((p) => line(visit, p, false, () => !alike()));
  const region = withRegion && h("span", { class: "line-region small soft" }, visit.cat.region(field.region)?.label);
  if (!field.choices?.length) {
    const el = h("div", { class: "line-group" }, h("p", { class: "line-title" }, field.label, region), lines);
    return { el, update: () => { for (const l of lines) l.update(); } };
  }
  const sites = folded ? h("details", { class: "sites-fold" }, h("summary", { class: "small" }, "Site by site"), lines) : null;
  const all = together(visit, field, places, region, sites, alike);
  const el = h("div", { class: "line-group" }, all.el, folded ? null : lines);
  return { el, update: () => { all.update(); for (const l of lines) l.update(); } };
}

/** One choice for all sites. */
function together(visit, field, places, region, sites, alike) {
  const id = fresh("all");
  const sure = sureButtons(visit, `${field.label}, all sites`, places, alike);
  const select = h("select", { id },
    h("option", { value: "" }, "–"),
    field.choices.map((c) => h("option", { value: c.id }, c.label)),
    h("option", { value: differ, hidden: true, disabled: true }, "differs"));
  select.addEventListener("change", () => {
    const { value } = select; // each entry draws the sheet anew, and this choice with it
    const sheet = visit.sheet();
    for (const p of places) if ((sheet.get(key(p))?.value || "") !== value) visit.record(p, { value });
  });
  const el = h("div", { class: "line", "data-line": field.id + "@all", role: "group", "aria-label": `${field.label}, all sites` },
    h("label", { for: id }, field.label, h("span", { class: "soft" }, `, ${places.length === 2 ? "both sides" : "all sites"}`), region),
    h("div", { class: "line-in" }, select, sure.el, sites));
  el.addEventListener("keydown", (e) => {
    if (e.target === select && visit.practice && sure.press(e.key)) return e.preventDefault();
    if (e.key !== "Enter" || e.target !== select) return;
    e.preventDefault();
    nextLine(el);
  });
  const update = () => {
    const sheet = visit.sheet();
    const values = new Set(places.map((p) => sheet.get(key(p))?.value || ""));
    select.value = values.size === 1 ? [...values][0] : differ;
    if (select.selectedIndex < 0) select.value = differ;
    sure.update();
  };
  update();
  return { el, update };
}
