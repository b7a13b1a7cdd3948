// [data-room]: puts the examination room together. Every part is a module of
// its own; they know the room, not each other.

import { animal } from "./animal.js";
import { bench } from "./bench.js";
import { capital, clock, fill, h } from "./dom.js";
import { chart } from "./chart.js";
import { finds } from "./finds.js";
import { handling } from "./handling.js";
import { key } from "./catalogue.js";
import { keys } from "./keys.js";
import { openLines } from "./open.js";
import { openVisit } from "./visit.js";
import { orient } from "./orient.js";
import { owner } from "./owner.js";
import { places } from "./places.js";
import { sheet } from "./sheet.js";
import { asking } from "./sure.js";
import { stand } from "./stand.js";
import { status } from "./status.js";
import { tabs } from "./tabs.js";
import { tray } from "./tray.js";
import { turn } from "./turn_room.js";
import { typed } from "./typed.js";
import { showUnsent } from "./unsent.js";

class Room {
  constructor(visit) {
    this.visit = visit;
    this.region = "";
    this.hand = ""; // the instrument in the hand; none: hands and eyes
    this.handed = [];
    this.went = [];
    this.tabbed = [];
    this.listeners = [];
    visit.addEventListener("change", () => this.changed());
  }
  onChange(f) { this.listeners.push(f); }
  onHand(f) { this.handed.push(f); }
  onGo(f) { this.went.push(f); }
  onTab(f) { this.tabbed.push(f); }
  changed() { for (const f of this.listeners) f(); }

  /** Goes to a region: its verbs, finds and lines. */
  go(region, focus = true) {
    this.region = region;
    this.showTab("tab-animal");
    const head = document.querySelector("[data-region-name]");
    head.textContent = this.visit.cat.region(region)?.label || region;
    for (const f of this.went) f(region);
    this.changed();
    if (focus) {
      head.focus({ preventScroll: true });
      // On a narrow screen the work lies below the drawing.
      if (head.getBoundingClientRect().top > innerHeight * 0.8 || head.getBoundingClientRect().top < 0) head.scrollIntoView({ block: "start" });
    }
  }

  /** Goes to where a line is written. */
  correct(place) {
    this.go(this.visit.cat.field(place.field).region, false);
    if (this.rewrite) return this.rewrite(place);
    const line = document.querySelector(`[data-chart] [data-line="${CSS.escape(key({ field: place.field, site: place.sites?.[0] || place.site }))}"]`);
    const control = line?.querySelector("select, input");
    control?.focus();
    control?.scrollIntoView({ block: "center" });
  }
}

const parts = { animal, places, tray, bench, finds, chart, sheet, typed, owner, handling, open: openLines, keys, stand, status, turn, orient, asking };

/** What the animal shows now stands above all tabs, so that no sign is missed. */
function signs(room) {
  const el = h("div", { class: "signs", role: "status", "aria-label": "What the animal shows" });
  document.querySelector("[data-tabs]").before(el);
  room.onChange(() => {
    const last = room.visit.acts.findLast((a) => a.signs?.length || a.refused || a.kind === "examine" || a.kind === "handle" || a.kind === "wait");
    const texts = (last?.signs || []).map((s) => h("p", {}, capital(s)));
    if (last?.refused) texts.unshift(h("p", { class: "caution" }, "The animal did not allow it."));
    if (room.visit.ended) texts.push(h("p", { class: "caution" }, "The visit has ended. ", h("a", { href: document.querySelector("[data-finish]").href }, "Go on to the debrief")));
    const text = texts.map((t) => t.textContent).join();
    if (el.dataset.text !== text) { el.dataset.text = text; fill(el, texts); }
  });
}

function finishing(room) {
  const note = document.querySelector("[data-finish-open]");
  const link = document.querySelector("[data-finish]");
  room.onChange(() => {
    const n = room.visit.cue === "full" ? room.visit.open().length : 0, kept = room.visit.waiting().length;
    note.textContent = [n && `${n} examined ${n === 1 ? "line is" : "lines are"} not charted yet.`, kept && "Acts that wait for the connection must be saved first."].filter(Boolean).join(" ");
    link.toggleAttribute("aria-disabled", kept > 0);
  });
  link.addEventListener("click", (e) => {
    if (!room.visit.waiting().length) return;
    e.preventDefault();
    room.visit.say("Acts wait here for the connection; finish when they are saved.", true);
  });
}

async function start(main) {
  const visit = await openVisit(main.dataset.attempt, main.dataset.species, main.dataset.person);
  const room = new Room(visit);
  room.showTab = tabs(document.querySelector("[data-tabs]"), (id) => room.tabbed.forEach((f) => f(id)));
  for (const [name, part] of Object.entries(parts)) {
    for (const host of document.querySelectorAll(`[data-${name}]`)) part(host, room);
  }
  signs(room);
  finishing(room);
  showUnsent(document.querySelector("[data-unsent]"), visit.turn || visit.id);
  room.onChange(() => { document.querySelector("[data-clock]").textContent = clock(visit.clock); });
  visit.addEventListener("act", (e) => {
    const region = e.detail.kind === "examine" && visit.cat.step(e.detail.step)?.region;
    if (region && region !== room.region) room.go(region, false);
  });
  const open = visit.acts.find((a) => a.n === visit.contact);
  room.go((open && visit.cat.step(open.step)?.region) || visit.route().at(-1) || visit.cat.regions[0].id, false);
  visit.queue.now();
  main.dataset.ready = "";
}

const main = document.querySelector("[data-room]");
start(main).catch((error) => {
  document.querySelector("[data-status]").textContent = "The visit could not be opened: " + error.message + " Load the page again.";
});
