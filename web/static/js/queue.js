// Acts that wait for the server, kept in the browser so that neither a reload
// nor a dropped connection loses one. They are sent one at a time and in order.
// The number that an act was first sent after stays with it until it is
// answered: the server then knows a repeat from a second act.

const first = 1000, most = 30000; // milliseconds between tries
const again = new Set([401, 403, 408, 429]); // and 5xx: the act itself is not at fault
const shut = /:(over|paused|elsewhere)$/; // no act is taken here now, whichever it is

export class Queue {
  /** on: {send(item) -> {ok, status, body}, last() -> n, ready(act) -> can be sent, answered(body, act), taken(body), refused(act, body), shut(acts, body), changed()} */
  constructor(name, on) {
    this.name = name;
    this.on = on;
    this.delay = first;
    this.sending = false;
    this.trouble = "";
    addEventListener("online", () => this.now());
    addEventListener("storage", (e) => e.key === name && this.on.changed());
  }

  items() {
    try {
      return JSON.parse(localStorage.getItem(this.name)) || [];
    } catch {
      return [];
    }
  }
  keep(items) {
    if (items.length) localStorage.setItem(this.name, JSON.stringify(items));
    else localStorage.removeItem(this.name);
  }

  /** word begins what the request is called. */
  add(act, word = "") {
    this.keep([...this.items(), { retry: word + crypto.getRandomValues(new Uint32Array(4)).join("-"), act }]);
    this.on.changed();
    this.now();
  }

  now() {
    clearTimeout(this.timer);
    this.delay = first;
    return this.flush();
  }

  async flush() {
    if (this.sending) return;
    this.sending = true;
    try {
      // Two windows share the waiting acts; only one sends at a time.
      if (navigator.locks) await navigator.locks.request(this.name, () => this.drain());
      else await this.drain();
    } finally {
      this.sending = false;
      this.on.changed();
    }
  }

  async drain() {
    for (let items = this.items(); items.length; items = this.items()) {
      const item = items[0];
      if (item.after === undefined) {
        if (!this.on.ready(item.act)) {
          this.keep(items.slice(1));
          continue;
        }
        item.after = this.on.last();
        this.keep(items);
      }
      let answer;
      try {
        answer = await this.on.send(item);
      } catch {
        return this.later("waiting for the connection");
      }
      if (answer.status >= 500 || again.has(answer.status)) {
        return this.later(answer.status === 401 || answer.status === 403 ? "signed out; sign in again in another window" : "the server is busy");
      }
      this.trouble = "";
      this.delay = first;
      this.settle(item, answer);
    }
  }

  /** Takes the head off the queue, or gives it a new number when its own was taken. */
  settle(item, answer) {
    const items = this.items().filter((other) => other.retry !== item.retry);
    if (answer.status === 409 && answer.body.last !== undefined) {
      delete item.after;
      this.keep([item, ...items]);
      this.on.taken(answer.body);
      return;
    }
    if (answer.status === 409 && shut.test(answer.body.type)) {
      // None that waits may be sent later as if it had been in time.
      this.keep([]);
      this.on.shut([item, ...items].map((i) => i.act), answer.body);
      return;
    }
    this.keep(items);
    if (answer.ok) this.on.answered(answer.body, item.act);
    else this.on.refused(item.act, answer.body);
  }

  later(trouble) {
    this.trouble = trouble;
    this.timer = setTimeout(() => this.flush(), this.delay);
    this.delay = Math.min(this.delay * 2, most);
    this.on.changed();
  }
}
