// A watch whose hand goes round once a minute, and the seconds beside it. It
// counts nothing for anybody: the student does.

import { clock, h } from "./dom.js";

const ns = "http://www.w3.org/2000/svg";
const draw = (tag, attrs) => {
  const el = document.createElementNS(ns, tag);
  for (const [name, value] of Object.entries(attrs)) el.setAttribute(name, value);
  return el;
};

/** An element that shows seconds() while it is in the page. */
export function watch(seconds) {
  const svg = draw("svg", { viewBox: "0 0 100 100", class: "watch", "aria-hidden": "true" });
  svg.append(draw("circle", { cx: 50, cy: 50, r: 46, class: "watch-rim" }));
  for (let i = 0; i < 12; i++) {
    svg.append(draw("line", { x1: 50, y1: i % 3 ? 9 : 8, x2: 50, y2: i % 3 ? 14 : 19, class: "watch-tick", transform: `rotate(${i * 30} 50 50)` }));
  }
  const hand = draw("line", { x1: 50, y1: 58, x2: 50, y2: 14, class: "watch-hand" });
  svg.append(hand, draw("circle", { cx: 50, cy: 50, r: 3, class: "watch-pin" }));
  const figure = h("span", { class: "watch-seconds figures", role: "timer", "aria-live": "off" });
  const el = h("div", { class: "watch-box" }, svg, figure);
  const tick = () => {
    const s = seconds();
    hand.setAttribute("transform", `rotate(${(s % 60) * 6} 50 50)`);
    figure.textContent = clock(s);
  };
  tick();
  const timer = setInterval(() => (el.isConnected ? tick() : clearInterval(timer)), 200);
  return el;
}
