// [data-finds]: what the student senses at the chosen place, in words; while a
// contact is open also the sound, the picture and the watch.

import { capital, clock, fill, h } from "./dom.js";
import { watch } from "./watch.js";

export function finds(host, room) {
  const { visit } = room;
  const { cat } = visit;
  let shown = "";

  const media = (act, name) => `/api/v1/attempts/${visit.id}/acts/${act.n}/${name}`;

  const sound = (act) => {
    const audio = h("audio", { src: media(act, "sound"), loop: true, preload: "auto" });
    const button = h("button", { type: "button", "aria-pressed": "false", onclick: () => (audio.paused ? audio.play().catch(() => {}) : audio.pause()) }, "Listen");
    const state = () => {
      button.setAttribute("aria-pressed", String(!audio.paused));
      button.textContent = audio.paused ? "Listen" : "Stop";
    };
    audio.addEventListener("play", state);
    audio.addEventListener("pause", state);
    audio.addEventListener("error", () => { button.textContent = "The sound did not come; press again"; audio.load(); });
    const volume = h("input", { type: "range", min: "0", max: "1", step: "0.05", value: "1", "aria-label": "Loudness", oninput: (e) => { audio.volume = Number(e.target.value); } });
    // The contact was asked for by a press, so the sound may begin with it.
    audio.play().catch(state);
    return h("div", { class: "listen" }, button, h("label", { class: "loud small" }, "Loudness ", volume), audio);
  };

  const picture = (act, words) => h("img", { class: "picture", src: media(act, "picture"), alt: words || "What you see, moving" });

  const contact = (act) => {
    const step = cat.step(act.step);
    return h("div", { class: "contact" },
      watch(() => visit.seconds()),
      h("div", {},
        h("p", { class: "small" }, step?.touch ? "Your hand is on the animal." : "You are looking."),
        h("button", { type: "button", class: "main", "data-lift": "", onclick: () => visit.lift() }, "Lift", " ", h("kbd", {}, "Esc"))));
  };

  const entry = (act) => {
    const open = act.n === visit.contact;
    const pieces = [];
    if (act.refused) pieces.push(h("p", { class: "caution" }, "The animal did not allow it."));
    const percepts = act.percepts || [];
    // The words of a sound or a picture only say what it is, which stands above already.
    for (const p of percepts) if (p.words && !p.sound && !p.picture) pieces.push(h("p", {}, capital(p.words)));
    if (!percepts.length && !act.refused) pieces.push(h("p", { class: "soft" }, "Nothing to be learned from this here."));
    for (const sign of act.signs || []) pieces.push(h("p", { class: "sign-seen" }, capital(sign)));
    if (open) {
      const seen = percepts.find((p) => p.picture), heard = act.heard || percepts.find((p) => p.sound);
      if (seen) pieces.push(picture(act, seen.words));
      if (heard) pieces.push(sound(act));
      pieces.push(contact(act));
    }
    const lift = visit.acts.find((a) => a.kind === "lift" && a.of === act.n);
    return h("article", { class: open ? "find open" : "find", "data-n": act.n },
      h("h3", {}, cat.stepLabel(act), h("span", { class: "when figures small soft" }, ` ${clock(act.clock)}${lift ? `, for ${lift.seconds || 0} s` : ""}`)), pieces);
  };

  const draw = () => {
    const acts = visit.acts.filter((a) => a.kind === "examine" && (cat.step(a.step)?.region === room.region || a.n === visit.contact));
    const waiting = visit.waiting().filter(({ act }) => act.kind === "examine");
    const latest = acts.toReversed().slice(0, 8);
    const state = JSON.stringify([room.region, visit.contact, visit.ended, latest.map((a) => a.n), waiting.length, visit.acts.filter((a) => a.kind === "lift").length]);
    if (state === shown) return; // a sound that plays is left alone
    shown = state;
    fill(host,
      waiting.map(({ act }) => h("p", { class: "soft" }, cat.stepLabel(act), ": waiting for the connection; what you find appears here.")),
      latest.map(entry));
  };
  room.onGo(draw);
  room.onChange(draw);
}
