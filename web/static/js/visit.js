// One visit: what the server knows, what still waits here, and who wants to hear of it.

import { read, send, told } from "./api.js";
import { Catalogue, key } from "./catalogue.js";
import { Queue } from "./queue.js";
import { keepUnsent } from "./unsent.js";
import { said } from "./said.js";

export async function openVisit(id, species, person) {
  const [attempt, catalogue] = await Promise.all([read(`/attempts/${id}`), read(`/catalogue/${species}`)]);
  for (const answer of [attempt, catalogue]) if (!answer.ok) throw new Error(told(answer.body));
  return new Visit(attempt.body, new Catalogue(catalogue.body, attempt.body.absent, attempt.body.places === "unlabelled"), person);
}

export class Visit extends EventTarget {
  constructor(attempt, catalogue, person) {
    super();
    this.cat = catalogue;
    this.take(attempt);
    this.queue = new Queue(`dewclaw-acts-${person}-${this.id}`, {
      send: (item) => send(`/attempts/${this.id}/acts`, { after: item.after, retry: item.retry, act: item.act }),
      last: () => this.last,
      ready: (act) => this.ready(act),
      answered: (body, act) => this.answered(body, act),
      taken: (body) => this.taken(body),
      refused: (act, body) => this.say("Not done: " + told(body), true),
      shut: (acts, body) => this.stopped(acts, body),
      changed: () => this.changed(),
    });
    if (this.contact) {
      const open = this.acts.find((a) => a.n === this.contact);
      this.since = performance.now() - Math.min(Math.max(Date.now() - Date.parse(open?.at), 0) || 0, 600000);
    }
  }

  take(attempt) {
    this.id = attempt.id;
    Object.assign(this, { track: attempt.track, state: attempt.state, clock: attempt.clock, last: attempt.last, contact: attempt.contact || 0, ended: attempt.ended || "", traced: Boolean(attempt.traced), described: Boolean(attempt.described), turn: attempt.turn || "", cue: attempt.cue || "full", used: attempt.used || [], practice: !attempt.purpose, asksSure: Boolean(attempt.asks_sure) });
    this.acts = attempt.acts || [];
    this.lines = attempt.sheet || [];
    this.examined = attempt.examined || [];
  }

  changed() { this.dispatchEvent(new Event("change")); }
  /** Tells the person something in the status line. */
  say(text, wrong = false) { this.dispatchEvent(new CustomEvent("say", { detail: { text, wrong } })); }

  /** Does an act: it waits here until the server has it. word: where it came from. */
  act(act, word) {
    if (this.ended) return this.say("The visit has ended; it takes no more acts.", true);
    if (this.shut) return this.say(this.shut + ": no act is taken now.", true);
    this.queue.add(act, word);
  }

  /** No act is taken here now: their words are kept to be read, and nothing is sent later. */
  stopped(acts, body) {
    keepUnsent(this.turn || this.id, acts.filter((a) => a.kind !== "lift").map((a) => said(this.cat, a)));
    this.say("Not done: " + told(body), true);
    this.dispatchEvent(new Event("shut"));
    this.changed();
  }

  answered(body, act) {
    if (!this.acts.some((a) => a.n === body.act.n)) this.acts.push(body.act);
    if (body.contact && body.contact !== this.contact) this.since = performance.now();
    Object.assign(this, { last: Math.max(this.last, body.last), contact: body.contact || 0, clock: body.clock, ended: body.ended || "", used: body.used || this.used });
    // Only these two kinds change the sheet; the answers to the others leave it out.
    if (act.kind === "record") this.lines = body.sheet || [];
    if (act.kind === "record" || act.kind === "examine") this.examined = body.examined || [];
    this.dispatchEvent(new CustomEvent("act", { detail: body.act }));
    this.changed();
  }

  /** Somebody, perhaps the same person in another window, was faster. */
  async taken(body) {
    this.last = body.last;
    const n = (body.acts || []).length;
    this.say(`${n === 1 ? "One act" : n + " acts"} from another window came first and ${n === 1 ? "was" : "were"} taken in; yours follow.`);
    await this.reread();
  }
  /** Reads the visit as the server has it. */
  async reread() {
    const attempt = await read(`/attempts/${this.id}`).catch(() => null);
    if (attempt?.ok && attempt.body.last >= this.last) this.take(attempt.body);
    this.changed();
  }

  /** Waits until everything is on the server; false: it cannot be now. */
  settled() {
    return new Promise((resolve) => {
      const look = () => {
        if (this.waiting().length && !this.queue.trouble) return;
        this.removeEventListener("change", look);
        resolve(!this.waiting().length);
      };
      this.addEventListener("change", look);
      look();
    });
  }

  waiting() { return this.queue ? this.queue.items() : []; }

  /** The sheet as it stands, entries that still wait laid over it. */
  sheet() {
    const lines = new Map(this.lines.filter((l) => l.value !== "").map((l) => [key(l), l]));
    for (const { act } of this.waiting()) {
      if (act.kind !== "record" || !act.field) continue;
      const k = key(act);
      if (act.of) {
        if (lines.get(k)?.value === act.value) lines.set(k, { ...lines.get(k), sure: act.sure });
        continue;
      }
      lines.delete(k);
      if (act.value !== "") lines.set(k, { ...act, site: act.site || "", waiting: true });
    }
    return lines;
  }

  /**
   * Places examined and not charted yet. Where the places of the chest have no names, a
   * field of theirs is open as a whole while fewer places are charted than were examined.
   */
  open() {
    const sheet = this.sheet();
    const open = this.examined.filter((p) => !sheet.has(key(p)));
    if (!this.cat.unplaced) return open;
    const nameless = new Set(open.map((p) => p.field).filter((id) => this.cat.placed(this.cat.field(id))));
    const whole = [...nameless].flatMap((id) => {
      const places = this.cat.placesOf(this.cat.field(id)), blank = places.filter((p) => !sheet.has(key(p)));
      return this.felt(id) > places.length - blank.length ? blank : [];
    });
    return [...open.filter((p) => !nameless.has(p.field)), ...whole];
  }
  /** At how many places a field was examined. */
  felt(field) {
    return new Set(this.acts.flatMap((a) => a.percepts || []).filter((p) => p.field === field).map(key)).size;
  }

  record(place, entry) {
    const act = { kind: "record", field: place.field, value: entry.value };
    if (place.site) act.site = place.site;
    for (const name of ["over", "interpretation", "reason", "sure"]) if (entry[name]) act[name] = entry[name];
    this.act(act);
  }

  /** Says how sure one is of a line that stands; nothing is charted anew. */
  claim(line, sure) {
    const act = { kind: "record", field: line.field, value: line.value, sure, of: line.act || -1 };
    if (line.site) act.site = line.site;
    this.act(act);
  }
  /** Whether an act can be sent as it is. One about a line that waited when it was made learns now which act wrote it. */
  ready(act) {
    if (act.of !== -1) return true;
    const line = this.lines.find((l) => key(l) === key(act) && l.value === act.value);
    if (line) act.of = line.act;
    return Boolean(line);
  }

  /** The act whose contact is open here: 0 already when what ends it still waits to be sent. */
  held() { return this.waiting().some(({ act }) => act.kind !== "record" || !act.of) ? 0 : this.contact; }
  seconds() { return this.contact ? Math.max(0, Math.floor((performance.now() - this.since) / 1000)) : 0; }
  lift() {
    if (this.held()) this.act({ kind: "lift", of: this.contact, seconds: this.seconds() });
  }

  /** Whether one has gone up to the animal. */
  near() {
    return this.acts.some((a) => (a.kind === "examine" && this.cat.step(a.step)?.touch) || (a.kind === "handle" && this.cat.handle(a.how)?.hold));
  }
  /** The regions in the order in which they were visited, without immediate repeats. */
  route() {
    const regions = [];
    for (const a of this.acts) {
      const region = a.kind === "examine" && !a.refused && this.cat.step(a.step)?.region;
      if (region && regions.at(-1) !== region) regions.push(region);
    }
    return regions;
  }
  hold() {
    const act = this.acts.findLast((a) => a.kind === "handle" && !a.refused && this.cat.handle(a.how)?.hold);
    return act ? act.how : "";
  }
}
