// What the line means that is being written on, in one line of fixed place: it
// takes the same room whether it speaks or not, so that nothing moves under a finger.

import { h } from "./dom.js";

/** The element; it follows the focus inside host. */
export function about(host, cat) {
  const el = h("p", { class: "about small soft", "aria-hidden": "true" });
  host.addEventListener("focusin", (e) => {
    const field = cat.field(e.target.closest?.("[data-line]")?.dataset.line?.split("@")[0]);
    if (field) el.textContent = field.meaning ? `${field.label}: ${field.meaning}` : "";
  });
  return el;
}
