// Words that the server did not take, because the clock stood or had ended or another
// window had taken over. They are never sent by themselves; they stay in this tab, to be read.

import { fill, h } from "./dom.js";

const name = (of) => `dewclaw-unsent-${of}`;

export function unsent(of) {
  try {
    return JSON.parse(sessionStorage.getItem(name(of))) || [];
  } catch {
    return [];
  }
}

export function keepUnsent(of, texts) {
  if (!texts.length) return;
  sessionStorage.setItem(name(of), JSON.stringify([...unsent(of), ...texts].slice(-100)));
  dispatchEvent(new Event("unsent"));
}

/** Shows them in host while there are any. */
export function showUnsent(host, of) {
  const draw = () => {
    const texts = unsent(of);
    if (!texts.length) return fill(host);
    fill(host, h("section", { class: "paper unsent", role: "alert" },
      h("h2", {}, "Not taken"),
      h("p", { class: "measure" }, "The sitting did not take these, and they are not sent later by themselves. Where it goes on, write them again; where it is over, they do not count."),
      h("ul", {}, texts.map((t) => h("li", { class: "kept" }, t))),
      h("button", { type: "button", "data-put-away": "", onclick: () => { sessionStorage.removeItem(name(of)); draw(); } }, "Put this away")));
  };
  addEventListener("unsent", draw);
  draw();
}
