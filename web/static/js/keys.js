// [data-keys]: the single keys, which can be switched off.

const name = "dewclaw-keys-off";

export function keys(button, room) {
  let off = localStorage.getItem(name) === "1";
  const state = () => {
    button.setAttribute("aria-pressed", String(!off));
    button.textContent = off ? "Keys are off" : "Keys are on";
  };
  button.addEventListener("click", () => {
    off = !off;
    if (off) localStorage.setItem(name, "1");
    else localStorage.removeItem(name);
    state();
  });
  state();

  document.addEventListener("keydown", (e) => {
    if (off || e.defaultPrevented || e.ctrlKey || e.metaKey || e.altKey) return;
    if (e.key === "Escape" && room.visit.held()) {
      e.preventDefault();
      room.visit.lift();
    } else if (e.key === "/" && !e.target.closest("input, textarea, select")) {
      e.preventDefault();
      document.getElementById("typed").focus();
    }
  });
}
