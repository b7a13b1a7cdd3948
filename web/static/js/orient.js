// [data-orient]: which ways of acting were used while getting to know the room.

export function orient(host, room) {
  const rows = [...host.querySelectorAll("[data-kind]")];
  const count = host.querySelector("[data-orient-count]");
  room.onChange(() => {
    const used = new Set(room.visit.used);
    for (const row of rows) {
      const done = used.has(row.dataset.kind);
      row.toggleAttribute("data-used", done);
      row.querySelector(".sign").textContent = done ? "✓" : "○";
      row.querySelector("[data-said]").textContent = done ? ", done" : "";
    }
    count.textContent = `${used.size} of ${rows.length} ways of acting used`;
  });
}
