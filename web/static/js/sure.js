// How sure one is of a line: one tap beside it, or ?, ~ or ! behind an entry. It
// is asked in practice only, is never marked and can be switched off.

import { send, told } from "./api.js";
import { fill, h } from "./dom.js";
import { key } from "./catalogue.js";

const words = { guess: "guess", fairly: "fairly sure", sure: "sure" };
const signs = { "?": "guess", "~": "fairly", "!": "sure" };

/** Takes the sign off the end of an entry: {text, sure}. */
export function unsigned(text) {
  const sure = signs[text.trim().slice(-1)];
  return sure ? { text: text.trim().slice(0, -1), sure } : { text };
}

/** What is said where nobody is asked. */
export const notAsked = "How sure you are is asked in practice only; write the entry without ?, ~ or !.";

/** As it stands in a sentence: "a guess". */
export const surely = (sure) => (sure === "guess" ? "a guess" : words[sure] || "");

/** Three buttons of one or more lines: {el, update, press(key)}. asks() says whether they are wanted. */
export function sureButtons(visit, label, places, asks = () => true) {
  const standing = () => {
    const sheet = visit.sheet();
    return places.map((p) => sheet.get(key(p))).filter((l) => l && l.value !== "not examined");
  };
  const say = (sure) => {
    open = false;
    for (const l of standing()) if (l.sure !== sure) visit.claim(l, sure);
    update();
  };
  let open = false; // to be said otherwise
  const buttons = Object.entries(words).map(([sure, text]) => h("button", { type: "button", "data-sure": sure, "aria-pressed": "false", "aria-label": `${label}: ${text}`, onclick: () => {
    if (el.dataset.said !== sure || open) return say(sure);
    open = true;
    update();
  } }, text));
  const el = h("span", { class: "sure", role: "group", "aria-label": `${label}: how sure?`, hidden: true }, h("span", { class: "small soft", "aria-hidden": "true" }, "How sure?"), buttons);
  el.addEventListener("keydown", (e) => {
    const step = { ArrowLeft: -1, ArrowRight: 1 }[e.key];
    if (!step) return;
    e.preventDefault();
    open = true;
    update();
    buttons[(buttons.indexOf(e.target) + step + buttons.length) % buttons.length].focus();
  });
  el.addEventListener("focusout", (e) => { if (!el.contains(e.relatedTarget)) { open = false; update(); } });

  const update = () => {
    const lines = standing();
    const said = new Set(lines.map((l) => l.sure || ""));
    const one = said.size === 1 ? [...said][0] : "";
    el.hidden = !visit.asksSure || !asks() || lines.length < places.length || lines.some((l) => l.swept && !l.sure);
    el.dataset.said = open ? "" : one;
    const at = Math.max(0, buttons.findIndex((b) => b.dataset.sure === one));
    buttons.forEach((b, i) => {
      b.setAttribute("aria-pressed", String(b.dataset.sure === one));
      b.tabIndex = el.contains(document.activeElement) ? (b === document.activeElement ? 0 : -1) : i === at ? 0 : -1;
    });
  };
  /** A sign that was typed on the line; whether it was one. */
  const press = (sign) => {
    if (!signs[sign] || el.hidden && !standing().length) return false;
    say(signs[sign]);
    return true;
  };
  return { el, update, press };
}

/** [data-asking]: explains it, and switches it on and off for oneself. */
export function asking(host, room) {
  const { visit } = room;
  if (!visit.practice) return;
  const button = h("button", { type: "button", class: "quiet", onclick: async () => {
    const answer = await send("/me/sure", { asked: !visit.asksSure }).catch(() => null);
    if (!answer?.ok) return visit.say(answer ? told(answer.body) : "There is no connection; try again when it is back.", true);
    visit.asksSure = answer.body.asked;
    visit.changed();
  } });
  const text = h("span", {});
  fill(host, button, text);
  host.hidden = false;
  room.onChange(() => {
    button.textContent = visit.asksSure ? "Asks how sure you are" : "Does not ask how sure you are";
    button.setAttribute("aria-pressed", String(visit.asksSure));
    fill(text, ...(visit.asksSure
      ? ["Never marked. Guess, fairly sure, sure: right about 50, 75, 95 times of 100. One tap beside a line, or ", h("kbd", {}, "?"), " ", h("kbd", {}, "~"), " ", h("kbd", {}, "!"), " behind an entry."]
      : ["The button switches it on again."]));
  });
}
