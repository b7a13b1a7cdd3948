// [data-drill]: a drill without loading a page anew, so that the next item is there at
// once and a sound that may be made once may be made again. Each form still works
// by itself.

import { away } from "./drill_away.js";
import { hear } from "./drill_hear.js";
import { keys } from "./drill_keys.js";

let sending = false;

const drill = () => document.querySelector("[data-drill]");

function say(text) {
  const el = drill()?.querySelector("[data-says]");
  if (!el) return;
  el.textContent = text;
  el.hidden = !text;
}

/** Sends a form as the browser would, and shows the page that comes back. */
async function send(form, button) {
  if (sending) return;
  sending = true;
  const body = new URLSearchParams(new FormData(form));
  if (button?.name) body.set(button.name, button.value);
  try {
    const answer = await fetch(form.action, { method: "POST", body, credentials: "same-origin" });
    show(await answer.text(), answer);
  } catch {
    say("There is no connection. Nothing is lost: send it again when it is back.");
  } finally {
    sending = false;
  }
}

function show(text, answer) {
  const page = new DOMParser().parseFromString(text, "text/html");
  const next = page.querySelector("main[data-drill]");
  if (!next) return location.assign(answer.redirected ? answer.url : location.href); // signed out, or a fault: the page itself says it
  document.querySelector("main").replaceWith(next);
  document.title = page.title;
  if (answer.redirected) history.replaceState(null, "", answer.url);
  begin();
  scrollTo(0, 0);
}

/** Where the hands go on: into the line that is typed on, or to the next step. */
function focus(el) {
  const typed = matchMedia("(pointer: fine)").matches && el.querySelector("[data-asked] input:not([type=radio], [type=hidden])");
  const next = el.querySelector("[aria-invalid]") || el.querySelector("[data-next]") || typed || el.querySelector("input[data-key]:checked") || el.querySelector("h1");
  next?.focus({ preventScroll: true });
}

/** Makes the item void for a reason, as its button would. */
function void_(why) {
  const form = drill()?.querySelector("[data-void]");
  if (form) send(form, { name: "why", value: why });
}

function begin() {
  const el = drill();
  hear(el, () => void_("stalled"));
  away(el, () => void_("slept"));
  keys(el);
  focus(el);
}

document.addEventListener("submit", (e) => {
  if (!e.target.closest("[data-drill]")) return;
  e.preventDefault();
  send(e.target, e.submitter);
});
begin();
