// An act in words, as the typed line repeats it.

import { surely } from "./sure.js";

/** What an act is, for people. */
export function said(cat, act) {
  switch (act.kind) {
    case "examine": return cat.stepLabel(act);
    case "record": return act.region ? `${cat.region(act.region)?.label}: rest ${cat.school.nothing}` : written(cat, act);
    case "ask": return cat.topic(act.topic)?.ask || act.topic;
    case "handle": return cat.handle(act.how)?.label || act.how;
    case "wait": return `Wait ${act.seconds} s`;
    default: return act.kind;
  }
}

function written(cat, act) {
  const value = act.value === "" ? "nothing (taken off)" : cat.shown(act);
  return `${[cat.fieldLabel(act.field), act.site].filter(Boolean).join(", ")}: ${value}${act.over ? ` over ${act.over} s` : ""}${act.interpretation ? ", " + act.interpretation : ""}${act.sure ? ", " + surely(act.sure) : ""}`;
}
