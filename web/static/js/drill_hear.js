// [data-sounds]: what is heard at an item, in place of the plain players. The first
// sound begins by itself and goes on while its answer is read. Of several, one sounds.

import { fill, h } from "./dom.js";
import { picture } from "./picture.js";
import { Player } from "./player.js";
import { pulse } from "./pulse.js";
import { trace } from "./trace.js";
import { watch } from "./watch.js";

const players = new Map(); // by address
const says = {
  loading: "The sound is coming …",
  refused: "Your browser lets sound begin with a press.",
  hidden: "Stopped while this page was hidden.",
  broken: "Your device stopped the sound.",
  failed: "The sound did not come.",
};
const buttons = { on: "Stop", failed: "Try again" };

/** lost(): the device took a sound away in the middle of an item. */
export function hear(el, lost) {
  const wanted = [...el.querySelectorAll("[data-clip]")].map((clip) => clip.dataset.clip);
  for (const [src, player] of players) {
    if (wanted.includes(src)) continue;
    player.end();
    players.delete(src);
  }
  for (const host of el.querySelectorAll("[data-sounds]")) listen(host, el, lost);
  for (const host of el.querySelectorAll("[data-watch]")) second(host, wanted[0]);
  for (const host of el.querySelectorAll("[data-picture]")) seen(host);
}

function listen(host, el, lost) {
  const clips = [...host.querySelectorAll("[data-clip]")].map((x) => ({ src: x.dataset.clip, label: x.dataset.label, key: x.dataset.press, actual: "actual" in x.dataset }));
  const sounding = clips.find((c) => players.get(c.src)?.state === "on");
  let now = sounding || clips[0];
  const kbd = (key) => h("kbd", { "aria-hidden": "true" }, key);
  const many = clips.length > 1;
  const places = clips.map((c) => h("button", { type: "button", "data-key": c.key, onclick: () => take(c) }, c.label, " ", kbd(c.key)));
  const button = h("button", { type: "button", "data-key": "p", "data-listen": "", onclick: () => players.get(now.src).press() });
  const loud = h("input", { type: "range", min: "0", max: "1", step: "0.05", "aria-label": "Loudness", oninput: (e) => { players.get(now.src).loudness = Number(e.target.value); } });
  const note = h("p", { class: "small soft listen-note", role: "status" });
  const more = h("div");
  fill(host,
    many && h("div", { class: clips.length > 2 ? "drill-places" : "drill-places pair", role: "group", "aria-label": "Listen where" }, places),
    h("div", { class: "listening" }, h("div", { class: "listen" }, button, h("label", { class: "loud small" }, "Loudness ", loud), note), more));

  /** Goes to a sound: the one before falls silent, this one sounds. */
  function take(clip) {
    const same = clip === now;
    now = clip;
    for (const c of clips) if (c !== clip && players.get(c.src)?.state === "on") players.get(c.src).press();
    if (!players.has(clip.src)) open(clip);
    else if (!same || players.get(clip.src).state !== "on") players.get(clip.src).press();
    lay();
  }
  function open(clip) {
    if (!players.has(clip.src)) players.set(clip.src, new Player(clip.src));
    players.get(clip.src).addEventListener("change", () => host.isConnected && clip === now && state());
  }
  function lay() {
    const player = players.get(now.src);
    fill(more, el.matches("[data-traced]") && trace(player));
    state();
  }
  function state() {
    const player = players.get(now.src);
    host.dataset.state = player.state;
    loud.value = String(player.loudness);
    places.forEach((b, i) => b.setAttribute("aria-pressed", String(clips[i] === now)));
    fill(button, buttons[player.state] || "Listen", " ", kbd("p"));
    button.setAttribute("aria-disabled", String(player.state === "loading"));
    note.textContent = says[player.state] || "";
    if (player.clip?.pulse && !more.querySelector(".pulse")) more.append(pulse(player));
    if (player.state === "broken" && el.matches("[data-asked]")) lost();
  }
  for (const c of clips) if (c === now || players.has(c.src)) open(c);
  lay();
  const actual = clips.find((c) => c.actual); // beside the right answer: what was there
  if (actual && actual !== now) take(actual);
}

/** A watch whose hand begins with the sound, and from 0 whenever one likes. */
function second(host, src) {
  const player = players.get(src);
  let began = 0;
  const start = () => (began = performance.now());
  const heard = () => player.state === "on" && !began && start();
  if (player) player.addEventListener("change", heard);
  else start();
  if (player) heard();
  host.className = "drill-watch";
  fill(host, watch(() => (began ? Math.floor((performance.now() - began) / 1000) : 0)),
    h("button", { type: "button", "data-key": "w", onclick: start }, "From 0 ", h("kbd", { "aria-hidden": "true" }, "w")));
}

function seen(host) {
  const img = host.querySelector("img"), caption = host.querySelector("figcaption");
  fill(host, picture(host.dataset.picture, [], caption?.textContent || "the patient"), caption);
}
