// What is seen at an act: the picture, and under a fold the same in words.

import { fill, h } from "./dom.js";

/** A picture that says so when it does not come. */
export function picture(url, words, title) {
  const alt = words.join(" ") || `What you see: ${title}`;
  const img = h("img", { class: "picture", src: url, alt, loading: "lazy", decoding: "async" });
  const again = h("div", { role: "status" });
  const retry = () => { fill(again); img.hidden = false; img.src = url; };
  img.addEventListener("error", () => {
    img.hidden = true;
    fill(again, h("p", { class: "wrong" }, "The picture did not come. ", h("button", { type: "button", onclick: retry }, "Try again")));
  });
  return h("div", { class: "seen-here" }, img, again,
    words.length > 0 && h("details", { class: "in-words" }, h("summary", { class: "small" }, "In words"), words.map((w) => h("p", {}, w))));
}

/** A film stands still once nobody looks: who counts, counts while looking. A canvas takes the first frame of a film. */
export function stilled(seen) {
  const img = seen.querySelector("img");
  const still = () => {
    const c = h("canvas", { class: "picture", role: "img", "aria-label": img.alt, width: img.naturalWidth, height: img.naturalHeight });
    c.getContext("2d").drawImage(img, 0, 0);
    img.replaceWith(c);
  };
  if (img?.complete && img.naturalWidth) still();
  else img?.addEventListener("load", still, { once: true });
  return seen;
}

/** A picture that is no longer the latest here waits under a fold. */
export function folded(seen) {
  return h("details", { class: "seen-again" }, h("summary", { class: "small" }, "See it again"), seen);
}
