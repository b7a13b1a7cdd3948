// The debrief: unfolds what a link leads to, prints everything, and can unfold it all.

import "./forget.js";

const folds = [...document.querySelectorAll("details")];

function lead() {
  const target = location.hash && document.getElementById(location.hash.slice(1));
  if (!target) return;
  for (let el = target; el; el = el.parentElement) if (el.tagName === "DETAILS") el.open = true;
  target.scrollIntoView();
}
addEventListener("hashchange", lead);
lead();

let opened = [];
addEventListener("beforeprint", () => {
  opened = folds.filter((d) => !d.open);
  for (const d of opened) d.open = true;
});
addEventListener("afterprint", () => {
  for (const d of opened) d.open = false;
});

const print = document.querySelector("[data-print]");
print.hidden = false;
print.addEventListener("click", () => window.print());

const all = document.querySelector("[data-unfold]");
all.hidden = false;
all.addEventListener("click", () => {
  const open = folds.some((d) => !d.open);
  for (const d of folds) d.open = open;
  all.textContent = open ? "Fold every line" : "Unfold every line";
});
