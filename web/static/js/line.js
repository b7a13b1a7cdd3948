// One line of the sheet to be written on: a choice, or a number with its
// reading, or "not examined" with the reason. Every change is sent at once.

import { readEntry } from "./entry.js";
import { fill, fresh, h } from "./dom.js";
import { key } from "./catalogue.js";
import { notAsked, sureButtons } from "./sure.js";

const readings = ["low", "normal", "high"];
const gap = "not examined";

/** The element of a line; its update() follows the sheet. asks() says whether it asks how sure one is. */
export function line(visit, place, withRegion = false, asks = () => true) {
  const field = visit.cat.field(place.field);
  const id = fresh("line");
  const label = [field.label, place.site].filter(Boolean).join(", ");
  const note = h("p", { class: "wrong", id: id + "-note", hidden: true });
  const mark = h("span", { class: "line-mark small soft" });
  const sure = sureButtons(visit, label, [place], asks);
  const reason = h("input", { type: "text", maxlength: "200", class: "line-reason", placeholder: "why not?", "aria-label": `${label}: why not examined`, hidden: true });
  const parts = field.choices?.length && (field.kind === "choice" || field.kind === "grade") ? choiceParts() : numberParts();
  const el = h("div", { class: field.vital ? "line vital-line" : "line", "data-line": key(place), role: "group", "aria-label": label },
    field.meaning && h("span", { class: "unseen", id: id + "-about" }, field.meaning),
    h("label", { for: id }, label, /^[A-Z]/.test(field.abbr?.[0] || "") && h("span", { class: "soft" }, " ", field.abbr[0]), withRegion && h("span", { class: "line-region small soft" }, visit.cat.region(field.region)?.label)),
    h("div", { class: "line-in" }, parts.nodes, mark, sure.el, parts.skip, reason), note);

  function complain(text) {
    note.textContent = text;
    note.hidden = !text;
    parts.main.toggleAttribute("aria-invalid", Boolean(text));
    if (text) parts.main.setAttribute("aria-invalid", "true");
    describe(text ? note.id : "");
  }
  function describe(also) {
    parts.main.setAttribute("aria-describedby", [also, field.meaning && id + "-about"].filter(Boolean).join(" "));
  }
  function write(entry) {
    complain("");
    const now = visit.sheet().get(key(place)) || { value: "" };
    const same = ["value", "over", "interpretation", "reason"].every((n) => (now[n] || "") === (entry[n] || ""));
    if (entry.sure && !visit.practice) return complain(notAsked);
    if (!same) visit.record(place, entry);
    else if (entry.sure && entry.sure !== now.sure) visit.claim({ ...now, ...place }, entry.sure);
  }
  function askReason() {
    reason.hidden = false;
    reason.focus();
  }
  reason.addEventListener("change", () => {
    if (reason.value.trim()) write({ value: gap, reason: reason.value.trim() });
    else complain("Say why, such as: growled when approached.");
  });

  function choiceParts() {
    const select = h("select", { id },
      h("option", { value: "" }, "–"),
      field.choices.map((c) => h("option", { value: c.id }, c.label)),
      h("option", { value: gap }, "not examined …"));
    select.addEventListener("change", () => {
      reason.hidden = select.value !== gap;
      if (select.value === gap) askReason();
      else write({ value: select.value });
    });
    return { main: select, nodes: [select], set: (l) => { select.value = l.value; } };
  }

  function numberParts() {
    const input = h("input", { id, type: "text", inputmode: "text", autocomplete: "off", class: "line-number", maxlength: "16", placeholder: field.kind === "count" ? "26x4" : "" });
    const over = field.kind === "count" && h("input", { type: "text", inputmode: "numeric", class: "line-over", maxlength: "3", "aria-label": `${label}: counted over how many seconds` });
    const buttons = field.vital ? readings.map((r) => h("button", { type: "button", "aria-pressed": "false", "aria-label": `${label}: ${r}`, onclick: () => { reading = r; commit(); } }, r)) : [];
    const skip = h("button", { type: "button", class: "quiet small skip", "aria-label": `${label}: not examined`, onclick: () => { input.value = ""; askReason(); } }, "not examined");
    let reading = "";
    const commit = () => {
      const entry = readEntry(input.value, field, visit.cat.school.weight);
      if (entry.wrong) return complain(entry.wrong);
      if (entry.value === "") {
        if (visit.sheet().get(key(place))?.value !== gap) write({ value: "" });
        return;
      }
      if (entry.interpretation) reading = entry.interpretation;
      const seconds = Number(over && over.value.trim());
      if (over && over.value.trim() && !(seconds >= 1 && seconds <= 600)) return complain("Seconds: a whole number from 1 to 600.");
      write({ value: entry.value, over: entry.over || seconds || 0, interpretation: field.vital ? reading : "", sure: entry.sure });
    };
    for (const el of [input, over]) el && el.addEventListener("change", commit);
    const set = (l) => {
      reading = l.interpretation || "";
      if (document.activeElement !== input) input.value = l.value === gap ? "" : l.value;
      if (over && document.activeElement !== over) over.value = l.over || (l.value === "" ? over.value : "");
      buttons.forEach((b, i) => b.setAttribute("aria-pressed", String(readings[i] === reading)));
    };
    const unit = field.unit ? h("span", { class: "unit" }, visit.cat.unit(field)) : null;
    return { main: input, nodes: [input, unit, over && h("span", { class: "over" }, "in ", over, " s"), buttons.length ? h("span", { class: "reading", role: "group", "aria-label": `${label}: reading` }, buttons) : null], skip, set, commit };
  }

  el.addEventListener("keydown", (e) => {
    if (e.target.tagName === "SELECT" && visit.practice && sure.press(e.key)) return e.preventDefault();
    if (e.key !== "Enter" || e.target.tagName === "BUTTON") return;
    e.stopPropagation();
    e.preventDefault();
    if (e.target === parts.main && parts.commit) parts.commit();
    if (note.hidden && !(e.target === parts.main && parts.main.value === gap)) nextLine(el);
  });
  describe("");
  el.update = () => {
    const now = visit.sheet().get(key(place)) || { value: "" };
    const kept = now.value === "" && visit.waiting().some(({ act }) => act.kind === "record" && key(act) === key(place));
    if (document.activeElement !== parts.main || parts.main.tagName !== "SELECT") parts.set(now);
    if (now.value === gap) { reason.hidden = false; if (document.activeElement !== reason) reason.value = now.reason || ""; }
    else if (document.activeElement !== reason && parts.main.value !== gap) reason.hidden = true;
    const words = now.waiting || kept ? "kept here" : now.value === gap ? "– not examined" : now.swept ? `✓ rest ${visit.cat.school.nothing}` : now.value ? "✓" : "";
    fill(mark, words);
    sure.update();
  };
  el.update();
  return el;
}

/** Enter goes to the next line that is open and still empty, or to the next "rest normal". */
export function nextLine(el) {
  const stops = [...el.closest("[data-lines]").querySelectorAll("[data-line], [data-sweep]")];
  const next = stops.slice(stops.indexOf(el) + 1).find((stop) => {
    if (!stop.checkVisibility()) return false; // folded away
    return stop.matches("[data-sweep]") || !stop.querySelector("select, input").value;
  });
  const target = next?.matches("[data-sweep]") ? next : next?.querySelector("select, input");
  target?.focus();
  if (target?.tagName === "INPUT") target.select();
}
