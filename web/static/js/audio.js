// The page's one sound output, and what is laid out in it to play a clip.

import { wav } from "./clip.js";

const ramp = 0.04; // seconds to a new loudness: no click
const tapHertz = 180;

const idle = 2000; // milliseconds until the device may rest

let out = null;
let playing = 0;

/** The output, or null where the browser has none of this kind. */
export function output() {
  if (!out && window.AudioContext) out = new AudioContext();
  return out;
}
// A browser lets sound begin with a press only. The act was one, but its answer comes later.
for (const name of ["pointerup", "keydown"]) {
  addEventListener(name, () => { if (output()?.state === "suspended") out.resume().catch(() => {}); }, { capture: true, passive: true });
}

/** Whether sound may be made now; waits a little for the browser to say so. */
export async function allowed() {
  if (out.state !== "running") await Promise.race([out.resume(), new Promise((later) => setTimeout(later, 500))]).catch(() => {});
  return out.state === "running";
}

/** A short mark that something has settled, where sound may be made. */
export async function beep() {
  if (!out || !(await allowed())) return;
  const tone = new OscillatorNode(out, { frequency: 1400 });
  const gain = new GainNode(out, { gain: 0.1 });
  gain.gain.setTargetAtTime(0, out.currentTime + 0.16, 0.02);
  tone.connect(gain).connect(out.destination);
  tone.start();
  tone.stop(out.currentTime + 0.4);
}

export const decoded = (clip) => out.decodeAudioData(wav(clip.channels[0], clip.rate));

/** A clip on its way to both ears, and its pulse, where it has one, as a tone that swells with it. */
export class Graph {
  /** at: the second of the clip to begin with. lost() is called when the device takes the sound away. */
  constructor(clip, buffer, at, lost) {
    playing++;
    this.clip = clip;
    this.at = (at + (out.outputLatency || 0)) % clip.seconds;
    this.heard = new GainNode(out, { gain: 0 });
    this.heard.connect(out.destination);
    this.sources = [this.loop(buffer, this.heard)];
    if (clip.pulse) this.taps();
    out.onstatechange = () => out.state !== "running" && lost();
  }
  loop(buffer, to) {
    const source = new AudioBufferSourceNode(out, { buffer, loop: true, loopEnd: this.clip.seconds });
    source.connect(to);
    source.start(0, this.at);
    return source;
  }
  taps() {
    const { pulse, rate, seconds } = this.clip;
    const shape = out.createBuffer(1, rate * seconds, rate);
    const data = shape.getChannelData(0);
    for (let i = 0; i < data.length; i++) data[i] = pulse[Math.min(pulse.length - 1, Math.floor((i * 100) / rate))];
    const swell = new GainNode(out, { gain: 0 });
    this.tapped = new GainNode(out, { gain: 0 });
    const tone = new OscillatorNode(out, { frequency: tapHertz });
    tone.connect(swell).connect(this.tapped).connect(out.destination);
    tone.start();
    this.sources.push(this.loop(shape, swell.gain), tone);
  }
  level(heard, tapped) {
    this.heard.gain.setTargetAtTime(heard, out.currentTime, ramp);
    this.tapped?.gain.setTargetAtTime(tapped, out.currentTime, ramp);
  }
  end() {
    out.onstatechange = null;
    this.level(0, 0);
    for (const s of this.sources) s.stop(out.currentTime + 6 * ramp);
    playing--;
    setTimeout(() => playing || out.suspend().catch(() => {}), idle);
  }
}

/** The same where there is only the plain player of a page. */
export class Plain {
  constructor(clip, at) {
    this.el = new Audio(URL.createObjectURL(new Blob([wav(clip.channels[0], clip.rate)], { type: "audio/wav" })));
    this.el.loop = true;
    this.el.currentTime = at;
  }
  /** Whether it may play. */
  begin() { return this.el.play().then(() => true, () => false); }
  level(heard) { this.el.volume = heard; }
  end() { this.el.pause(); URL.revokeObjectURL(this.el.src); }
}
