// Covers the desk while the sitting stands or another window has it. What was typed
// stays where it is; nothing below the cover can be reached.

import { fill, h } from "./dom.js";

/** {over(title, parts), off()} for the cover of a page and what lies under it. */
export function covering(cover, under) {
  let was = null, at = 0; // where one was
  let title = "";
  return {
    over(text, ...parts) {
      if (title === text) return;
      if (!title) [was, at] = [document.activeElement, scrollY];
      title = text;
      fill(cover, h("h2", {}, text), parts);
      cover.hidden = false;
      for (const el of under) el.inert = true;
      document.body.classList.add("covered");
      dispatchEvent(new Event("hush"));
      (cover.querySelector("button") || cover).focus();
    },
    off() {
      if (!title) return;
      title = "";
      cover.hidden = true;
      for (const el of under) el.inert = false;
      document.body.classList.remove("covered");
      if (was?.isConnected) was.focus({ preventScroll: true });
      scrollTo(0, at);
    },
  };
}

/** What the cover says about a clock; null: nothing lies over the desk. */
export function coverOf(clock, { back, goOn }) {
  const p = (text) => h("p", { class: "measure" }, text);
  const wrong = h("p", { class: "wrong", role: "alert", hidden: true });
  const button = (label, f) => h("button", { type: "button", class: "main", onclick: async () => {
    const told = await f().catch(() => ({ detail: "There is no connection; try again." }));
    wrong.hidden = !told;
    if (told) wrong.textContent = told.detail || told.title;
  } }, label);
  if (clock.phase === "over") return [clock.state.by_time ? "The time has ended" : "It has been handed in", p("What you examined and charted is kept and will be marked. The page goes on by itself.")];
  if (!clock.state.here) return ["Opened elsewhere", p("This sitting is open in another window or on another device, or you have signed in anew. What you typed here stays; acts are taken only where you continue."), button("Take it back here", back), wrong];
  if (clock.phase === "paused" && clock.state.own) return ["You have paused", p("Your clock stands still. What you typed is kept."), button("Go on", goOn), wrong];
  if (clock.phase === "paused") return ["The sitting is paused", p("The invigilator has stopped the clock; no time is lost. What you typed is kept. It goes on by itself, within ten seconds of being resumed.")];
  return null;
}
