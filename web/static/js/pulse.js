// The pulse under a finger: a fingertip on an artery, which lifts as the artery fills;
// with reduced motion a bar that lengthens in steps. By ear it is a tone that swells.

import { h } from "./dom.js";

const ns = "http://www.w3.org/2000/svg";
const lift = 34; // units of the drawing for the whole movement
const steps = 6;
const still = matchMedia("(prefers-reduced-motion: reduce)");

function shape(tag, attrs) {
  const el = document.createElementNS(ns, tag);
  for (const [name, value] of Object.entries(attrs)) el.setAttribute(name, value);
  return el;
}

/** Fits a player whose clip has a pulse. */
export function pulse(player) {
  const svg = shape("svg", { viewBox: "0 14 200 96", class: "finger", role: "img", "aria-label": "A fingertip on the artery; it lifts with each pulse that arrives" });
  const artery = shape("path", { class: "artery" });
  const tip = shape("g", {});
  tip.append(shape("path", { d: "M200 8 L104 30 C78 36 66 50 72 62 C77 73 96 74 112 66 L200 44", class: "tip" }), shape("path", { d: "M74 46 C82 38 94 36 103 38 C96 45 84 49 74 50", class: "nail" }));
  const bar = shape("rect", { x: 10, y: 100, height: 7, width: 0, class: "beat" });
  svg.append(artery, tip, bar);

  const tap = h("button", { type: "button", "aria-pressed": String(player.tapping), onclick: () => {
    player.tap(!player.tapping);
    tap.setAttribute("aria-pressed", String(player.tapping));
    if (player.tapping && player.state !== "on") player.press();
  } }, "Hear the pulse as a tap");
  const el = h("div", { class: "pulse" }, svg, h("div", {}, h("p", { class: "small" }, "Under your finger"), tap));

  let drawn = -1;
  const move = () => {
    if (player.gone.signal.aborted) return;
    requestAnimationFrame(move);
    const env = player.clip.pulse;
    let full = env[Math.min(env.length - 1, Math.floor(player.position() * 100))];
    if (still.matches) full = Math.ceil(full * steps - 0.2) / steps;
    if (full === drawn) return;
    drawn = full;
    bar.setAttribute("width", still.matches ? 180 * full : 0);
    const up = still.matches ? 0 : full * lift;
    tip.setAttribute("transform", `translate(0 ${-up + 20})`);
    artery.setAttribute("d", `M0 88 C40 88 60 ${88 - up} 92 ${88 - up} C124 ${88 - up} 150 88 200 88 M0 98 H200`);
    el.dataset.lift = full.toFixed(3);
  };
  requestAnimationFrame(move);
  return el;
}
