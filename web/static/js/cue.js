// The lines of the chosen place where the sheet says less than it could: headings only,
// where one looks up the line one wants, or nothing, where one names it oneself.

import { read, told } from "./api.js";
import { key } from "./catalogue.js";
import { fill, fresh, h } from "./dom.js";
import { group } from "./group.js";
import { said } from "./said.js";
import { notAsked } from "./sure.js";
import { sweep } from "./sweep.js";
import { near } from "./typed.js";

const fewest = 2; // letters, until anything is offered

/** Headings only. What was written here stands open, and what was looked up. */
export function headed(host, room) {
  const { visit } = room;
  const { cat } = visit;
  const picked = new Set();
  let groups = [];
  let shown = "";
  const lines = h("div", { "data-lines": "" });

  const draw = () => {
    if (!room.region) return;
    const sheet = visit.sheet();
    const here = cat.fieldsOf(room.region).filter((f) => picked.has(f.id) || cat.placesOf(f).some((p) => sheet.has(key(p))));
    const state = room.region + here.map((f) => f.id);
    if (state !== shown) {
      if (!host.contains(lines)) fill(host, h("h3", {}, "On the sheet"), search(), lines, sweep(visit, `Rest of this region ${cat.school.nothing}`, () => [room.region]));
      shown = state;
      groups = here.map((f) => group(visit, cat.placesOf(f)));
      fill(lines, groups.map((g) => g.el));
    }
    for (const g of groups) g.update();
  };

  const search = () => combobox(`Chart a line of: ${cat.region(room.region)?.label}`, () => cat.fieldsOf(room.region), (field) => {
    picked.add(field.id);
    draw();
    lines.querySelector(`[data-line^="${CSS.escape(field.id)}@"]`)?.querySelector("select, input")?.focus();
  });
  room.onGo(() => { shown = ""; fill(host); draw(); });
  room.onChange(draw);
}

/** A field to be looked up by its name: arrows choose, Enter takes. */
function combobox(label, fields, take) {
  const id = fresh("look-up"), listID = id + "-list";
  const list = h("ul", { id: listID, class: "look-up-list", role: "listbox", "aria-label": label, hidden: true });
  const note = h("p", { class: "small soft", role: "status" });
  const input = h("input", { id, type: "text", role: "combobox", autocomplete: "off", "aria-autocomplete": "list", "aria-expanded": "false", "aria-controls": listID, maxlength: "60" });
  let found = [], at = -1;

  const fits = (field, words) => {
    const names = [field.label, ...(field.abbr || []), ...(field.synonyms || [])].join(" ").toLowerCase();
    return words.every((w) => names.includes(w));
  };
  const mark = (i) => {
    at = i;
    [...list.children].forEach((option, n) => option.setAttribute("aria-selected", String(n === i)));
    if (i >= 0) list.children[i].scrollIntoView({ block: "nearest" });
    if (i < 0) input.removeAttribute("aria-activedescendant");
    else input.setAttribute("aria-activedescendant", list.children[i].id);
  };
  const show = () => {
    const text = input.value.trim().toLowerCase();
    found = text.length < fewest ? [] : fields().filter((f) => fits(f, text.split(/\s+/)));
    fill(list, found.map((f, i) => h("li", { id: `${listID}-${i}`, role: "option", "aria-selected": "false", onpointerdown: (e) => { e.preventDefault(); pick(i); } }, f.label)));
    list.hidden = !found.length;
    input.setAttribute("aria-expanded", String(found.length > 0));
    note.textContent = text.length < fewest ? "" : found.length ? "" : "No line of this region has that name.";
    mark(found.length ? 0 : -1);
  };
  const pick = (i) => {
    const field = found[i];
    input.value = "";
    show();
    if (field) take(field);
  };
  input.addEventListener("input", show);
  input.addEventListener("blur", () => { list.hidden = true; input.setAttribute("aria-expanded", "false"); });
  input.addEventListener("keydown", (e) => {
    const step = { ArrowDown: 1, ArrowUp: -1 }[e.key];
    if (step && found.length) mark((at + step + found.length) % found.length);
    else if (e.key === "Enter") pick(at);
    else if (e.key === "Escape" && input.value) { input.value = ""; show(); }
    else return;
    e.preventDefault();
    e.stopPropagation();
  });
  return h("div", { class: "look-up" }, h("label", { for: id }, label), input, list, note);
}

/** Nothing: a blank line takes what and value, read as the typed line is. */
export function blank(host, room) {
  const { visit } = room;
  const { cat } = visit;
  const answer = h("div", { class: "typed-answer", "aria-live": "polite" });
  const what = h("input", { id: "blank-what", autocomplete: "off", maxlength: "80", autocapitalize: "none", spellcheck: "false" });
  const value = h("input", { id: "blank-value", autocomplete: "off", maxlength: "120", autocapitalize: "none", spellcheck: "false" });
  const form = h("form", { class: "blank-line", "data-blank": "", autocomplete: "off", onsubmit: (e) => { e.preventDefault(); write(); } },
    h("div", {}, h("label", { for: "blank-what" }, "What"), what), h("div", {}, h("label", { for: "blank-value" }, "Value"), value), h("button", {}, "Write it"));

  const refuse = (text) => fill(answer, h("p", { class: "wrong" }, text, " Write what it is by its name or its usual abbreviation, with side or site where it has one, and beside it what you found: HR and 104, or HR and 26x4n."));
  const write = async () => {
    const text = `${what.value.trim()} ${value.value.trim()}`.trim();
    if (!what.value.trim() || !value.value.trim()) return refuse("Both are needed.");
    let reply;
    try {
      reply = await read(`/catalogue/${encodeURIComponent(cat.species)}/line?text=${encodeURIComponent(text)}${near(visit)}`);
    } catch {
      return fill(answer, h("p", { class: "wrong" }, "There is no connection, so the line cannot be read. It stays here."));
    }
    if (!reply.ok) return refuse(told(reply.body));
    const acts = reply.body.acts || [];
    if (!acts.length || acts.some((a) => a.kind !== "record" || a.region)) return refuse("That is something to do, not a line of the sheet; the typed line above takes it.");
    if (!visit.practice && acts.some((a) => a.sure)) return fill(answer, h("p", { class: "wrong" }, notAsked));
    if (visit.shut) return fill(answer, h("p", { class: "wrong" }, `${visit.shut}: no act is taken now. The line stays here.`));
    for (const act of acts) visit.act(act);
    fill(answer, h("p", {}, h("span", { class: "sign" }, "✓ "), acts.map((a) => said(cat, a)).join("; ")));
    what.value = value.value = "";
    what.focus();
  };
  room.rewrite = (place) => {
    what.value = [cat.fieldLabel(place.field), ...(place.sites || [place.site])].filter(Boolean).join(" ");
    value.value = place.value || "";
    value.focus();
    value.select();
  };
  let at = "";
  const draw = () => {
    if (!room.region || at === room.region) return;
    at = room.region;
    fill(answer);
    fill(host, h("h3", {}, "A blank line"), form, answer, h("p", { class: "small soft" }, "A line that stands is written anew to change it; ", h("kbd", {}, "clear HR"), " in the typed line takes it off."), sweep(visit, `Rest of this region ${cat.school.nothing}`, () => [room.region]));
  };
  room.onGo(draw);
}
