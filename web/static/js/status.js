// [data-status]: whether everything is on the server, in one line.

import { count } from "./dom.js";

export function status(el, room) {
  const { visit } = room;
  let said = "";
  let until = 0;

  const draw = () => {
    const n = visit.waiting().length;
    let text = "saved";
    if (n && visit.queue.trouble) text = `${visit.queue.trouble}, ${count(n, "act")} kept here`;
    else if (n) text = "saving";
    if (visit.ended) text = "the visit has ended";
    if (said && Date.now() < until) text = said;
    el.classList.toggle("trouble", Boolean(n && visit.queue.trouble));
    if (el.textContent !== text) el.textContent = text;
  };
  visit.addEventListener("say", (e) => {
    said = e.detail.text;
    until = Date.now() + 9000;
    draw();
    setTimeout(draw, 9100);
  });
  room.onChange(draw);
}
