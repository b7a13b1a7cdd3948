// One's own sitting by the server's clock. The browser's clock does not count: what is
// left comes from the server, less half the time that the answer was under way, and
// runs down by the browser's steady count of seconds until the next answer.

import { read, send } from "./api.js";

const every = 10000; // milliseconds between looks
const warnings = [300, 60]; // seconds that are left as one is told

/** What is left, to be said aloud. */
function words(left) {
  if (left > 90) return `${Math.round(left / 60)} minutes are left.`;
  return left > 50 ? "1 minute is left." : `${Math.ceil(left)} seconds are left.`;
}

export class TurnClock extends EventTarget {
  constructor(id) {
    super();
    Object.assign(this, { id, state: null, ends: 0, lost: false });
    addEventListener("online", () => this.look());
    document.addEventListener("visibilitychange", () => document.hidden || this.look());
    this.look();
  }

  async look() {
    clearTimeout(this.timer);
    this.timer = setTimeout(() => this.look(), every);
    const sent = performance.now();
    try {
      const answer = await read(`/turns/${this.id}/clock`);
      this.lost = !answer.ok;
      if (answer.ok) this.take(answer.body, (performance.now() - sent) / 2);
    } catch {
      this.lost = true;
    }
    this.dispatchEvent(new Event("change"));
  }
  take(state, underWay = 0) {
    this.state = state;
    this.ends = performance.now() + state.left_ms - underWay;
  }

  /** Does a deed; null: it went well, else what the server said. */
  async do(deed) {
    const sent = performance.now();
    const answer = await send(`/turns/${this.id}/${deed}`, {});
    if (answer.ok) this.take(answer.body, (performance.now() - sent) / 2);
    this.dispatchEvent(new Event("change"));
    return answer.ok ? null : answer.body;
  }

  get phase() { return this.state?.phase || ""; }
  /** Seconds that are left. */
  left() {
    if (!this.state || this.phase === "over") return 0;
    return Math.max(0, (this.phase === "paused" ? this.state.left_ms : this.ends - performance.now()) / 1000);
  }
}

/** h:mm:ss, without what is nought in front. */
export function spelled(seconds) {
  const s = Math.ceil(seconds), two = (n) => String(n).padStart(2, "0");
  if (s >= 172800) return `${Math.floor(s / 86400)} days`;
  const h = Math.floor(s / 3600), m = Math.floor(s / 60) % 60;
  return h ? `${h}:${two(m)}:${two(s % 60)}` : `${m}:${two(s % 60)}`;
}

/** Writes what is left into el every second, and says in says once when little is. */
export function shows(clock, el, says) {
  const warned = new Set();
  const draw = () => {
    if (!clock.state) return;
    const left = clock.left();
    const text = spelled(left) + (clock.phase === "paused" ? " ‖" : "") + (clock.lost ? " (no connection)" : "");
    if (el.textContent !== text) el.textContent = text;
    el.classList.toggle("short", clock.phase === "running" && left <= 60);
    if (clock.phase === "running") {
      for (const at of warnings.filter((w) => left > w)) warned.delete(at); // minutes were given
      const due = warnings.filter((w) => left <= w && !warned.has(w));
      for (const at of due) warned.add(at);
      if (due.length && left > 0) says.textContent = words(left);
      if (left === 0 && !clock.asked) { clock.asked = true; clock.look().then(() => { clock.asked = false; }); }
    }
  };
  clock.addEventListener("change", draw);
  setInterval(draw, 500);
}
