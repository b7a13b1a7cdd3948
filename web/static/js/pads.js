// What the pads of a room share: where one stands, where the piece lies and has
// been, and how near it is to a place.

/** Whether this room names places. */
export const labelled = () => document.querySelector("[data-room]").dataset.sites !== "unlabelled";

class Shared {
  constructor(room) {
    Object.assign(this, { side: "left", spot: new Map(), rings: new Map(), pads: new Map(), sent: null });
    room.visit.addEventListener("act", ({ detail: act }) => act.kind === "examine" && this.came(room, act));
    room.onChange(() => this.pads.forEach((pad) => pad.state()));
  }
  came(room, act) {
    const sent = this.sent?.step === act.step && this.sent.site === act.site ? this.sent : null;
    this.sent = null;
    if (sent && !act.refused) this.ring(act.step, sent);
    if (sent) return;
    near(room, 1); // by name, from elsewhere: as if rightly put
    if (!act.refused) this.follow(act);
  }
  /** Goes where an act that was named lies; the place is shown where sites have names. */
  follow(act) {
    const spot = this.pads.get(act.step)?.spots.find((s) => s.site === act.site);
    if (!spot) return;
    this.side = spot.side;
    this.spot.clear();
    if (labelled()) this.spot.set(act.step, { x: spot.x, y: spot.y });
    this.pads.forEach((pad) => pad.show());
  }
  ring(step, at) {
    if (!this.rings.has(step)) this.rings.set(step, []);
    this.rings.get(step).push(at);
  }
}
const rooms = new WeakMap();
export const shared = (room) => rooms.get(room) || rooms.set(room, new Shared(room)).get(room);

export function near(room, x) {
  room.nearness = x;
  room.onNearness?.(x);
}
