// [data-chart]: the lines of the chosen place. What was examined stands open;
// the rest is folded, since a line that was not examined is an exception.

import { about } from "./about.js";
import { count, fill, h } from "./dom.js";
import { key } from "./catalogue.js";
import { group } from "./group.js";
import { blank, headed } from "./cue.js";
import { sweep } from "./sweep.js";

export function chart(host, room) {
  const { visit } = room;
  if (visit.cue === "headings") return headed(host, room);
  if (visit.cue === "none") return blank(host, room);
  const { cat } = visit;
  const meaning = about(host, cat);
  let groups = [];
  let shown = "";

  const due = () => {
    const sheet = visit.sheet();
    const examined = new Set([...visit.examined.map(key), ...visit.acts.flatMap((a) => (a.percepts || []).map(key))]);
    return (p) => examined.has(key(p)) || sheet.has(key(p));
  };

  /** Where the places of the chest have no names, all lines of a field open with one. */
  const whole = (isDue) => (p) => isDue(p) || (cat.placed(cat.field(p.field)) && cat.placesOf(cat.field(p.field)).some(isDue));

  const draw = () => {
    if (!room.region) return;
    const isDue = cat.unplaced ? whole(due()) : due();
    const places = cat.fieldsOf(room.region).flatMap((f) => cat.placesOf(f));
    const now = places.filter(isDue), rest = places.filter((p) => !isDue(p));
    const state = room.region + now.map(key);
    if (state !== shown) {
      const was = document.activeElement?.closest?.("[data-chart] [data-line]")?.dataset.line;
      const unfolded = shown.startsWith(room.region) && host.querySelector("details")?.open;
      shown = state;
      groups = [];
      fill(host,
        h("h3", {}, "On the sheet"),
        now.length > 0 && meaning,
        !now.length && h("p", { class: "soft small" }, "Lines open here as you examine."),
        h("div", { "data-lines": "" }, grouped(now), now.length > 0 && sweep(visit, `Rest of this region ${visit.cat.school.nothing}`, () => [room.region])),
        rest.length > 0 && h("details", { class: "rest", open: unfolded || false }, h("summary", { class: "small" }, `Not examined: ${count(rest.length, "line")}`), h("div", { "data-lines": "" }, grouped(rest))));
      if (was) host.querySelector(`[data-line="${CSS.escape(was)}"]`)?.querySelector("select, input")?.focus();
    }
    for (const g of groups) g.update();
  };

  const grouped = (places) => [...new Set(places.map((p) => p.field))].map((id) => {
    const g = group(visit, places.filter((p) => p.field === id));
    groups.push(g);
    return g.el;
  });

  room.onGo(draw);
  room.onChange(draw);
}
