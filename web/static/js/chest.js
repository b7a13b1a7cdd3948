// The chest piece on the drawing of the trunk, for a step whose sites have a place
// on it. Nothing is written on the drawing. One putting down is one act; while the
// piece lies, moving it only makes the sound louder or fainter.

import { capital, fresh, h } from "./dom.js";
import { byHand } from "./chest_hand.js";
import { Ribs, heard } from "./reach.js";
import { labelled, near, shared } from "./pads.js";

const drawing = () => document.querySelector("template[data-chest-drawing]")?.content.querySelector("svg");
const other = { left: "right", right: "left" };
const hand = [0.5, 0.93]; // where the piece waits in the hand: below the belly, as shares of the drawing
const size = 0.03; // radius of the piece, as a share of the drawing's width

function svg(tag, props = {}) {
  const el = document.createElementNS("http://www.w3.org/2000/svg", tag);
  for (const [name, value] of Object.entries(props)) el.setAttribute(name, value);
  return el;
}

/** The pad of a step, or null where its sites have no place on the drawing. act(site) does it. */
export function chestFor(room, step, act) {
  if (!step.at?.length || !drawing()) return null;
  return new Pad(room, step, act).el;
}

class Pad {
  constructor(room, step, act) {
    Object.assign(this, { room, step, act, all: shared(room), wrong: "" });
    this.tool = step.instrument === "stethoscope" ? "chest piece" : "tapping finger";
    this.draw();
    this.build();
    this.all.pads.set(step.id, this);
    byHand(this);
    this.show();
    const open = room.visit.acts.find((a) => a.n === room.visit.contact);
    if (open?.step === step.id && !this.all.spot.has(step.id)) this.all.follow(open);
  }

  draw() {
    this.svg = drawing().cloneNode(true);
    this.world = this.svg.querySelector("[data-side]");
    const { x, y, width, height } = this.svg.viewBox.baseVal;
    this.box = { x, y, width, height };
    this.spots = this.step.at.map((s) => ({ site: s.site, side: s.right ? "right" : "left", x: x + (s.x * width) / 1000, y: y + (s.y * height) / 1000 }));
    this.home = { x: x + hand[0] * width, y: y + hand[1] * height };
    this.rings = svg("g");
    this.tube = svg("path", { class: "tube" });
    this.piece = svg("g", { class: "piece" });
    this.piece.append(svg("circle", { r: size * width, class: "rim" }), svg("circle", { r: size * width * 0.62, class: "skin" }));
    this.world.append(this.rings, ...(this.tool === "chest piece" ? [this.tube] : []), this.piece);
  }

  build() {
    const hint = fresh("chest");
    this.stood = h("p", { class: "chest-stood small" });
    this.pad = h("div", { class: "chest-pad", role: "application", tabindex: "0", "aria-describedby": hint }, this.svg);
    this.says = h("p", { class: "chest-says", role: "status" });
    this.felt = h("p", { class: "unseen", "aria-live": "polite" });
    this.el = h("div", { class: "chest-on", "data-chest": this.step.id },
      h("div", { class: "chest-side" }, this.stood, h("button", { type: "button", "data-walk": "", onclick: () => this.walk(other[this.all.side]) }, "Walk round")),
      this.pad, this.says, this.step.touch && h("span", { class: "tag", "data-goes": "" }, "This goes to the animal."), this.felt,
      h("p", { class: "small soft", id: hint }, h("span", { class: "unseen" }, this.svg.dataset.shows, " Nothing is written on it. "),
        `Press where the ${this.tool} should lie, and drag to move it. Or by keys: `, h("kbd", {}, "arrows"), " move, with ", h("kbd", {}, "Shift"), " further, ", h("kbd", {}, "Enter"), " puts it down."),
      h("details", { class: "chest-list" }, h("summary", { class: "small" }, labelled() ? "Places as a list" : "Place by rib and height"), labelled() ? this.list() : this.form()));
  }

  /** The places by name. */
  list() {
    const put = (spot) => () => { this.walk(spot.side); this.move(spot); this.put(); };
    return h("div", { class: "sites" }, this.step.sites.map((site) => h("button", {
      type: "button", "data-step": this.step.id, "data-site": site, "aria-label": `${this.step.label}, ${site}`, onclick: put(this.spots.find((s) => s.site === site)),
    }, capital(site))));
  }

  /** Any point of the trunk in words, which tells no more of the places than the drawing. */
  form() {
    const choice = (name) => h("select", { "aria-label": name });
    const column = choice("Where along the body"), row = choice("How far down");
    const put = () => { this.move(this.ribs().point(column.selectedIndex, row.selectedIndex)); this.put(); };
    const options = (select, labels) => select.options.length || select.append(...labels.map((text) => h("option", {}, text)));
    const fillIn = () => { options(column, this.ribs().columns()); options(row, this.ribs().heights()); };
    queueMicrotask(fillIn); // once the drawing is in the page
    return h("div", { class: "row" }, column, row, h("button", { type: "button", "data-put": "", onclick: put }, "Put it down there"));
  }

  ribs() { return (this.measured ||= new Ribs(this.svg)); }
  here() { return this.spots.filter((s) => s.side === this.all.side); }
  at() { return this.all.spot.get(this.step.id) || this.home; }

  /** The site over which the piece lies in an open contact; "" where it does not. */
  lies() {
    const { visit } = this.room;
    const act = visit.acts.find((a) => a.n === visit.held() && a.step === this.step.id);
    return act && this.here().some((s) => s.site === act.site) ? act.site : "";
  }
  sending(site) {
    return this.room.visit.waiting().some(({ act }) => act.kind === "examine" && act.step === this.step.id && act.site === site);
  }

  walk(side) {
    if (side === this.all.side) return;
    if (this.lies()) this.room.visit.lift();
    this.all.side = side;
    this.all.spot.clear(); // one takes the piece along
    this.wrong = "";
    this.all.pads.forEach((pad) => pad.show());
  }

  move(point) {
    const { x, y, width, height } = this.box, r = size * width;
    const inside = (v, low, high) => Math.min(high, Math.max(low, v));
    this.all.spot.set(this.step.id, { x: inside(point.x, x + r, x + width - r), y: inside(point.y, y + r, y + height - r) });
    this.wrong = "";
    const lies = this.lies();
    const found = lies && this.found();
    if (lies) near(this.room, found?.site === lies ? found.nearness : 0);
    this.show();
  }
  found() { return this.ribs().holds(this.at()) ? heard(this.at(), this.here(), this.box.width) : null; }

  /** Moves the piece on the screen by shares of the drawing's width. */
  nudge(dx, dy) {
    const way = this.all.side === "left" ? 1 : -1, at = this.at(), { width } = this.box; // on the right side the head is to the right
    this.move({ x: at.x + dx * width * way, y: at.y + dy * width });
    this.tell();
  }

  /** Puts the piece down where it is: the act, where something is in reach. */
  put() {
    const found = this.found(), lies = this.lies();
    if (!found) {
      this.wrong = !this.ribs().holds(this.at()) ? `The ${this.tool} does not touch the animal there.`
        : this.step.instrument ? "Too far from anything to be heard here." : "Too far from anything to be told by tapping here.";
      if (lies) this.room.visit.lift();
      return this.show();
    }
    near(this.room, found.nearness);
    if (found.site === lies || this.sending(found.site)) return;
    this.all.sent = { step: this.step.id, site: found.site, side: this.all.side, ...this.at() };
    this.act(found.site);
  }

  tell() { this.felt.textContent = this.ribs().felt(this.at()); }

  /** Draws the side, the piece and where it has been, then says so. */
  show() {
    const { side } = this.all, { x, y, width, height } = this.box, at = this.at();
    this.world.setAttribute("transform", side === "left" ? "" : `matrix(-1 0 0 1 ${2 * x + width} 0)`);
    this.piece.setAttribute("transform", `translate(${at.x} ${at.y})`);
    const to = { x: x + width * 0.64, y: y + height + 10 };
    this.tube.setAttribute("d", `M${at.x} ${at.y}C${at.x + width * 0.1} ${at.y + height * 0.02} ${to.x} ${at.y + height * 0.12} ${to.x} ${to.y}`);
    this.stood.textContent = `You stand at its ${side} side.`;
    this.pad.setAttribute("aria-label", `${capital(this.tool)} on the ${side} side of the trunk, head to the ${side}`);
    this.state();
  }
  state() {
    const lies = this.lies();
    this.pad.classList.toggle("lies", Boolean(lies));
    const text = this.wrong || (lies && (labelled() ? `${capital(lies)}.` : `The ${this.tool} lies on the animal.`)) || `The ${this.tool} is in your hand.`;
    if (this.says.textContent !== text && (this.wrong || !this.room.visit.waiting().length)) this.says.textContent = text; // what is being sent is told when it is done
    this.says.classList.toggle("wrong", Boolean(this.wrong));
    this.rings.replaceChildren(...this.been().map((p) => {
      const ring = svg("circle", { class: "ring", cx: p.x, cy: p.y, r: size * this.box.width }), title = svg("title");
      title.textContent = this.tool === "chest piece" ? "listened here" : "tapped here";
      ring.append(title);
      return ring;
    }));
  }
  /** Where the piece has been on this side. Of acts before the page was loaded only the site is known, which is shown where sites have names. */
  been() {
    const kept = this.all.rings.get(this.step.id) || [];
    const done = labelled() ? this.room.visit.acts.filter((a) => a.kind === "examine" && !a.refused && a.step === this.step.id && !kept.some((k) => k.site === a.site)) : [];
    return [...kept, ...this.spots.filter((s) => done.some((a) => a.site === s.site))].filter((p) => p.side === this.all.side);
  }
}
