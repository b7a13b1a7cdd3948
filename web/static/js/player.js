// The sound of one act while its contact is open. The clip runs on from the moment
// it came, heard or not, as what is listened to does: who stops and listens again
// hears what goes on now. Nearness (of the chest piece) and loudness scale it.

import { Graph, Plain, allowed, decoded, output } from "./audio.js";
import { fetchClip } from "./clip.js";

let loudness = 1; // as it was last set

/**
 * state is loading, on, off, refused (the browser wants a press), hidden (the page
 * was), broken (the device took the sound) or failed; "change" tells of each.
 */
export class Player extends EventTarget {
  constructor(url, nearness = 1) {
    super();
    Object.assign(this, { url, nearness, state: "loading", clip: null, graph: null, began: 0, turn: 0, tapping: false, gone: new AbortController() });
    const { signal } = this.gone;
    document.addEventListener("visibilitychange", () => document.hidden && this.hide(), { signal });
    addEventListener("pagehide", () => this.hide(), { signal });
    addEventListener("hush", () => (this.state === "on" || this.state === "loading") && this.clip && this.stop("off"), { signal });
    this.load();
  }
  set(state) {
    if (this.gone.signal.aborted) return;
    this.state = state;
    this.dispatchEvent(new Event("change"));
  }

  async load() {
    this.set("loading");
    try {
      this.clip = await fetchClip(this.url, this.gone.signal);
    } catch {
      return this.set("failed");
    }
    this.began = performance.now();
    await this.play();
  }

  /** The one button: Listen, Stop, Try again. While the sound is coming it changes nothing. */
  press() {
    if (this.state === "failed") return this.clip ? this.play() : this.load();
    if (this.state === "on") return this.stop("off");
    if (this.state !== "loading") return this.play();
  }

  async play() {
    if (document.hidden) return this.set("hidden");
    const turn = ++this.turn;
    const wanted = () => turn === this.turn && !this.gone.signal.aborted;
    this.set("loading");
    try {
      const state = await this.begin(wanted);
      if (wanted()) this.set(state);
    } catch {
      if (wanted()) this.set("failed");
    }
  }
  async begin(wanted) {
    if (!output()) {
      const plain = new Plain(this.clip, this.position());
      if (!(await plain.begin())) return "refused";
      if (!wanted()) return plain.end();
      this.graph = plain;
    } else {
      if (!(await allowed())) return "refused";
      this.buffer ||= await decoded(this.clip);
      if (!wanted()) return;
      this.graph = new Graph(this.clip, this.buffer, this.position(), () => this.stop("broken"));
    }
    this.level();
    return "on";
  }

  hide() { if (this.clip && (this.state === "on" || this.state === "loading")) this.stop("hidden"); }
  stop(state) {
    this.silence();
    this.set(state);
  }
  silence() {
    this.turn++;
    this.graph?.end();
    this.graph = null;
  }
  /** The contact is over: nothing is heard of it any more. */
  end() {
    this.silence();
    this.gone.abort();
  }

  level() { this.graph?.level(loudness * this.nearness, this.tapping ? 0.6 * loudness : 0); }
  near(x) { this.nearness = Math.max(0, Math.min(1, x)); this.level(); }
  tap(on) { this.tapping = on; this.level(); }
  get loudness() { return loudness; }
  set loudness(x) { loudness = x; this.level(); }

  /** The second of the clip that goes on now. */
  position() { return this.clip ? ((performance.now() - this.began) / 1000) % this.clip.seconds : 0; }
}
