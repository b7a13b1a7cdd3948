// [data-sound]: puts a button to listen with in the place of the plain player, for
// a pulse and a trace are drawn beside it. The sound comes when it is wanted.

import { Player } from "./player.js";
import { fill, h } from "./dom.js";
import { listenWith } from "./listen.js";

const notes = { hidden: "Stopped while this page was hidden.", broken: "Your device stopped the sound." };

for (const box of document.querySelectorAll("[data-sound]")) {
  const start = () => {
    const player = new Player(box.dataset.sound, 1);
    fill(box, listenWith(player, "traced" in box.dataset, notes));
    box.querySelector("[data-listen]").focus();
  };
  fill(box, h("div", { class: "listen" }, h("button", { type: "button", "data-listen": "", onclick: start }, "Listen")));
}
