// [data-places]: the same places as a list by stage, with what has been done there in a mark and in words.

const signs = { none: ["", ""], seen: ["–", ", examined, lines open"], felt: ["–", ", examined"], done: ["✓", ", examined and charted"], noted: ["✓", ", charted"] };

export function places(host, room) {
  // On a narrow screen the drawing leads and the list waits folded.
  const narrow = matchMedia("(max-width: 40rem)");
  const fold = host.querySelector("details");
  const state = () => { fold.open = !narrow.matches; };
  narrow.addEventListener("change", state);
  state();

  const buttons = [...host.querySelectorAll("[data-region]")];
  const { visit } = room;
  for (const button of buttons) {
    // A place where this patient has nothing to examine, by sex or age, is left out.
    if (!visit.cat.stepsOf(button.dataset.region).length && !visit.cat.fieldsOf(button.dataset.region).length) button.parentElement.hidden = true;
    button.addEventListener("click", () => room.go(button.dataset.region));
  }
  room.onChange(() => {
    const seen = new Set(visit.acts.filter((a) => a.kind === "examine").map((a) => visit.cat.step(a.step)?.region));
    const open = new Set((visit.cue === "full" ? visit.open() : []).map((p) => visit.cat.field(p.field)?.region));
    const noted = new Set([...visit.sheet().values()].map((l) => visit.cat.field(l.field)?.region));
    for (const button of buttons) {
      const r = button.dataset.region;
      const now = open.has(r) ? "seen" : visit.cue !== "full" && (seen.has(r) || noted.has(r)) ? (noted.has(r) ? "noted" : "felt") : seen.has(r) ? "done" : noted.has(r) ? "noted" : "none";
      button.querySelector(".sign").textContent = signs[now][0];
      button.querySelector("[data-said]").textContent = signs[now][1];
      button.setAttribute("aria-pressed", String(r === room.region));
    }
  });
}
