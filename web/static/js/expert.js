// [data-expert]: plays an expert's examination. Without scripts the page is a list;
// here one step of it is shown at a time, with what has been gone of the animal.

import { Player } from "./player.js";
import { fill, h } from "./dom.js";
import { listenWith } from "./listen.js";
import { read, send, told } from "./api.js";
import { wayOver } from "./expert_way.js";

const host = document.querySelector("[data-expert]");
const species = host.dataset.expert;
const scenes = [...host.querySelectorAll("[data-scene]")];
const find = (name) => host.querySelector(`[data-${name}]`);
const signs = { same: "✓", fits: "✓", done: "–", clashes: "✕" };

// How long a step stays while playing, in milliseconds: to be read, or listened to.
const listenFor = 8000;
const reading = (text) => Math.max(1800, 900 + 42 * text.trim().length);

let at = 0; // the scene that is shown
let beat = 0; // of it, the act that is gone through
let playing = false;
let turn = 0; // grows with every change, so that what was waited for is no longer wanted
let begun = false;
let moved = false; // somebody plays or goes on: until then the page stays as it opened
let ear = null; // what is listened to now
const way = wayOver(host);

const notes = { hidden: "Stopped while this page was hidden.", broken: "Your device stopped the sound." };

/** Puts a button in the place of the plain player; the sound comes when it is wanted. */
function hearing(box) {
  const start = () => {
    if (ear?.box === box) return;
    hush();
    ear = { box, player: new Player(box.dataset.sound, 1) };
    fill(box, listenWith(ear.player, "traced" in host.dataset, notes));
  };
  box.hear = start;
  box.rest = () => fill(box, h("div", { class: "listen" }, h("button", { type: "button", "data-listen": "", onclick: () => { pause(); start(); } }, "Listen")));
  box.rest();
}
function hush() {
  ear?.player.end();
  ear?.box.rest();
  ear = null;
}
for (const box of host.querySelectorAll("[data-sound]")) hearing(box);

const toldOf = (scene) => scene.querySelector("[data-told]");
const guess = (scene) => scene.querySelector("[data-guess]");
const open = (scene) => !guess(scene) || toldOf(scene).open;

function show(i, focus = false) {
  hush();
  turn++;
  at = Math.max(0, Math.min(scenes.length - 1, i));
  beat = 0;
  const scene = scenes[at];
  scenes.forEach((s) => { s.hidden = s !== scene; });
  draw();
  find("seek").value = String(at + 1);
  find("count").textContent = `Step ${at + 1} of ${scenes.length}`;
  find("back").disabled = at === 0;
  find("on").disabled = at === scenes.length - 1;
  find("end").hidden = at < scenes.length - 1;
  if (at > 0) note(at === scenes.length - 1);
  history.replaceState(null, "", "#" + scene.id);
  const head = scene.querySelector(open(scene) ? "h2" : "legend");
  if (focus) { head.tabIndex = -1; head.focus({ preventScroll: true }); }
  if (moved) near();
}

/** On a narrow screen the animal goes to the top, so that it and the step are seen together. */
function near() {
  const top = host.querySelector(matchMedia("(min-width: 54rem)").matches ? "[data-scenes]" : ".expert-grid").getBoundingClientRect().top;
  if (top < 0 || top > innerHeight / 4) scrollTo({ top: scrollY + top - 8, behavior: "instant" });
}

/** What is not told yet is not drawn either. */
function draw() {
  const scene = scenes[at];
  const shown = open(scene);
  way(Number((shown ? scene : scenes[at - 1])?.dataset.legs || 0));
  find("where").textContent = shown ? scene.querySelector("h2").textContent : "Where next?";
  for (const b of scene.querySelectorAll(".beat")) b.classList.remove("now");
}

let noted = "whole" in host.dataset;
function note(whole) {
  if (noted || (begun && !whole)) return;
  begun = true;
  noted = whole;
  send(`/experts/${species}/watched`, { whole }).catch(() => { noted = false; });
}

const rest = (ms) => new Promise((on) => setTimeout(on, ms / Number(find("speed").value)));

async function play() {
  playing = true;
  buttons();
  const mine = ++turn;
  if (!open(scenes[at])) return; // the answer goes on
  if (beat === 0) await rest(reading(scenes[at].querySelector("h2").textContent + scenes[at].querySelector(".why").textContent));
  const beats = [...scenes[at].querySelectorAll(".beat")];
  for (; beat < beats.length; beat++) {
    if (mine !== turn) return;
    await through(beats[beat], beats);
  }
  if (mine !== turn) return;
  if (at === scenes.length - 1) return pause();
  show(at + 1);
  play();
}
async function through(now, all) {
  all.forEach((b) => b.classList.toggle("now", b === now && all.length > 1));
  if (all.length > 1) now.scrollIntoView({ block: "nearest" });
  const sound = now.querySelector("[data-sound]");
  sound?.hear();
  await rest(sound ? listenFor : reading(now.innerText));
}
function pause() {
  playing = false;
  turn++;
  buttons();
}
function buttons() { find("play").textContent = playing ? "Pause" : "Play"; }

/** Goes on to what the expert does, with a word on the guess. */
function tell(scene, ...said) {
  const form = guess(scene);
  const inside = form.contains(document.activeElement); // what is hidden would lose the focus
  const word = h("div", { class: "verdict-said", role: "status", tabindex: "-1" }, said);
  form.hidden = true;
  form.after(word);
  toldOf(scene).open = true;
  toldOf(scene).classList.add("open-told");
  draw();
  const head = scene.querySelector("h2");
  head.tabIndex = -1;
  if (inside) (said.length > 0 ? word : head).focus({ preventScroll: true });
  if (playing) play();
}

for (const scene of scenes.filter(guess)) {
  const form = guess(scene);
  const just = form.querySelector("[data-tell]");
  just.hidden = false;
  just.addEventListener("click", () => tell(scene));
  form.addEventListener("submit", async (e) => {
    e.preventDefault();
    const wrong = form.querySelector(".wrong") || form.appendChild(h("p", { class: "wrong", role: "alert" }));
    wrong.hidden = true;
    try {
      const got = await read(`/experts/${species}/next?${new URLSearchParams(new FormData(form))}`);
      if (got.ok) return tell(scene, h("p", { class: got.body.verdict }, h("span", { "aria-hidden": "true" }, signs[got.body.verdict] + " "), got.body.words));
      wrong.textContent = told(got.body);
    } catch {
      wrong.textContent = "No answer came. Try again.";
    }
    wrong.hidden = false;
  });
}

const go = (i) => { moved = true; pause(); show(i, true); };
find("back").addEventListener("click", () => go(at - 1));
find("on").addEventListener("click", () => go(at + 1));
find("play").addEventListener("click", () => {
  if (playing) { hush(); return pause(); }
  note(false);
  moved = true;
  near();
  if (at === scenes.length - 1) show(0);
  play();
});
find("seek").addEventListener("input", (e) => { moved = true; pause(); show(Number(e.target.value) - 1); });
document.addEventListener("keydown", (e) => {
  if (e.altKey || e.ctrlKey || e.metaKey || e.target.closest("input, select, textarea, summary")) return;
  if (e.key === "ArrowRight" && at < scenes.length - 1) go(at + 1);
  else if (e.key === "ArrowLeft" && at > 0) go(at - 1);
});
document.addEventListener("visibilitychange", () => document.hidden && playing && pause());
addEventListener("hashchange", () => { const i = scenes.findIndex((s) => "#" + s.id === location.hash); if (i >= 0 && i !== at) go(i); });

host.classList.add("played");
find("transport").hidden = false;
find("end").querySelector("button").hidden = true; // it is noted by itself
show(Math.max(0, scenes.findIndex((s) => "#" + s.id === location.hash)));
buttons();
