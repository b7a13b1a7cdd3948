// A sound as it comes from the server: WAV, 16 bits, one channel or two. It is
// read here, so that it can be drawn as well as heard.

const patience = 10000; // milliseconds without a byte until a clip counts as lost

/**
 * {rate, seconds, channels: [Int16Array], pulse}; pulse is the second channel, the
 * movement under a finger, 0 to 1 in steps of 1/100 s, or null. It rejects
 * where the sound does not come, stalls or cannot be read.
 */
export async function fetchClip(url, signal) {
  const stop = new AbortController();
  signal.addEventListener("abort", () => stop.abort());
  let timer;
  const wait = () => { clearTimeout(timer); timer = setTimeout(() => stop.abort(), patience); };
  wait();
  try {
    const answer = await fetch(url, { cache: "no-store", credentials: "same-origin", signal: stop.signal });
    if (!answer.ok) throw new Error("the sound is not there: " + answer.status);
    const parts = [];
    const reader = answer.body.getReader();
    for (let next = await reader.read(); !next.done; next = await reader.read()) {
      parts.push(next.value);
      wait();
    }
    return readWav(await new Blob(parts).arrayBuffer());
  } finally {
    clearTimeout(timer);
  }
}

const text = (view, at) => String.fromCharCode(...new Uint8Array(view.buffer, at, 4));

/** Reads RIFF chunks in whatever order they stand. */
export function readWav(bytes) {
  const view = new DataView(bytes);
  if (bytes.byteLength < 44 || text(view, 0) !== "RIFF" || text(view, 8) !== "WAVE") throw new Error("the sound cannot be read: no WAV");
  let format = null;
  for (let at = 12; at + 8 <= bytes.byteLength;) {
    const size = view.getUint32(at + 4, true);
    if (text(view, at) === "fmt ") format = { kind: view.getUint16(at + 8, true), channels: view.getUint16(at + 10, true), rate: view.getUint32(at + 12, true), bits: view.getUint16(at + 22, true) };
    if (text(view, at) === "data" && format) return samples(view, at + 8, Math.min(size, bytes.byteLength - at - 8), format);
    at += 8 + size + (size & 1);
  }
  throw new Error("the sound cannot be read: no samples");
}

function samples(view, at, size, { kind, channels, rate, bits }) {
  if (kind !== 1 || bits !== 16 || channels < 1 || channels > 2) throw new Error("the sound cannot be read: 16 bits in one channel or two are wanted");
  const n = Math.floor(size / 2 / channels);
  const out = Array.from({ length: channels }, () => new Int16Array(n));
  for (let i = 0; i < n; i++) for (let c = 0; c < channels; c++) out[c][i] = view.getInt16(at + 2 * (i * channels + c), true);
  return { rate, seconds: n / rate, channels: out, pulse: out[1] ? envelope(out[1], rate) : null };
}

/** One channel as a WAV of its own. */
export function wav(channel, rate) {
  const view = new DataView(new ArrayBuffer(44 + channel.length * 2));
  const put = (at, word) => { for (let i = 0; i < 4; i++) view.setUint8(at + i, word.charCodeAt(i)); };
  put(0, "RIFF"); view.setUint32(4, 36 + channel.length * 2, true); put(8, "WAVE");
  put(12, "fmt "); view.setUint32(16, 16, true); view.setUint16(20, 1, true); view.setUint16(22, 1, true);
  view.setUint32(24, rate, true); view.setUint32(28, rate * 2, true); view.setUint16(32, 2, true); view.setUint16(34, 16, true);
  put(36, "data"); view.setUint32(40, channel.length * 2, true);
  channel.forEach((v, i) => view.setInt16(44 + 2 * i, v, true));
  return view.buffer;
}

function envelope(channel, rate) {
  const step = rate / 100;
  const out = new Float32Array(Math.floor(channel.length / step));
  for (let i = 0; i < out.length; i++) {
    let most = 0;
    for (let k = Math.round(i * step); k < (i + 1) * step; k++) most = Math.max(most, Math.abs(channel[k]));
    out[i] = most / 32768;
  }
  return out;
}
