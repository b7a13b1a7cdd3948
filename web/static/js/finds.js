// [data-finds]: what the student senses at the chosen place. What is heard is not
// told in words, unless this person may have it so; what is seen is a picture; a
// slow instrument is read when it is taken away.

import { capital, clock, h } from "./dom.js";
import { contact } from "./contact.js";
import { folded, picture, stilled } from "./picture.js";
import { listening } from "./listen.js";

const most = 8; // finds that stand here at once

export function finds(host, room) {
  const { visit } = room;
  const { cat } = visit;
  const listen = listening(room);
  const made = new Map(); // number of an act: {state, el}
  const pictures = new Map();

  /** Whether the words tell something: those of what is counted or measured by eye or ear only name the step. */
  const telling = (act, p) => p.words && !p.words.startsWith(cat.step(act.step)?.label);
  const seen = (act) => {
    if (!pictures.has(act.n)) {
      const words = (act.percepts || []).filter((p) => p.sense === "picture" && telling(act, p)).map((p) => capital(p.words));
      pictures.set(act.n, picture(`/api/v1/attempts/${visit.id}/acts/${act.n}/picture`, words, cat.stepLabel(act)));
    }
    return pictures.get(act.n);
  };

  const counted = (act) => act.percepts?.some((p) => cat.field(p.field)?.kind === "count");
  const shown = (act, open, last) => {
    const el = !open && counted(act) ? stilled(seen(act)) : seen(act);
    return last ? el : folded(el);
  };

  /** The words of what was sensed, one paragraph a percept; what is heard has them only for who was granted them. */
  const told = (act, open) => {
    const words = (...senses) => (act.percepts || []).filter((p) => senses.includes(p.sense) && telling(act, p)).map((p) => h("p", {}, capital(p.words)));
    const heard = words("sound");
    return [words("words", "reading"),
      !open && act.percepts?.some((p) => p.sense === "rising") && reading(act),
      heard.length > 0 && h("div", { class: "described" }, h("p", { class: "tag" }, "Described"), heard)];
  };
  const reading = (act) => {
    const read = visit.acts.find((a) => a.read?.of === act.n)?.read;
    if (!read) return h("p", { class: "soft" }, visit.contact === act.n ? "Taken out; the reading is on its way." : "Nothing was read.");
    const site = cat.siteOf({ step: act.step, site: read.site || act.site });
    return h("p", { "data-reading": "" }, h("span", { class: "figures" }, read.words), site && `, ${site}`);
  };

  const entry = (act, open, last) => {
    const nothing = !act.percepts?.length && !act.refused && !act.heard && !act.seen;
    const end = visit.acts.find((a) => a.kind === "lift" && a.of === act.n);
    return h("article", { class: open ? "find open" : "find", "data-n": act.n, tabindex: "-1" },
      h("h3", {}, cat.stepLabel(act), h("span", { class: "when figures small soft" }, ` ${clock(act.clock)}${end ? `, for ${end.seconds || 0} s` : ""}`)),
      act.refused && h("p", { class: "caution" }, "The animal did not allow it."),
      ...told(act, open).flat(),
      nothing && h("p", { class: "soft" }, "Nothing to be learned from this here."),
      (act.signs || []).map((sign) => h("p", { class: "sign-seen" }, capital(sign))),
      open && contact(visit, act, cat.step(act.step)),
      open && act.heard && listen(act),
      act.seen && shown(act, open, last));
  };

  /** The article of an act, made anew only when something of it changed. */
  const article = (act, last) => {
    const open = act.n === visit.held();
    const state = [open, last, visit.contact === act.n, visit.acts.some((a) => a.of === act.n || a.read?.of === act.n)].join();
    const was = made.get(act.n);
    if (was?.state === state) return was.el;
    const el = entry(act, open, last);
    if (was?.el.contains(document.activeElement)) queueMicrotask(() => el.focus({ preventScroll: true }));
    made.set(act.n, { state, el });
    return el;
  };

  const draw = () => {
    const acts = visit.acts.filter((a) => a.kind === "examine" && (cat.step(a.step)?.region === room.region || a.n === visit.contact)).toReversed().slice(0, most);
    const last = acts.find((a) => a.seen)?.n;
    const waiting = visit.waiting().filter(({ act }) => act.kind === "examine");
    arrange(host, [
      ...waiting.map(({ act }) => h("p", { class: "soft" }, cat.stepLabel(act), ": waiting for the connection; what you find appears here.")),
      ...acts.map((a) => article(a, a.n === last)),
    ]);
  };
  room.onGo(draw);
  room.onChange(draw);
}

/** Gives el these children; one that stays is not moved, so that it keeps focus, sound and picture. */
function arrange(el, children) {
  for (const old of [...el.children]) if (!children.includes(old)) old.remove();
  children.forEach((child, i) => { if (el.children[i] !== child) el.insertBefore(child, el.children[i] || null); });
}
