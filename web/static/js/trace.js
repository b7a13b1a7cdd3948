// What is heard as a trace, for who may have it: the last four seconds at true speed
// under a fixed line at the right. With reduced motion it is a still page that turns
// when four seconds are over. It marks what is there and when; loudness is pressed
// together, so that a faint sound stands out and a loud one is no higher than it need be.

import { h } from "./dom.js";

const wide = 4; // seconds
const columns = 200; // a second
const still = matchMedia("(prefers-reduced-motion: reduce)");

/** Least and most of every column, and the clip's own scale. */
function pressed({ channels: [heard], rate, seconds }) {
  const n = Math.round(seconds * columns);
  const low = new Float32Array(n), high = new Float32Array(n);
  let most = 0.1; // where next to nothing is heard, noise is not blown up to fill the height
  for (let i = 0; i < n; i++) {
    for (let k = Math.floor((i * rate) / columns); k < ((i + 1) * rate) / columns; k++) {
      const v = heard[k] / 32768;
      low[i] = Math.min(low[i], v);
      high[i] = Math.max(high[i], v);
    }
    most = Math.max(most, high[i], -low[i]);
  }
  return { n, low, high, most };
}

export function trace(player) {
  const canvas = h("canvas", { class: "trace", role: "img", "aria-label": "Trace of the last four seconds of what is heard" });
  const el = h("figure", { class: "traced" }, canvas, h("figcaption", { class: "tag" }, "Traced: presence and timing are marked, not loudness. A stroke below is a second."));
  let data = null;
  let page = "";

  const draw = () => {
    if (player.gone.signal.aborted) return;
    requestAnimationFrame(draw);
    if (!player.clip) return;
    data ||= pressed(player.clip);
    const now = still.matches ? Math.floor(player.position() / wide) * wide : player.position();
    const ink = getComputedStyle(canvas);
    const at = [now, canvas.clientWidth, player.nearness, ink.color].join();
    if (at === page || !canvas.clientWidth) return;
    page = at;
    paint(now, ink);
  };

  const paint = (now, ink) => {
    const scale = devicePixelRatio || 1, w = canvas.clientWidth, tall = canvas.clientHeight;
    if (canvas.width !== Math.round(w * scale)) { canvas.width = Math.round(w * scale); canvas.height = Math.round(tall * scale); }
    const pen = canvas.getContext("2d");
    pen.setTransform(scale, 0, 0, scale, 0, 0);
    pen.clearRect(0, 0, w, tall);
    const { pulse, seconds } = player.clip;
    const middle = pulse ? tall * 0.36 : tall * 0.47, half = middle - 4, x = (t) => w - 6 - ((now - t) * (w - 6)) / wide;
    const height = (v) => Math.sign(v) * half * Math.sqrt((Math.abs(v) * player.nearness) / data.most);
    pen.fillStyle = ink.color;
    const step = (w - 6) / wide / columns, first = Math.ceil((now - wide) * columns), last = Math.floor(now * columns);
    for (let c = first; c < last; c++) {
      const i = ((c % data.n) + data.n) % data.n, top = middle - height(data.high[i]);
      pen.fillRect(x(c / columns), top - 0.5, Math.max(step, 0.75), middle - height(data.low[i]) - top + 1);
    }
    pen.fillStyle = ink.getPropertyValue("--violet");
    if (pulse) {
      const floor = tall - 12;
      for (let c = Math.ceil((now - wide) * 100); c < now * 100; c++) {
        const v = pulse[((c % pulse.length) + pulse.length) % pulse.length] * tall * 0.3;
        pen.fillRect(x(c / 100), floor - v, step * 2 + 0.5, v + 1); // a little wider, so that no seam shows
      }
    }
    pen.fillRect(w - 6, 0, 1.5, tall);
    pen.fillStyle = ink.getPropertyValue("--edge");
    for (let t = Math.ceil(now - wide); t <= now; t++) pen.fillRect(x(t), tall - 6, 1, 6);
    el.dataset.drawn = (now % seconds).toFixed(2);
  };
  requestAnimationFrame(draw);
  return el;
}
